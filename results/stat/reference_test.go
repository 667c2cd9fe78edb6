package stat

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// The data sets of testdata/intervals.txt: made up, as given to R.
var sets = map[string][]float64{
	"A": {12.1, 9.8, 11.4, 10.7, 13.3, 8.9, 12.6, 10.2, 11.9, 9.5},
	"B": {3.2e-4, 1.1e-4, 8.7e-5, 2.9e-4, 4.4e-4, 1.9e-4, 0, 2.2e-4},
	"X": {41.2, 38.9, 55.0, 47.3, 39.8, 60.1, 44.4, 52.7, 49.0, 43.6},
	"Y": {38.0, 36.1, 50.9, 44.8, 37.2, 55.3, 41.9, 48.1, 46.5, 40.2},
}

// closed is the relative tolerance of closed forms; the tables print 12 digits.
const closed = 1e-9

// near fails unless got is want to a relative tolerance, or for want 0 to 1e-12.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsInf(want, 0) && got == want {
		return
	}
	allowed := tolerance * math.Abs(want)
	if want == 0 {
		allowed = 1e-12
	}
	if !(math.Abs(got-want) <= allowed) {
		t.Errorf("%s: got %.15g, want %.15g", what, got, want)
	}
}

// checkers holds one check per kind of line in testdata/intervals.txt.
var checkers = map[string]func(t *testing.T, f []string){
	"mean": checkMean, "t": checkT, "share": checkShare, "poisson": checkPoisson,
	"rate": checkRate, "order": checkOrder, "paired": checkPaired, "welch": checkWelch,
	"quantile": checkQuantile, "replications": checkReplications, "chisquare": checkChiSquare,
	"normal": checkNormal, "events": checkEvents, "least": checkLeast,
}

