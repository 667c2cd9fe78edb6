package stat

import (
	"math"
	"slices"
	"testing"
)

// One point in every cell of every axis, whatever the seed; points farther apart
// than those of a first try.
func TestLatinHypercube(t *testing.T) {
	for seed := range uint64(20) {
		points := LatinHypercube(16, 5, seed)
		for axis := range 5 {
			var cells []int
			for _, p := range points {
				if p[axis] < 0 || p[axis] >= 1 {
					t.Fatalf("%v lies outside", p)
				}
				cells = append(cells, int(p[axis]*16))
			}
			slices.Sort(cells)
			for i, c := range cells {
				if c != i {
					t.Fatalf("seed %d, axis %d: cells %v", seed, axis, cells)
				}
			}
		}
		if again := LatinHypercube(16, 5, seed); !slices.Equal(again[7], points[7]) {
			t.Fatal("the same seed gives other points")
		}
		if first := latin(16, 5, draw{draw{seed}.at(0)}); nearest(points) < nearest(first) {
			t.Error("the best of the tries is not the best")
		}
	}
	if a, b := LatinHypercube(8, 2, 1), LatinHypercube(8, 2, 2); slices.Equal(a[0], b[0]) {
		t.Error("the seed does not matter")
	}
	if p := LatinHypercube(1, 3, 5); len(p) != 1 || len(p[0]) != 3 {
		t.Errorf("%v", p)
	}
}

// TestRankCorrelation: IQ and hours of television, 10 pairs, r = -29/165 =
// -0.1757575..., the worked example of many textbooks (from memory); ties by hand.
func TestRankCorrelation(t *testing.T) {
	iq := []float64{106, 86, 100, 101, 99, 103, 97, 113, 112, 110}
	tv := []float64{7, 0, 27, 50, 28, 29, 20, 12, 6, 17}
	r, ok := RankCorrelation(iq, tv)
	if !ok {
		t.Fatal("no coefficient")
	}
	near(t, "rank correlation", r, -29.0/165, 1e-12)
	// Ranks 1 2.5 2.5 4 against 1 2 3 4: 4.5/sqrt(4.5 x 5).
	r, _ = RankCorrelation([]float64{1, 2, 2, 9}, []float64{1, 2, 3, 4})
	near(t, "with ties", r, 4.5/math.Sqrt(4.5*5), 1e-12)
	if _, ok := RankCorrelation([]float64{1, 1}, []float64{1, 2}); ok {
		t.Error("a coefficient without spread")
	}
	near(t, "doubt", RankDoubt(65, 1, 0.95), 1.959963984540054/8, 1e-9)
}

func TestType7(t *testing.T) {
	for q, want := range map[float64]float64{0: 1, 0.25: 1.75, 0.5: 2.5, 1: 4} {
		near(t, "quantile", Type7([]float64{4, 1, 3, 2}, q), want, 1e-12)
	}
	near(t, "of one", Type7([]float64{7}, 0.3), 7, 1e-12)
}
