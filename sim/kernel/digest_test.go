package kernel

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// digestEnv asks the test binary to print its digests and nothing more.
const digestEnv = "HALFLIGHT_PRINT_DIGESTS"

// digestOf hashes 200,000 draws, bit for bit.
func digestOf(quantile func(u float64) float64) string {
	stream, purpose, owner := NewStream(2026, 4), PurposeOf("digest"), OwnerOf(1, 2, 3, 0, 0, 0, 0)
	hash := sha256.New()
	var buffer [8]byte
	for i := range uint64(200_000) {
		x := quantile(stream.Uniform(purpose, owner, i))
		binary.LittleEndian.PutUint64(buffer[:], math.Float64bits(x))
		hash.Write(buffer[:])
	}
	return hex.EncodeToString(hash.Sum(nil)[:16])
}

// goldenDigests holds every quantile to the digest it had when it was frozen,
// on whatever processor the test runs.
var goldenDigests = []struct {
	name     string
	quantile func(u float64) float64
	want     string
}{
	{"plain uniform", func(u float64) float64 { return u }, "86b25c981fa3f69a453bb8b7bce6a384"},
	{"Log", Log, "faa1138fca1e0a99e05837e957ee9934"},
	{"Exp", func(u float64) float64 { return Exp(1400*u - 700) }, "ca63f56f1cb08b82087dd44385236127"},
	{"NormQuantile", NormQuantile, "d995bb8a65c1d58c433d9bdda1f0001d"},
	{"Exponential", func(u float64) float64 { return Exponential(u, 3.6e18) }, "6ef0753ef1a25ece88cb987b3ea936ed"},
	{"Weibull", func(u float64) float64 { return Weibull(u, 0.7, 1e16) }, "c2035a6cfd559b10a00b6cbf5a5e5fcf"},
	{"LogNormal", func(u float64) float64 { return LogNormal(u, 32.3, 0.75) }, "95ab60bf881312d49c380da424f61d32"},
	{"LogNormalMedian", func(u float64) float64 { return LogNormalMedian(u, 1.08e14, 0.75) }, "32010788c758a686387c3375bb91d9a1"},
	{"Uniform", func(u float64) float64 { return Uniform(u, 0.1, 7.3) }, "89b9cb7017e254875bb4df4a2eaf06c9"},
	{"LogUniform", func(u float64) float64 { return LogUniform(u, 1e-5, 5e-2) }, "489cc238f7484ecddfabb4499e12fc99"},
	{"Geometric", func(u float64) float64 { return Geometric(u, 5) }, "affa1bc26069bb487fedc61e8fb370fa"},
	{"Table", func(u float64) float64 {
		return Table(u, []Bucket{{0.2, 5, 5}, {0.5, 1, 100}, {0.3, 100, 1e6}})
	}, "6288956e09a35bd385d2c6a9cfc5a251"},
	{"Nanoseconds", func(u float64) float64 {
		return math.Float64frombits(uint64(Nanoseconds(LogNormalMedian(u, 1.08e14, 0.75))))
	}, "728b49e192bda744b7dfa43e88151a62"},
}

// foreignDigest is that of a quantile which does depend on the processor.
func foreignDigest() string {
	return digestOf(distuv.LogNormal{Mu: 32.3, Sigma: 0.75}.Quantile)
}

func printedDigests() string {
	var out strings.Builder
	for _, golden := range goldenDigests {
		fmt.Fprintf(&out, "%s: %s\n", golden.name, digestOf(golden.quantile))
	}
	fmt.Fprintf(&out, "distuv: %s\n", foreignDigest())
	return out.String()
}

// TestDigestsAreGolden: the same bits as when frozen.
func TestDigestsAreGolden(t *testing.T) {
	for _, golden := range goldenDigests {
		if got := digestOf(golden.quantile); got != golden.want {
			t.Errorf("%s: digest %s, want %s", golden.name, got, golden.want)
		}
	}
}

// TestDigestsWithoutFusedMultiplyAdd runs this test binary again as on a
// processor without fused multiply-add and compares. distuv's own lognormal
// goes along to show that the setting does something: where the processor
// has the instruction, its digest is another one.
func TestDigestsWithoutFusedMultiplyAdd(t *testing.T) {
	if os.Getenv(digestEnv) != "" {
		fmt.Print(printedDigests(), "end of digests\n")
		return
	}
	again := exec.Command(os.Args[0], "-test.run=^TestDigestsWithoutFusedMultiplyAdd$")
	again.Env = append(os.Environ(), digestEnv+"=1", "GODEBUG=cpu.fma=off")
	out, err := again.Output()
	if err != nil {
		t.Fatalf("running the test binary again: %v\n%s", err, out)
	}
	without, _, ended := strings.Cut(string(out), "end of digests\n")
	if !ended {
		t.Fatalf("no digests in %q", out)
	}
	ours := func(all string) string { return all[:strings.Index(all, "distuv: ")] }
	with := printedDigests()
	if ours(with) != ours(without) {
		t.Errorf("with fused multiply-add:\n%s\nwithout:\n%s", with, without)
	}
	t.Logf("distuv's lognormal differs between the two: %v", with != without)
}
