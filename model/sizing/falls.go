package sizing

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"halflight/model"
	"halflight/model/chance"
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
		if m.StrikesRouter(w.Fabric, i) {
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
// itself; or where bad stretches, of so many packets each, lose a share q of theirs, from a good one on.
func packetsTo(n int, p, burst, q float64) float64 {
	if burst <= 0 || q <= p {
		return reliability.RunMean(p, n)
	}
	leave := min(1/burst, 1)
	enter := min(leave*(p/q)/(1-p/q), 1)
	return reliability.LossChain{GoodToBad: enter, BadToGood: leave, LossBad: q}.RunMeanAfterGood(n)
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
