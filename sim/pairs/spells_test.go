package pairs

import (
	"math/rand/v2"
	"testing"
)

// Against a list of all times of each key.
func TestSpellsAgainstList(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for round := range 200 {
		var p Spells
		type one struct{ from, to int64 }
		all := map[uint64][]one{}
		now := int64(0)
		for range 300 {
			now += rng.Int64N(30)
			key := rng.Uint64N(20) << (32 * rng.Uint64N(2))
			add := one{now - 1 - rng.Int64N(50), now}
			all[key] = append(all[key], add)
			got := p.Add(key, add.from, add.to)
			sum, longest, end := int64(0), int64(0), int64(-1<<62)
			for _, o := range all[key] {
				if o.from >= end {
					sum, longest = sum+longest, 0
				}
				longest, end = max(longest, o.to-o.from), max(end, o.to)
			}
			if want := max(sum+longest, add.to-add.from); got != want {
				t.Fatalf("round %d, key %d: %d, want %d", round, key, got, want)
			}
		}
	}
}
