package kernel

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// Lists that grow and are given up in any order hold what plain slices do, and take no
// more room than the most that were long at one time.
func TestShorts(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	const lists, short = 20, 3
	s := NewShorts[int](lists, short)
	var got, want [lists][]int
	for i := range got {
		got[i] = s.Empty(i, nil)
	}
	long, most := 0, 0
	for range 20_000 {
		i := rng.IntN(lists)
		if rng.IntN(12) == 0 {
			if len(want[i]) > short {
				long--
			}
			got[i], want[i] = s.Empty(i, got[i]), nil
			if cap(got[i]) != short {
				t.Fatalf("list %d, emptied, has room for %d, want its own for %d", i, cap(got[i]), short)
			}
			continue
		}
		v := rng.Int()
		got[i], want[i] = s.Append(got[i], v), append(want[i], v)
		if len(want[i]) == short+1 {
			long++
			most = max(most, long)
		}
		for k := range got {
			if !slices.Equal(got[k], want[k]) {
				t.Fatalf("list %d holds %v, want %v", k, got[k], want[k])
			}
		}
		if long+len(s.spare) > most {
			t.Fatalf("%d lists are long and %d are lent to nobody, though no more than %d were at one time", long, len(s.spare), most)
		}
	}
	if most < 3 || len(s.spare) == 0 && long == most {
		t.Fatalf("%d lists were long at one time: nothing was tested", most)
	}
}
