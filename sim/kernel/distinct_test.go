package kernel

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Entries against words of their own: whatever is written where and in what order,
// with rows forgotten and numbers grown wider on the way, and what was looked at
// before stays as it was.
func TestDistinctAgainstWords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wide := rapid.IntRange(1, 3).Draw(t, "words")
		p := NewDistinct(wide)
		p.most = rapid.SampledFrom([]int{2, 3, 8, fewRows}).Draw(t, "most")
		tables := []*Numbers{p.Numbers(6), p.Numbers(6)}
		if rapid.Bool().Draw(t, "wide") {
			most := p.most
			p.most = fewRows + 1
			p.forget()
			p.most = most
		}
		plain := make([][6][3]uint64, 2)
		of := func(table, i int) []uint64 { return p.Words[tables[table].Of(i)*wide:][:wide] }
		for range rapid.IntRange(1, 60).Draw(t, "writes") {
			table, i := rapid.IntRange(0, 1).Draw(t, "table"), rapid.IntRange(0, 5).Draw(t, "entry")
			seen := of(table, i)
			was := slices.Clone(seen)
			if rapid.IntRange(0, 9).Draw(t, "write") == 0 {
				tables[1-table].Copy(tables[table])
				plain[1-table] = plain[table]
			} else {
				row := make([]uint64, rapid.IntRange(1, wide).Draw(t, "length"))
				for w := range row {
					row[w] = rapid.SampledFrom([]uint64{0, 0, 1, 2, 3, 1 << 32, 1 << 63, ^uint64(0)}).Draw(t, "word")
				}
				tables[table].Put(i, p.Number(row))
				plain[table][i] = [3]uint64{}
				copy(plain[table][i][:], row)
			}
			if !slices.Equal(seen, was) {
				t.Fatalf("what was looked at before, %v, is %v now", was, seen)
			}
			for table := range tables {
				for i := range plain[table] {
					if got, want := of(table, i), plain[table][i][:wide]; !slices.Equal(got, want) {
						t.Fatalf("table %d, entry %d: %v, want %v", table, i, got, want)
					}
					if p.Number(plain[table][i][:wide]) != uint32(tables[table].Of(i)) {
						t.Fatalf("table %d, entry %d: equal rows have two numbers", table, i)
					}
				}
			}
		}
	})
}

// More distinct rows in force than two bytes count, most of them others before.
func TestMoreRowsThanTwoBytesCount(t *testing.T) {
	const entries = 75_000
	p := NewDistinct(1)
	e := p.Numbers(entries)
	for turn := range uint64(3) {
		for i := range entries {
			e.Put(i, p.Number([]uint64{turn<<32 | uint64(i) + 1}))
		}
		if e.many == nil {
			t.Fatal("75,000 rows are numbered in two bytes")
		}
		for i := range entries {
			if got := p.Words[e.Of(i)]; got != turn<<32|uint64(i)+1 {
				t.Fatalf("turn %d: entry %d is %#x", turn, i, got)
			}
		}
	}
	if n := len(p.Words); n > 3*entries {
		t.Errorf("%d rows are kept, of which %d are in use", n, entries)
	}
}