func TestReferenceTables(t *testing.T) {
	text, err := os.ReadFile("testdata/intervals.txt")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	for line := range strings.Lines(string(text)) {
		f := strings.Fields(line)
		if len(f) == 0 || f[0] == "#" {
			continue
		}
		check := checkers[f[0]]
		if check == nil {
			t.Fatalf("no check for %q", line)
		}
		seen[f[0]]++
		t.Run(strings.Join(f, " "), func(t *testing.T) { check(t, f[1:]) })
	}
	for kind := range checkers {
		if seen[kind] == 0 {
			t.Errorf("no case of kind %q", kind)
		}
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func whole(t *testing.T, s string) int {
	t.Helper()
	v, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func checkMean(t *testing.T, f []string) {
	values := sets[f[0]]
	e := Mean(values, number(t, f[1]))
	half, ok := e.Half()
	if !ok || e.N != len(values) || e.Level != number(t, f[1]) {
		t.Fatalf("not a two-sided interval over %d: %+v", len(values), e)
	}
	near(t, "mean", e.Value, number(t, f[2]), closed)
	near(t, "sd", math.Sqrt(variance(values)), number(t, f[3]), closed)
	near(t, "low", e.Low, number(t, f[4]), closed)
	near(t, "high", e.High, number(t, f[5]), closed)
	near(t, "half", half, number(t, f[6]), closed)
}

func checkT(t *testing.T, f []string) {
	near(t, "t", tUpper(number(t, f[0]), 1-number(t, f[1])), number(t, f[2]), closed)
}

func checkShare(t *testing.T, f []string) {
	x, n, level := whole(t, f[0]), whole(t, f[1]), number(t, f[2])
	low, high := Wilson(x, n, level)
	near(t, "Wilson low", low, number(t, f[3]), closed)
	near(t, "Wilson high", high, number(t, f[4]), closed)
	low, high = ClopperPearson(x, n, level)
	near(t, "Clopper-Pearson low", low, number(t, f[5]), closed)
	near(t, "Clopper-Pearson high", high, number(t, f[6]), closed)
	if x > 0 && x < n {
		e := Proportion(x, n, level)
		if e.Low != low || e.High != high || e.Sides != TwoSided {
			t.Errorf("Proportion gives another interval: %+v", e)
		}
	}
}

func checkPoisson(t *testing.T, f []string) {
	x, level := whole(t, f[0]), number(t, f[1])
	low, high := PoissonInterval(x, level)
	near(t, "low", low, number(t, f[2]), closed)
	near(t, "high", high, number(t, f[3]), closed)
	if e := Count(x, level); x > 0 && (e.Low != low || e.High != high || e.Sides != TwoSided) {
		t.Errorf("Count gives another interval: %+v", e)
	}
}

func checkRate(t *testing.T, f []string) {
	e := Rate(whole(t, f[0]), number(t, f[1]), 0.95)
	near(t, "low", e.Low, number(t, f[2]), closed)
	near(t, "high", e.High, number(t, f[3]), closed)
	near(t, "rate", e.Value, number(t, f[0])/number(t, f[1]), 1e-15)
}

func checkOrder(t *testing.T, f []string) {
	n, p, level := whole(t, f[0]), number(t, f[1]), number(t, f[2])
	low, high, coverage, ok := OrderRanks(n, p, level)
	if low != whole(t, f[3]) || high != whole(t, f[4]) {
		t.Errorf("ranks %d and %d, want %s and %s", low, high, f[3], f[4])
	}
	if ok != (f[5] != "NA") {
		t.Fatalf("available: %v, want %s", ok, f[5])
	}
	values := make([]float64, n) // value k has rank k
	for i := range values {
		values[n-1-i] = float64(i + 1)
	}
	e := Quantile(values, p, level)
	if !ok {
		if e.Available() || !e.Known || !strings.HasPrefix(e.Reason, "not available") {
			t.Errorf("an interval from too few values: %+v", e)
		}
		return
	}
	near(t, "coverage", coverage, number(t, f[5]), closed)
	if e.Low != float64(low) || e.High != float64(high) {
		t.Errorf("interval %v to %v, want the values of rank %d and %d", e.Low, e.High, low, high)
	}
}

func checkPaired(t *testing.T, f []string) {
	c := Paired(sets["X"], sets["Y"], 0.95)
	if !c.Paired || c.DF != 9 {
		t.Fatalf("not paired: %+v", c)
	}
	d := make([]float64, 10)
	for i := range d {
		d[i] = sets["X"][i] - sets["Y"][i]
	}
	sd := math.Sqrt(variance(d))
	near(t, "mean difference", c.Difference.Value, number(t, f[0]), closed)
	near(t, "sd", sd, number(t, f[1]), closed)
	near(t, "low", c.Difference.Low, number(t, f[2]), closed)
	near(t, "high", c.Difference.High, number(t, f[3]), closed)
	near(t, "t", c.Difference.Value/(sd/math.Sqrt(10)), number(t, f[4]), closed)
	near(t, "p", c.P, number(t, f[5]), closed)
}

func checkWelch(t *testing.T, f []string) {
	w := Welch(sets["X"], sets["Y"], 0.95)
	p := Paired(sets["X"], sets["Y"], 0.95)
	near(t, "low", w.Difference.Low, number(t, f[0]), closed)
	near(t, "high", w.Difference.High, number(t, f[1]), closed)
	near(t, "df", w.DF, number(t, f[2]), closed)
	near(t, "correlation", p.Correlation, number(t, f[3]), closed)
	near(t, "reduction", p.Reduction, number(t, f[4]), closed)
}

func checkQuantile(t *testing.T, f []string) {
	p := number(t, f[0])
	near(t, "type 7", QuantileType7(sets["A"], p), number(t, f[1]), 1e-14)
	if got := QuantileType1(sets["A"], p); got != number(t, f[2]) {
		t.Errorf("type 1: %v, want %s", got, f[2])
	}
}

func checkReplications(t *testing.T, f []string) {
	n, ok := ReplicationsFor(number(t, f[0]), number(t, f[1]), number(t, f[2]))
	if !ok || n != whole(t, f[3]) {
		t.Errorf("got %d, want %s", n, f[3])
	}
}

func checkChiSquare(t *testing.T, f []string) {
	near(t, "chi-square", chiSquare(number(t, f[0]), number(t, f[1])), number(t, f[2]), closed)
}

func checkNormal(t *testing.T, f []string) {
	near(t, "normal", zUpper(1-number(t, f[0])), number(t, f[1]), closed)
}

func checkEvents(t *testing.T, f []string) {
	if n := EventsFor(number(t, f[0]), number(t, f[1])); n != whole(t, f[2]) {
		t.Errorf("got %d, want %s", n, f[2])
	}
}

func checkLeast(t *testing.T, f []string) {
	if n := OrderLeast(number(t, f[0]), number(t, f[1])); n != whole(t, f[2]) {
		t.Errorf("got %d, want %s", n, f[2])
	}
}

// TestVectors holds the intervals against testdata/vectors.json, the source
// beside each entry there.
func TestVectors(t *testing.T) {
	text, err := os.ReadFile("testdata/vectors.json")
	if err != nil {
		t.Fatal(err)
	}
	var vectors []struct {
		Name   string
		Inputs struct {
			X, N int
		}
		Expected  [2]float64
		Tolerance float64 `json:"rel_tol"`
	}
	if err := json.Unmarshal(text, &vectors); err != nil {
		t.Fatal(err)
	}
	if len(vectors) != 14 {
		t.Fatalf("%d vectors, want 14", len(vectors))
	}
	for _, v := range vectors {
		var low, high float64
		switch in := v.Inputs; v.Name {
		case "wilson95":
			low, high = Wilson(in.X, in.N, 0.95)
		case "clopper_pearson95":
			low, high = ClopperPearson(in.X, in.N, 0.95)
		case "poisson95":
			low, high = PoissonInterval(in.X, 0.95)
		default:
			t.Fatalf("no function for %q", v.Name)
		}
		near(t, v.Name+" low", low, v.Expected[0], v.Tolerance)
		near(t, v.Name+" high", high, v.Expected[1], v.Tolerance)
	}
}
