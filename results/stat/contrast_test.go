package stat

import (
	"math"
	"math/rand/v2"
	"testing"
)

// pairedClusters are values of faults on two sides that share the factor of their
// replication and, to a degree, each fault's own draw: side b is longer by a
// factor.
func pairedClusters(r *rand.Rand, replications, count int, shared, own, common, factor float64) (a, b [][]float64) {
	for range replications {
		level := shared * r.NormFloat64()
		var x, y []float64
		for range count {
			both := r.NormFloat64()
			mix := func() float64 { return common*both + math.Sqrt(1-common*common)*r.NormFloat64() }
			x = append(x, math.Exp(level+own*mix()))
			y = append(y, factor*math.Exp(level+own*mix()))
		}
		a, b = append(a, x), append(b, y)
	}
	return a, b
}

// TestQuantilesCover: the interval of the difference of two quantiles covers at
// its level, paired or not, and pairing narrows it by what it says.
func TestQuantilesCover(t *testing.T) {
	const trials, factor = 200, 1.5
	for _, c := range []struct {
		q, common float64
		paired    bool
	}{{0.5, 0.95, true}, {0.5, 0, true}, {0.5, 0, false}, {0.9, 0.95, true}} {
		truth := (factor - 1) * pooledTruth(0.4, 0.5, c.q)
		var reduction, wide RunningSum
		share, z := covers(trials, 0.95, truth, func(r *rand.Rand) Estimate {
			a, b := pairedClusters(r, 20, 20, 0.4, 0.5, c.common, factor)
			if !c.paired {
				_, b = pairedClusters(r, 20, 20, 0.4, 0.5, 0, factor) // nothing in common
			}
			d := Quantiles(Pool(b), Pool(a), c.q, math.NaN(), math.NaN(), 0.95, c.paired, r.Uint64())
			reduction.Add(math.Min(d.Reduction, 1e3))
			half, _ := d.Difference.Half()
			wide.Add(half)
			return d.Difference
		})
		t.Logf("q %v, common %v, paired %v: covered %.3f (z %.1f), reduction %.2f, half %.4f", c.q, c.common, c.paired, share, z,
			reduction.Value()/trials, wide.Value()/trials)
		holds(t, "difference of quantiles", share, z)
		if c.paired && c.common > 0.9 && !(reduction.Value()/trials > 2) {
			t.Errorf("pairing of much the same draws gains a factor of %.2f only", reduction.Value()/trials)
		}
	}
}

// TestQuantilesPlain: without spread, without events, with a shift.
func TestQuantilesPlain(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	a, b := pairedClusters(r, 20, 10, 0.3, 0.3, 1, 1)
	for i := range b {
		for k := range b[i] {
			b[i][k] = a[i][k] + 2
		}
	}
	d := Quantiles(Pool(b), Pool(a), 0.5, math.NaN(), math.NaN(), 0.95, true, 1)
	near(t, "shift", d.Difference.Value, 2, 1e-12)
	near(t, "low", d.Difference.Low, 2, 1e-12)
	near(t, "correlation", d.Correlation, 1, 1e-12)
	if !d.Paired || d.Reduction < 1e20 {
		t.Errorf("%+v", d)
	}
	if _, _, sure := d.Family(1000); !sure {
		t.Error("2 more in 20 pairs is not beyond doubt")
	}
	same := Quantiles(Pool(a), Pool(a), 0.5, math.NaN(), math.NaN(), 0.95, true, 1)
	if _, _, sure := same.Family(1); sure || same.Difference.Value != 0 || same.Difference.High != 0 {
		t.Errorf("a set differs from itself: %+v", same)
	}
	empty := Quantiles(Pool(a), Pool(make([][]float64, 20)), 0.5, math.NaN(), math.NaN(), 0.95, true, 1)
	if empty.Difference.Known || empty.Difference.Available() {
		t.Errorf("%+v", empty)
	}
	few := Quantiles(Pool(a), Pool([][]float64{{1}, {2}, {3}}), 0.5, math.NaN(), math.NaN(), 0.95, false, 1)
	if !few.Difference.Known || few.Difference.Available() || few.Difference.Reason == "" {
		t.Errorf("%+v", few)
	}
	x, y := Quantiles(Pool(b), Pool(a), 0.9, 7, 4, 0.95, false, 5), Quantiles(Pool(b), Pool(a), 0.9, 7, 4, 0.95, false, 5)
	if x.Difference.Low != y.Difference.Low || x.Difference.Value != 3 || x.Paired {
		t.Errorf("%+v, again %+v", x, y)
	}
}

// TestFamily against critical values of Student's t with 10 degrees of freedom:
// 2.228 at 0.025 and 4.144 at 0.001, NIST/SEMATECH e-Handbook 1.3.6.7.2 (from
// memory).
func TestFamily(t *testing.T) {
	a := []float64{5, 7, 6, 9, 8, 6, 7, 5, 9, 8, 7}
	b := []float64{4, 6, 6, 7, 8, 5, 6, 5, 7, 7, 7}
	c := Paired(a, b, 0.95)
	low, high, _ := c.Family(25)
	half, _ := c.Difference.Half()
	near(t, "ratio", (high-low)/2/half, 4.144/2.228, 2e-4)
	if l, h, sure := c.Family(1); l != c.Difference.Low || h != c.Difference.High || sure != (l > 0) {
		t.Errorf("a family of one is not the interval itself: %v to %v", l, h)
	}
	// Five equal differences: the sign test gives 2 x 0.5^5 = 0.0625, not enough
	// at 95 %; six give 0.031.
	same := func(n int) Comparison { return Paired(set(n, 3), set(n, 1), 0.95) }
	if _, _, sure := same(5).Family(1); sure {
		t.Error("five pairs settle it")
	}
	if _, _, sure := same(6).Family(1); !sure {
		t.Error("six pairs do not settle it")
	}
	if _, _, sure := same(6).Family(10); sure {
		t.Error("six pairs settle one of ten")
	}
}

// set is n figures that rise from a first one.
func set(n int, first float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = first + float64(i*i)
	}
	return out
}

// TestFamilyError: of families of true equals, at most 5 % hold any difference
// beyond doubt, whether the figures are normal or skewed.
func TestFamilyError(t *testing.T) {
	const families, members, replications = 200, 40, 20
	for name, draw := range map[string]func(r *rand.Rand) float64{
		"normal": func(r *rand.Rand) float64 { return r.NormFloat64() },
		"skewed": func(r *rand.Rand) float64 { return math.Exp(1.2 * r.NormFloat64()) },
	} {
		wrong := 0
		for f := range families {
			r := rand.New(rand.NewPCG(uint64(f), 77))
			any := false
			for range members {
				a, b := make([]float64, replications), make([]float64, replications)
				for i := range a {
					common := draw(r)
					a[i], b[i] = common+0.3*draw(r), common+0.3*draw(r)
				}
				_, _, sure := Paired(a, b, 0.95).Family(members)
				any = any || sure
			}
			if any {
				wrong++
			}
		}
		// 5 % of 200 is 10; 18 is passed by chance once in a hundred times.
		t.Logf("%s: %d of %d families", name, wrong, families)
		if wrong > 18 {
			t.Errorf("%s: %d of %d families of equals hold a difference beyond doubt", name, wrong, families)
		}
	}
}
