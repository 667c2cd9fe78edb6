package series

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Rates that are too much use up 2 % of a month's budget in an hour, 5 % in six
// hours and 10 % in three days (handbooks on reliability engineering, from memory):
// 14.4, 6 and 1. One leaf of two is slow with 1 % from 2 h to 3 h 30 min, with a
// budget of 1e-4, by hand: the worst hour burns 100 at the leaf and 50 over all, the
// worst six hours 25 and 12.5, the worst three days 100 x 1.5/72. The hour is looked
// at every 10 min, and more than 14.4/100 of it is slow at the leaf from 2:10 to 4:20,
// 14 looks; more than 14.4/50 over all from 2:20 to 4:10, 12 looks. Six hours are over at
// 6:00 for the first time, and hold 21.6 min of it until 9:00, 43.2 until 8:40; three
// days hold 43.2 min until 74:40, 86.4 until 74:00.
func TestBurnByHand(t *testing.T) {
	const min, hour = 60 * second, 3600 * second
	windows := []Window{{hour, 14.4}, {6 * hour, 6}, {72 * hour, 1}, {720 * hour, 1}}
	b := NewBurn(10*hour, 10*hour+96*hour, 2, 1e-4, windows)
	b.Add(1, 0.5, 0, 10*hour) // before what is measured
	b.Add(1, 0.01, 12*hour, 13*hour)
	b.Add(1, 0.01, 13*hour, 13*hour+30*min)
	b.Add(0, 0, 10*hour, 100*hour)
	for i, want := range []Burnt{
		{50, 100, 12 * 10 * min, 14 * 10 * min},
		{12.5, 25, 17 * 10 * min, 19 * 10 * min},
		{50 * 1.5 / 72, 100 * 1.5 / 72, 13 * 10 * min, 17 * 10 * min},
		{-1, -1, 0, 0},
	} {
		got := b.Record()[i]
		if !close(got.Most, want.Most) || !close(got.MostLeaf, want.MostLeaf) || got.Above != want.Above || got.LeafAbove != want.LeafAbove {
			t.Errorf("%d h: %+v, want %+v", windows[i].Length/hour, got, want)
		}
	}
}

func close(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Abs(b) }

// Against a twin that knows every stretch and integrates it anew at every look:
// long stretches, some of which the book passes in one step, and short ones; of single
// leaves and, in half of the worlds, of all alike (-1). The longest window hardly fits in
// what is kept of a leaf, and its rate is never reached.
func TestBurnAgainstList(t *testing.T) {
	type stretch struct {
		leaf     int32
		share    float64
		from, to int64
	}
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 5))
		const leaves, budget = 3, 0.01
		windows := []Window{{12 * second, 10}, {60 * second, 4}, {240 * second, 2}, {444 * second, 1e9}}
		from, until := 100*second, 100*second+int64(2000+r.IntN(3000))*second+int64(r.IntN(1e9))
		b := NewBurn(from, until, leaves, budget, windows)
		var list []stretch
		for leaf := int32(-1); leaf < leaves; leaf++ {
			for at := int64(0); at < until && (leaf >= 0 || seed%2 == 1); {
				length := int64(math.Pow(10, 7+5*r.Float64())) // 10 ms to 1,000 s
				share := 0.0
				if r.IntN(3) > 0 && (leaf != 1 || at > until/2) { // leaf 1 has none of its own for long
					share = math.Pow(10, -4*r.Float64())
				}
				s := stretch{leaf, share, at, min(at+length, until)}
				list = append(list, s)
				if leaf < 0 {
					b.All(s.share, s.from, s.to)
				} else if share > 0 || r.IntN(2) == 0 {
					b.Add(s.leaf, s.share, s.from, s.to)
				}
				at = s.to
			}
		}
		got := b.Record()
		slot := 2 * second
		for i, w := range windows {
			want := Burnt{}
			for end := from + w.Length; end <= from+(until-from)/slot*slot; end += slot {
				all := 0.0
				for leaf := range int32(leaves) {
					sum := 0.0
					for _, s := range list {
						if s.leaf == leaf || s.leaf < 0 {
							sum += s.share * float64(max(0, min(s.to, end)-max(s.from, end-w.Length)))
						}
					}
					rate := sum / float64(w.Length) / budget
					want.MostLeaf = max(want.MostLeaf, rate)
					if rate >= w.Rate {
						want.LeafAbove += slot
					}
					all += rate / leaves
				}
				want.Most = max(want.Most, all)
				if all >= w.Rate {
					want.Above += slot
				}
			}
			if g := got[i]; !close(g.Most, want.Most) || !close(g.MostLeaf, want.MostLeaf) || g.Above != want.Above || g.LeafAbove != want.LeafAbove {
				t.Errorf("seed %d, %d s: %+v, want %+v", seed, w.Length/second, g, want)
			}
		}
	}
}
