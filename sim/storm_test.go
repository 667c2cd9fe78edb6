package sim

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"

	"halflight/model/failure"
)

// A link that loses nearly all keeps its session down; it is up again once the
// settle time has passed after the repair, not when losses that no longer happen
// would have ended.
func TestSessionReturnsAfterHeavyLoss(t *testing.T) {
	t.Parallel()
	for _, loss := range []float64{0.5, 0.95, 0.9999} {
		w := halfLit(t, "100ms", "1h", 3, "25%")
		w.Script = append(w.Script, failure.Scripted{Condition: failure.Condition{Kind: failure.Lossy, Loss: loss}, At: 0, End: 600e9,
			On: w.Fabric.DirectionName(0), Directions: []int32{0}})
		e := newRandom(w, 1, 0, traced)
		e.run()
		at := e.control.OriginatedAt[e.f.To(0)]
		if len(at)%2 != 0 || len(at) == 0 {
			t.Fatalf("loss %v: the session is still down: LSPs at %v", loss, at)
		}
		if last := at[len(at)-1]; last > 600e9+w.Timers.Settle {
			t.Errorf("loss %v: the session is up again at %d ns", loss, last)
		}
	}
}

// Floods that waited long for a token bring versions that all but a returning
// router have forgotten.
func TestFloodsThatWaitedLong(t *testing.T) {
	t.Parallel()
	w := build(t, "paced", fmt.Sprintf(sure, "paced", "unlimited")+`
warm_up: 0s
horizon: 20min
fabric: {clos: {pods: 1, leaves: 3, spines: 3, tops: 0}}
timers: {lsp_generation: {first_delay: 0s, incremental_delay: 0s, maximum_delay: 0s, wait_time: 1ns}}
flooding: {pacing: {burst: 1, interval: 1s}}
groups: [{name: plug, members: [leaf-0-0~spine-0-1]}]
failures:
  - {name: flap, on: group:plug, kind: flapping, life: {exponential: {mean: 2s}}, flaps: 1, down: {exponential: {mean: 1s}}}
  - {name: reload, on: leaf, kind: restart, life: {exponential: {mean: 5min}}, down: 30s}
`)
	for n := range uint32(10) {
		if r := Play(w, 1, n); r.Originations < 300 {
			t.Errorf("only %d originations", r.Originations)
		}
	}
}

// playsEnv asks the test binary to print the digest of its plays and no more.
const playsEnv = "HALFLIGHT_PRINT_PLAYS"

// playsDigest hashes whole replications, every bit of every number.
func playsDigest(t *testing.T) string {
	t.Helper()
	hash := sha256.New()
	write := func(v any) {
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		hash.Write(text)
	}
	storm := shipped(t, "storm", "horizon=2h", "warm_up=10min")
	write(Play(storm, 8, 3))
	for seed := range uint64(8) {
		write(Play(swarmWorld(t, seed, false, "3h"), 8, 3))
	}
	return hex.EncodeToString(hash.Sum(nil)[:16])
}

// TestPlaysWithoutFusedMultiplyAdd plays again in this test binary as on a
// processor without fused multiply-add: the same bits.
func TestPlaysWithoutFusedMultiplyAdd(t *testing.T) {
	if os.Getenv(playsEnv) != "" {
		fmt.Print("plays ", playsDigest(t), " end\n")
		return
	}
	t.Parallel()
	again := exec.Command(os.Args[0], "-test.run=^TestPlaysWithoutFusedMultiplyAdd$")
	again.Env = append(os.Environ(), playsEnv+"=1", "GODEBUG=cpu.fma=off")
	out, err := again.Output()
	if err != nil {
		t.Fatalf("running the test binary again: %v\n%s", err, out)
	}
	_, rest, _ := strings.Cut(string(out), "plays ")
	without, _, ended := strings.Cut(rest, " end\n")
	if !ended {
		t.Fatalf("no digest in %q", out)
	}
	if with := playsDigest(t); with != without {
		t.Errorf("digest %s with fused multiply-add, %s without", with, without)
	}
}
