package kernel

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Against a stable sort by whole keys: few and many things, keys spread over all bits or
// close together, with ties that a second key decides and ties that nothing does.
func TestSorterAgainstSort(t *testing.T) {
	var s Sorter
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 8))
		n, width := r.IntN(400), uint64(1)<<r.IntN(64)
		if seed%60 == 0 {
			n = 5000
		}
		type thing struct{ first, second uint64 }
		all := make([]thing, n)
		most := uint64(0)
		for i := range all {
			all[i] = thing{r.Uint64() % width, r.Uint64N(3)}
			if seed%7 == 0 {
				all[i].first = math.MaxUint64 - all[i].first
			}
			most = max(most, all[i].first)
		}
		if seed%2 == 0 {
			most = max(most, r.Uint64())
		}
		order := func(i, j int32) int {
			return cmp.Or(cmp.Compare(all[i].first, all[j].first), cmp.Compare(all[i].second, all[j].second))
		}
		want := make([]int32, n)
		for i := range want {
			want[i] = int32(i)
		}
		slices.SortStableFunc(want, order)
		got := s.Order(n, most, func(i int) uint64 { return all[i].first }, func(i, j int32) bool { return order(i, j) < 0 })
		if !slices.Equal(got, want) {
			t.Fatalf("seed %d: %v, want %v", seed, got, want)
		}
	}
}
