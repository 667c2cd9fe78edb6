package impact

import (
	"math"

	"halflight/model/traffic"
)

// App is what one application class feels: at each leaf, the share of its
// units of work that are hit. A unit between two leaves is hit if its request
// or its reply is. Pairs with a dead leaf have no units.
type App struct {
	class traffic.Class
	hit   []float64 // by destination and source: probability that a unit of the pair is hit
	sum   []int64   // by leaf: sum over its pairs, in units
	slow  []float64 // by leaf: integral of the slow share, in share x ns
	over  []int64   // by leaf: ns over budget
	since []int64   // by leaf
	units int64     // sum over all leaves
	unit  float64
}

func newApp(leaves int) App {
	return App{hit: make([]float64, leaves*leaves), sum: make([]int64, leaves), slow: make([]float64, leaves),
		over: make([]int64, leaves), since: make([]int64, leaves), unit: math.Ldexp(1, 40)}
}

// set updates the units between two leaves, in either role, from what the two
// directions deliver in a plane.
func (a *App) set(l *Ledger, plane int, d, s int32, now int64) {
	n := l.f.Leaves
	hit := 0.0
	if l.deadAt[d] < 0 && l.deadAt[s] < 0 {
		hit = 1 - float64(l.field.Delivered(plane, s, d)*l.field.Delivered(plane, d, s))
	}
	i, j := int(d)*n+int(s), int(s)*n+int(d)
	if a.hit[i] == hit {
		return
	}
	change := int64(math.Round(float64(hit*a.unit))) - int64(math.Round(float64(a.hit[i]*a.unit)))
	a.hit[i], a.hit[j] = hit, hit
	for _, leaf := range [2]int32{d, s} {
		a.book(l, leaf, now)
		a.sum[leaf] += change
	}
}

// Share is the share of a leaf's units that are slow at present.
func (a *App) Share(l *Ledger, leaf int32) float64 {
	q := float64(a.sum[leaf]) / a.unit / float64(l.f.Leaves-1)
	if a.class.FanOut <= 1 || q == 0 {
		return q
	}
	whole := 1.0
	for range a.class.FanOut {
		whole *= 1 - q
	}
	return 1 - whole
}

func (a *App) book(l *Ledger, leaf int32, now int64) {
	if a.sum[leaf] != 0 {
		span := l.span(a.since[leaf], now)
		share := a.Share(l, leaf)
		a.slow[leaf] += float64(share * span)
		if share > a.class.Budget {
			a.over[leaf] += int64(span)
		}
	}
	a.since[leaf] = now
}

func (a *App) flush(l *Ledger, now int64) {
	for leaf := range a.sum {
		a.book(l, int32(leaf), now)
	}
}

// Slow returns, as flushed, the integral of a leaf's slow share (share x ns)
// and the time over budget (ns).
func (a *App) Slow(leaf int32) (integral float64, over int64) { return a.slow[leaf], a.over[leaf] }
