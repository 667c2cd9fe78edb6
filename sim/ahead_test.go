package sim

import (
	"math"
	"testing"
)

// Leaves that are weighed together cost what they cost one by one. Who is to blame
// in a storm, and what applications feel of two chances at once, is known roughly:
// 2 % of what is lost, a tenth of the slow share; in which phase, 1 %.
func TestTogetherAsOneByOne(t *testing.T) {
	for _, name := range []string{"storm", "lull"} {
		w := shipped(t, name)
		w.WarmUp, w.Horizon = 0, min(w.Horizon, 6*3600e9)
		for seed := range uint64(3) {
			a, b := newRandom(w, seed, 0, together), newRandom(w, seed, 0, apart)
			if !a.ahead || b.ahead {
				t.Fatal("the two ways are not compared")
			}
			a.run()
			b.run()
			x, y := a.ledger.Total(a.until), b.ledger.Total(b.until)
			if math.Abs(x-y) > 1e-9*math.Max(x, y) {
				t.Errorf("%s %d: lost seconds %v together, %v one by one", name, seed, x, y)
			}
			p, q := a.record(0), b.record(0)
			moved := 0.0
			for m := range p.LostSeconds {
				change := 0.0
				for k := range p.LostSeconds[m] {
					change += p.LostSeconds[m][k] - q.LostSeconds[m][k]
				}
				moved += math.Abs(change) / 2
			}
			if moved > 0.02*x {
				t.Errorf("%s %d: of %v lost seconds, %v are charged to another mode", name, seed, x, moved)
			}
			moved = 0
			for k := range p.LostSeconds[0] {
				change := 0.0
				for m := range p.LostSeconds {
					change += p.LostSeconds[m][k] - q.LostSeconds[m][k]
				}
				moved += math.Abs(change) / 2
			}
			if moved > 0.01*x {
				t.Errorf("%s %d: of %v lost seconds, %v are charged to another phase", name, seed, x, moved)
			}
			for i := range p.Applications {
				if v, w := p.Applications[i].SlowShare, q.Applications[i].SlowShare; math.Abs(v-w) > 0.1*w {
					t.Errorf("%s %d: a slow share of %v together, %v one by one", name, seed, v, w)
				}
			}
		}
	}
}
