package sizing

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"halflight/model"
	"halflight/model/chance"
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/reliability"
)

// hearing is how a router hears that a neighbour is there: a packet every gap, s, so
// many missing in a row are too many, and what is down must hold for settle.
type hearing struct {
	gap, settle float64
	miss        int
}

// falls is how many times a day lossy faults of a mode take sessions down in a fabric
// of another width, with so many of them there on average. Two directions of a link
// fall apart from one another.
func falls(w *model.World, m *failure.Mode, now, c reliability.Clos, present float64) float64 {
	if m.Kind != failure.Lossy && m.Kind != failure.Silent {
		return 0
	}
	sum, all := 0.0, 0.0
	kinds := hearings(w)
	for _, h := range slices.SortedFunc(maps.Keys(kinds), func(a, b hearing) int { return cmp.Or(cmp.Compare(a.gap, b.gap), cmp.Compare(a.miss, b.miss)) }) {
		n := kinds[h]
		all += n
		sum += float64(n * meanOf(&m.Loss, func(loss float64) float64 { return h.falls(loss, m.Burst, m.BurstLoss) }))
	}
	if all == 0 {
		return 0
	}
	return present * directions(w, m, now, c) * 86400 * sum / all
}

// hearings counts the directions between routers by how what they carry is heard.
func hearings(w *model.World) map[hearing]float64 {
	out := map[hearing]float64{}
	t := &w.Timers
	for i := range w.Fabric.Links {
		l := &w.Fabric.Links[i]
		a, b := uint8(w.Fabric.Routers[l.Lower].Class), uint8(w.Fabric.Routers[l.Upper].Class)
		for _, way := range [2][2]uint8{{a, b}, {b, a}} {
			switch {
			case t.BFD:
				interval, miss := t.BFDPace(way[0], way[1])
				out[hearing{seconds(interval) * (1 - t.BFDJitter/2), seconds(t.Settle), miss}]++
			case t.Hello:
				out[hearing{seconds(t.HelloInterval) * (1 - t.HelloJitter/2), seconds(t.Settle), t.HelloMultiplier}]++
			}
		}
	}
	return out
}

// directions is how many directions a fault of a mode is on. Those of routers and
// groups go with the links that a width has.
func directions(w *model.World, m *failure.Mode, now, c reliability.Clos) float64 {
	if m.On == failure.OnLink {
		return 2 - m.OneWay
	}
	links, struck := 0.0, 0.0
	for i := range w.Fabric.Routers {
		if strikes(w.Fabric, m.On, i) {
			struck++
			links += float64(len(w.Fabric.Ports[i]))
		}
	}
	for i := range w.Groups {
		if g := &w.Groups[i]; m.Strikes(g) {
			n := len(g.Links)
			if m.Ports > 0 {
				n = min(n, m.Ports)
			}
			for _, x := range g.Routers {
				n += len(w.Fabric.Ports[x])
			}
			struck++
			links += float64(n)
		}
	}
	if struck == 0 {
		return 0
	}
	each := 2 * links / struck
	if m.Routers() {
		each *= float64(c.Counts().Links) / float64(now.Counts().Links) * scaled(w, m, now, now) / scaled(w, m, now, c)
	}
	return each
}

// strikes says whether a class of routers has this one in it.
func strikes(f *fabric.Fabric, on failure.Class, router int) bool {
	switch on {
	case failure.OnRouter:
		return router < len(f.Routers)-f.Outside
	case failure.OnBorder:
		return f.Border != nil && f.Border[router]
	case failure.OnLeaf, failure.OnSpine, failure.OnTop:
		return f.Routers[router].Class == map[failure.Class]fabric.Class{failure.OnLeaf: fabric.Leaf, failure.OnSpine: fabric.Spine, failure.OnTop: fabric.Top}[on]
	}
	return false
}

// falls is how many times a second a session falls over a direction that loses a
// share of what is sent: on average it takes a wait W until too many in a row are
// lost, and by exponential waits W (exp(settle/W) - 1) until it has held for long
// enough to be up again.
func (h hearing) falls(loss, burst, burstLoss float64) float64 {
	if loss <= 0 || loss >= 1 {
		return 0
	}
	wait := h.gap * packetsTo(h.miss, loss, burst, burstLoss)
	return math.Exp(-h.settle/wait) / wait
}

// packetsTo is the mean number of packets until so many in a row are lost: each by
// itself, (1 - p^n) / ((1 - p) p^n) (Feller, vol. 1, section XIII.7, from memory); where
// bad stretches lose a share q of theirs, from the first good one on.
func packetsTo(n int, p, burst, q float64) float64 {
	if burst <= 0 || q <= p {
		return (math.Pow(p, -float64(n)) - 1) / (1 - p)
	}
	leave := min(1/burst, 1)
	enter := min(leave*(p/q)/(1-p/q), 1)
	// What it takes from a bad state with k lost in a row is a + b B + g G, where B is
	// that with none and G what it takes from a good one; with n it takes nothing.
	var one, none [3]float64
	for range n {
		one = none
		for i := range none {
			none[i] *= (1 - leave) * q
		}
		none[0]++
		none[1] += (1 - leave) * (1 - q)
		none[2] += leave
	}
	// B = a + b B + g G by none, and G = 1/enter + q (a + b B + g G) + (1-q) B by one.
	b := [3]float64{1 - none[1], -none[2], none[0]}
	g := [3]float64{q - 1 - float64(q*one[1]), 1 - float64(q*one[2]), 1/enter + float64(q*one[0])}
	return (float64(b[0]*g[2]) - float64(g[0]*b[2])) / (float64(b[0]*g[1]) - float64(g[0]*b[1]))
}

// meanOf is the mean of a function of a share over a law: each of many narrow steps
// counts by its middle.
func meanOf(l *chance.Law, f func(float64) float64) float64 {
	if l.Family == chance.Fixed {
		return f(l.Scale)
	}
	const low, steps = 1e-6, 3000
	ratio := math.Pow(1/low, 1.0/steps)
	sum, at, above := 0.0, low, l.Survival(low)
	for range steps {
		next := at * ratio
		left := l.Survival(next)
		sum += float64(f(math.Sqrt(at*next)) * (above - left))
		at, above = next, left
	}
	return sum
}
