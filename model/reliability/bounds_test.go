package reliability

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Formula of NIST/SEMATECH e-Handbook 8.4.5.1; figures from SciPy 1.10.1 chi-square quantiles. That NIST prints 800 h
// with two failures is from memory.
func TestMTBFBounds(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		total     float64
		r         int
		level     float64
		low, high float64
	}{
		{800, 2, 0.9, 127.068968274, 2251.22861063}, {7771, 10, 0.95, 422.558431291, 1620.51514328},
		{7771, 10, 0.9, 458.135807114, 1432.33528216}, {1600, 0, 0.9, 534.093121113, inf},
		{825262080, 942, 0.95, 821868.867817, 934826.100169}, {825262080, 960, 0.9, 815031.305117, 907269.349805},
		{1800000, 8, 0.9, 124699.943228, 452167.829788},
	} {
		low, high := MTBFBoundsTime(c.total, c.r, c.level)
		printed(t, "low", low, c.low, 12, 1e-9)
		printed(t, "high", high, c.high, 12, 1e-9)
	}
	for _, c := range []struct {
		total     float64
		r         int
		level     float64
		low, high float64
	}{
		{7771, 10, 0.9, 494.803751259, 1432.33528216}, {3375, 7, 0.9, 284.99301147, 1027.29853582},
		{10000, 5, 0.8, 1251.00243043, 4110.84308594},
	} {
		low, high := MTBFBoundsFailure(c.total, c.r, c.level)
		printed(t, "low", low, c.low, 12, 1e-9)
		printed(t, "high", high, c.high, 12, 1e-9)
	}
	for _, c := range []struct {
		total      float64
		r          int
		level, low float64
	}{
		{800, 2, 0.9, 150.310381416}, {800, 2, 0.95, 127.068968274}, {1600, 0, 0.9, 694.871171045}, {1600, 0, 0.5, 2308.31206542},
		{1e6, 0, 0.6, 1091356.66794}, {7771, 10, 0.95, 458.135807114},
	} {
		printed(t, "at least", MTBFAtLeast(c.total, c.r, c.level), c.low, 12, 1e-9)
	}
	within(t, "no failures", MTBFAtLeast(1600, 0, 0.9), 1600/-math.Log(0.1), 1e-12)
}

// Factors on the point estimate, fixed-time test, to four decimals.
func TestMTBFFactors(t *testing.T) {
	failures := []int{1, 2, 3, 5, 10, 20}
	for _, c := range []struct {
		level   float64
		factors [][2]string
	}{
		{0.6, [][2]string{{"0.3340", "4.4814"}, {"0.4674", "2.4260"}, {"0.5440", "1.9543"}, {"0.6324", "1.6184"}, {"0.7326", "1.3719"}, {"0.8088", "1.2367"}}},
		{0.8, [][2]string{{"0.2571", "9.4912"}, {"0.3758", "3.7607"}, {"0.4490", "2.7222"}, {"0.5391", "2.0554"}, {"0.6491", "1.6074"}, {"0.7395", "1.3769"}}},
		{0.9, [][2]string{{"0.2108", "19.4957"}, {"0.3177", "5.6281"}, {"0.3869", "3.6689"}, {"0.4756", "2.5379"}, {"0.5895", "1.8432"}, {"0.6882", "1.5089"}}},
		{0.95, [][2]string{{"0.1795", "39.4979"}, {"0.2768", "8.2573"}, {"0.3422", "4.8491"}, {"0.4285", "3.0798"}, {"0.5438", "2.0853"}, {"0.6475", "1.6371"}}},
	} {
		for i, r := range failures {
			low, high := MTBFBoundsTime(float64(r), r, c.level)
			for side, got := range []float64{low, high} {
				if s := fmt.Sprintf("%.4f", got); s != c.factors[i][side] {
					t.Errorf("level %g, %d failures: factor %s, want %s", c.level, r, s, c.factors[i][side])
				}
			}
		}
	}
}

// Second method: a bound is right when the Poisson count at it has the tail it should.
func TestMTBFBoundsCover(t *testing.T) {
	for _, r := range []int{0, 1, 4, 30, 2000} {
		for _, level := range []float64{0.5, 0.9, 0.999} {
			low, high := MTBFBoundsTime(1000, r, level)
			below := distuv.Poisson{Lambda: 1000 / low}.CDF(float64(r))
			within(t, "below", below, (1-level)/2, 1e-8)
			if r > 0 {
				within(t, "above", PoissonTail(r, 1000/high), (1-level)/2, 1e-8)
			}
		}
	}
}
