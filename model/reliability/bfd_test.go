package reliability

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// Derived from RFC 5880 section 6.8.7 and Feller's mean; printed to four digits or fewer in units of s, min, h, d and a year
// of 365.25 d.
func TestBFDFalseDownTable(t *testing.T) {
	const s, minute, h, d, y = 1000.0, 60e3, 3600e3, 86400e3, 365.25 * 86400e3
	for _, c := range []struct {
		p      float64
		k      int
		means  [3]float64 // interval 10, 50, 300 ms
		digits [3]int
	}{
		{0.001, 3, [3]float64{101.4 * d, 1.388 * y, 8.326 * y}, [3]int{4, 4, 4}},
		{0.001, 5, [3]float64{2.8e5 * y, 1.4e6 * y, 8.3e6 * y}, [3]int{2, 2, 2}},
		{0.01, 3, [3]float64{2.455 * h, 12.28 * h, 3.069 * d}, [3]int{4, 4, 4}},
		{0.01, 5, [3]float64{2.801 * y, 14.0 * y, 84.0 * y}, [3]int{4, 3, 3}},
		{0.05, 3, [3]float64{1.228 * minute, 6.14 * minute, 36.84 * minute}, [3]int{4, 3, 4}},
		{0.05, 5, [3]float64{8.187 * h, 1.706 * d, 10.23 * d}, [3]int{4, 4, 4}},
		{0.1, 3, [3]float64{9.712 * s, 48.56 * s, 4.856 * minute}, [3]int{4, 4, 4}},
		{0.1, 5, [3]float64{16.2 * minute, 1.35 * h, 8.102 * h}, [3]int{3, 3, 4}},
	} {
		for i, interval := range []float64{10, 50, 300} {
			what := fmt.Sprintf("p %g k %d interval %g", c.p, c.k, interval)
			printed(t, what, BFDFalseDownMean(c.p, c.k, interval), c.means[i], c.digits[i], 1e-9)
		}
	}
}

// The jitter-corrected mean of its own derivation, no publication known, ms, interval 50, and the probability
// that a packet more than k fits: 58/720 at k = 5, 1/120 at 4, none below (Irwin-Hall).
func TestBFDJitter(t *testing.T) {
	for _, c := range []struct {
		p    float64
		k    int
		want float64
	}{
		{0.1, 3, 48581.2}, {0.05, 3, 368393.7}, {0.1, 5, 5241072.4}, {0.2, 3, 6800.0}, {0.2, 5, 182646.3}, {0.3, 5, 27224.8},
	} {
		lastDigit(t, fmt.Sprintf("p %g k %d", c.p, c.k), BFDFalseDownMeanJitter(c.p, c.k, 50), fmt.Sprintf("%.1f", c.want))
	}
	for i, want := range []float64{0, 0, 0, 1.0 / 120, 58.0 / 720} {
		k := i + 1
		within(t, "fits", bfdFits(k, 1), want, 1e-14)
		const p = 0.2
		run := math.Pow(p, float64(k))
		within(t, "death", BFDDeathProbability(p, k), run*((1-want)+want*p), 1e-13)
	}
	within(t, "k of 3 has no correction", BFDFalseDownMeanJitter(0.1, 3, 50), BFDFalseDownMean(0.1, 3, 50), 1e-13)
}

// Second method: a sender and a receiver's timer played, fixed seeds, |z| <= 3.5.
func TestBFDAgainstPlay(t *testing.T) {
	for _, c := range []struct {
		p float64
		k int
	}{{0.1, 1}, {0.2, 3}, {0.3, 4}, {0.35, 5}, {0.55, 8}} {
		rng := rand.New(rand.NewPCG(7, uint64(c.k)))
		const reps = 4000
		sum, square := 0.0, 0.0
		for range reps {
			x := playBFD(rng, c.p, c.k)
			sum, square = sum+x, square+x*x
		}
		mean := sum / reps
		se := math.Sqrt((square/reps - mean*mean) / reps)
		want := BFDFalseDownMeanJitter(c.p, c.k, 1)
		if z := (mean - want) / se; math.Abs(z) > 3.5 {
			t.Errorf("p %g k %d: played %g +- %g, want %g, z %.2f", c.p, c.k, mean, se, want, z)
		}
	}
}

// playBFD is the time from an arrival to the session down, interval 1; gaps as RFC 5880 section 6.8.7 wants them.
func playBFD(rng *rand.Rand, p float64, k int) float64 {
	spread := 0.25
	longest := 1.0
	if k == 1 {
		spread, longest = 0.15, 0.90
	}
	now, last := 0.0, 0.0
	for {
		now += longest - spread*rng.Float64()
		if now > last+float64(k) {
			return last + float64(k)
		}
		if rng.Float64() >= p {
			last = now
		}
	}
}

// A packet more than k that fits: the sum of uniforms against the alternating sum of Irwin and Hall, where that still
// has digits.
func TestUniformSum(t *testing.T) {
	for n := 1; n <= 12; n++ {
		for x := 0; x <= n; x++ {
			want, choose, factorial := 0.0, 1.0, 1.0
			for i := range n {
				factorial *= float64(i + 1)
			}
			for j := 0; j <= x; j++ {
				want += choose * math.Pow(float64(x-j), float64(n)) / factorial
				choose *= -float64(n-j) / float64(j+1)
			}
			within(t, fmt.Sprintf("n %d x %d", n, x), uniformSumBelow(n, x), want, 1e-7)
		}
	}
	if got := BFDFalseDownMeanJitter(0.9, 255, 1); math.IsNaN(got) || got < 255 {
		t.Errorf("multiplier 255: %g", got)
	}
}

// A hard cut at a random phase, ms: k I less the mean age of the last packet, E[g^2]/(2 E[g]) (renewal theory: Feller vol. 2,
// from memory) with gaps g spread evenly over 75 to 100 % of I (RFC 5880 section 6.8.7): k I - 0.4405 I; with a multiplier of 1
// over 75 to 90 %, so that (0.9^3 - 0.75^3)/(3 x 0.15)/1.65 = 0.4136 I.
func TestBFDDetectMean(t *testing.T) {
	for _, c := range []struct {
		k              int
		interval, want float64
	}{
		{3, 10, 25.60}, {3, 50, 127.98}, {3, 300, 767.86}, {5, 10, 45.60}, {5, 50, 227.98}, {5, 300, 1367.86},
		{1, 100, 58.64},
	} {
		if s := fmt.Sprintf("%.2f", BFDDetectMean(c.k, c.interval)); s != fmt.Sprintf("%.2f", c.want) {
			t.Errorf("k %d interval %g: %s, want %.2f", c.k, c.interval, s, c.want)
		}
	}
}
