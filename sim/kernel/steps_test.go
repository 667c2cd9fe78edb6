package kernel

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"
)

// In order as a stable sort has them, whatever the last step is.
func TestByStepsAsSorted(t *testing.T) {
	type thing struct{ step, number uint64 }
	r := rand.New(rand.NewPCG(1, 2))
	for _, last := range []uint64{0, 1, 2, 2047, 2048, 5000, 1 << 22, 1 << 40} {
		for n := range 60 {
			list := make([]thing, n*n/9)
			for i := range list {
				list[i] = thing{r.Uint64N(last + 1), uint64(i)}
			}
			want := slices.Clone(list)
			slices.SortStableFunc(want, func(a, b thing) int { return cmp.Compare(a.step, b.step) })
			got := BySteps(list, make([]thing, len(list)), last, func(x *thing) uint64 { return x.step })
			if !slices.Equal(got, want) {
				t.Fatalf("%d things of steps up to %d are not in order", len(list), last)
			}
		}
	}
}
