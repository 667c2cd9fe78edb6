package reliability

import (
	"math"
	"testing"
)

// The expansion agrees with summed masses where both can be had.
func TestExpand(t *testing.T) {
	for _, level := range []float64{0.025, 0.5, 0.975, 0.99} {
		for _, mean := range []float64{1e6, 12345678.9, 1e8} {
			if got, want := expand(mean, mean, mean, mean, level), PoissonQuantile(mean, level); got != want {
				t.Errorf("Poisson %v at %v: %d, want %d", mean, level, got, want)
			}
		}
		for _, fleet := range [][]Population{
			{{Count: 10_000_000, MTBF: 2, MTTR: 1}}, {{Count: 40_000_000, MTBF: 1, MTTR: 20}},
			{{Count: 4_000_000, MTBF: 3, MTTR: 1}, {Count: 3_000_000, MTBF: 1, MTTR: 5}},
		} {
			if got, want := BrokenQuantile(level, fleet...), BrokenNow(fleet...).Quantile(level); got != want {
				t.Errorf("%v at %v: %d, want %d", fleet, level, got, want)
			}
		}
	}
	if low, high := PoissonRange(1e15, 0.95); math.Abs(float64(high-low)-2*1.959964*math.Sqrt(1e15)) > 100 {
		t.Errorf("%d to %d", low, high)
	}
}
