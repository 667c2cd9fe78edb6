package sim

import (
	"math"
	"testing"

	"halflight/model/traffic"
)

const hurtLeaf = `
name: hurt
random: false
horizon: 4d
fabric: {clos: {pods: 1, leaves: 4, spines: 2, tops: 0}}
telemetry: [{name: nobody, complaints: false}]
detection: {bfd: false, hello: false}
applications: [{name: calls, request: {time_outs: 4}}]
script: [{at: 2h, on: leaf-0-0>spine-0-0, kind: silent, loss: 0.2, for: 90min}]
`

// One of a leaf's two uplinks loses 20 % for 90 min, by hand: with p = 0.2 a request
// of 10 packets is hit with 1 - 0.8^10, so that q = half of that of the leaf's units
// are slow, a third of that at each other leaf, and half of it over all. Of a unit
// that is hit, one that needs k time-outs or more is there with 1 - (1-p^k)^10: 200,
// 600, 1,400 and 3,000 ms late (RFC 6298 section 5.5).
func TestBurnAndDelayByHand(t *testing.T) {
	t.Parallel()
	w := build(t, "hurt-leaf", hurtLeaf)
	for _, how := range []manner{together, apart} {
		e := newRandom(w, 1, 0, how)
		e.run()
		r := e.record(0)
		a := r.Applications[0]
		q := (1 - math.Pow(0.8, 10)) / 2
		hour := a.Burn[0]
		check := func(what string, got, want float64) {
			t.Helper()
			if math.Abs(got-want) > 1e-9*want {
				t.Errorf("%v: %s %v, want %v", how, what, got, want)
			}
		}
		check("worst hour", hour.Most, q/2/1e-4)
		if how == apart { // together, what uplinks take is felt by all leaves alike, the own one too
			check("worst hour of a leaf", hour.MostLeaf, q/1e-4)
			check("worst three days", a.Burn[2].MostLeaf, q/1e-4*1.5/72)
		}
		check("worst six hours", a.Burn[1].Most, q/2/1e-4*1.5/6)
		check("hours above", float64(hour.Above)/60e9, 140) // from 2:10 to 4:20
		check("leaf-hours above", float64(hour.LeafAbove)/60e9, 4*140)
		for k := range 4 {
			check("late", a.Late[k], (1-math.Pow(1-math.Pow(0.2, float64(k+1)), 10))/4*1.5/96)
		}
		check("slow", a.SlowShare, a.Late[0])
	}
}

// With parts of units that go to many leaves at once, and delays, both ways of
// keeping the ledger agree as they do without; so do the largest burn rates.
func TestFanOutTogetherAsOneByOne(t *testing.T) {
	w := shipped(t, "storm")
	w.WarmUp, w.Horizon = 0, 6*3600e9
	c := &w.Classes[0]
	c.FanOut, c.TimeOuts, c.Burn = 20, 2, []traffic.Burn{{Window: 600e9, Rate: 100}, {Window: 3600e9, Rate: 50}}
	for seed := range uint64(2) {
		a, b := newRandom(w, seed, 0, together), newRandom(w, seed, 0, apart)
		a.run()
		b.run()
		p, q := a.record(0).Applications[0], b.record(0).Applications[0]
		alike := func(what string, v, w float64) {
			t.Helper()
			if w == 0 || math.Abs(v-w) > 0.1*w {
				t.Errorf("seed %d: %s %v together, %v one by one", seed, what, v, w)
			}
		}
		alike("slow", p.SlowShare, q.SlowShare)
		alike("worst leaf", p.WorstLeaf, q.WorstLeaf)
		alike("late", p.Late[1], q.Late[1])
		for i := range p.Burn {
			alike("largest burn rate", p.Burn[i].Most, q.Burn[i].Most)
			alike("at a leaf", p.Burn[i].MostLeaf, q.Burn[i].MostLeaf)
			alike("time above", float64(p.Burn[i].Above), float64(q.Burn[i].Above))
		}
	}
}
