package pairs

import (
	"math/rand/v2"
	"testing"
)

// Against a table of all pairs.
func TestSetAgainstTable(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for round := range 300 {
		leaves := 2 + rng.IntN(200)
		var set Set
		table := make([]bool, leaves*leaves) // by destination and source
		for range rng.IntN(60) {
			leaf := int32(rng.IntN(leaves))
			switch {
			case rng.IntN(20) == 0:
				set.AddFrom(leaf, leaves)
				for d := range leaves {
					table[d*leaves+int(leaf)] = true
				}
			case rng.IntN(20) == 0:
				set.AddTo(leaf, leaves)
				for s := range leaves {
					table[int(leaf)*leaves+s] = true
				}
			default:
				word := rng.IntN((leaves + 63) / 64)
				sources := rng.Uint64() & rng.Uint64()
				if most := leaves - 64*word; most < 64 {
					sources &= 1<<most - 1
				}
				set.Add(leaf, word, sources)
				for i := range 64 {
					if sources>>i&1 != 0 {
						table[int(leaf)*leaves+64*word+i] = true
					}
				}
			}
		}
		want := 0
		for i, has := range table {
			d, s := i/leaves, i%leaves
			if set.Has(int32(d), s/64, 1<<(s%64)) != has {
				t.Fatalf("round %d: destination %d, source %d: want %v", round, d, s, has)
			}
			if has && d != s {
				want++
			}
		}
		if got := set.Count(leaves); got != want {
			t.Fatalf("round %d: %d pairs of %d leaves, want %d", round, got, leaves, want)
		}
	}
}

// Two leaves of 100 that are cut off are in 2 x 99 + 2 x 98 ordered pairs; what a third sends, and
// what 64 of them send it, are some more.
func TestSetByHand(t *testing.T) {
	const leaves = 100
	var set Set
	if set.Has(1, 0, 1<<2) || set.Count(leaves) != 0 {
		t.Fatal("an empty set holds something")
	}
	for _, leaf := range []int32{7, 70} {
		set.AddFrom(leaf, leaves)
		set.AddTo(leaf, leaves)
	}
	if got, want := set.Count(leaves), 2*99+2*98; got != want {
		t.Fatalf("%d pairs, want %d", got, want)
	}
	set.AddFrom(3, leaves) // 99 pairs, of which 3 to 7 and 3 to 70 are there
	if got, want := set.Count(leaves), 2*99+2*98+97; got != want {
		t.Fatalf("%d pairs, want %d", got, want)
	}
	set.Add(3, 0, ^uint64(0)) // from 0 to 63: 62 but for itself and 7
	if got, want := set.Count(leaves), 2*99+2*98+97+62; got != want {
		t.Fatalf("%d pairs, want %d", got, want)
	}
}
