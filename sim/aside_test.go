package sim

import (
	"math"
	"testing"
)

// Leaves that are put together cost what they cost one by one.
func TestTogetherAsOneByOne(t *testing.T) {
	for _, name := range []string{"storm", "lull"} {
		w := shipped(t, name)
		w.WarmUp, w.Horizon = 0, min(w.Horizon, 6*3600e9)
		for seed := range uint64(3) {
			a, b := newRandom(w, seed, 0, false), newRandom(w, seed, 0, true)
			if !a.aside || b.aside {
				t.Fatal("the two ways are not compared")
			}
			a.run()
			b.run()
			x, y := a.ledger.Total(a.until), b.ledger.Total(b.until)
			if math.Abs(x-y) > 1e-9*math.Max(x, y) {
				t.Errorf("%s %d: lost seconds %v together, %v one by one", name, seed, x, y)
			}
			p, q := a.record(0), b.record(0)
			for m := range p.LostSeconds {
				var s, r float64
				for k := range p.LostSeconds[m] {
					s, r = s+p.LostSeconds[m][k], r+q.LostSeconds[m][k]
				}
				if math.Abs(s-r) > 0.02*math.Max(s, r) {
					t.Logf("%s %d: mode %d loses %v together, %v one by one", name, seed, m, s, r)
				}
			}
			t.Log(name, seed, x, p.Applications, q.Applications, len(p.Faults), len(q.Faults))
		}
	}
}
