package forwarding_test

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"halflight/model/fabric"
	"halflight/sim/forwarding"
	"halflight/sim/paths/plain"
)

// twin lists every way from a leaf, router after router, and adds up. It knows
// nothing of levels, circles or differences.
type twin struct {
	s         *stage
	d         int32
	delivered []float64
	whole     bool
	losses    map[forwarding.Loss]float64 // amount by kind, cause and first
	wholes    map[forwarding.Loss]bool
}

// from lists the ways from one leaf to another.
func (s *stage) from(source, d int32, polarised bool) *twin {
	w := &twin{s: s, d: d, delivered: make([]float64, 1+s.classes), losses: map[forwarding.Loss]float64{}, wholes: map[forwarding.Loss]bool{}}
	if source == d || !s.alive[source] || !s.alive[d] {
		if source == d && s.alive[d] {
			w.delivered = s.pass(1)
		} else {
			w.whole = true
		}
		return w
	}
	if !polarised {
		w.walk(source, nil, 1, s.pass(1), -1, -1)
		return w
	}
	labels := 1
	for x := range s.f.Routers {
		for d := range int32(s.f.Leaves) {
			if k := len(plain.Ports(s.table.Of(d, int32(x)))); k > 0 {
				labels = labels / gcd(labels, k) * k
			}
		}
	}
	for l := range labels {
		w.walk(source, nil, 1/float64(labels), s.pass(1), -1, l)
	}
	return w
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (w *twin) lose(kind forwarding.Kind, cause, first int32, amount float64, whole bool) {
	if amount > 0 {
		l := forwarding.Loss{Kind: kind, Cause: cause, First: first}
		w.losses[l] += amount
		w.wholes[l] = w.wholes[l] || whole
	}
}

// walk takes a share of flows, of which pass is left, on from router x. With a
// label of 0 or more that decides the next hop, else each gets an equal part.
func (w *twin) walk(x int32, way []int32, share float64, pass []float64, first int32, label int) {
	s := w.s
	if x == w.d {
		for i, p := range pass {
			w.delivered[i] += share * p
		}
		return
	}
	for _, y := range way {
		if y == x {
			w.whole = true
			w.lose(forwarding.Loop, -1, first, share*pass[0], true)
			return
		}
	}
	hops := plain.Ports(s.table.Of(w.d, x))
	if first < 0 && fmt.Sprint(hops) != fmt.Sprint(plain.Ports(s.truth.Of(w.d, x))) {
		first = x
	}
	if len(hops) == 0 {
		w.whole = true
		w.lose(forwarding.NoRoute, -1, first, share*pass[0], true)
		return
	}
	if label >= 0 {
		hops = hops[label%len(hops) : label%len(hops)+1]
	}
	way = append(way[:len(way):len(way)], x)
	each := share / float64(len(hops))
	for _, p := range hops {
		port := s.f.Ports[x][p]
		dir := s.dirs[port.Out()]
		if dir.Dead {
			w.whole = true
			w.lose(forwarding.DeadDirection, dir.Cause, first, each*pass[0], true)
			continue
		}
		w.whole = w.whole || dir.Whole
		left := make([]float64, len(pass))
		for i := range pass {
			left[i] = pass[i] * dir.Pass[i]
		}
		w.lose(forwarding.GrayDirection, dir.Cause, first, each*(pass[0]-left[0]), dir.Whole)
		w.walk(port.Peer, way, each, left, first, label)
	}
}

// drawClos draws a small fabric.
func drawClos(t *rapid.T) *fabric.Fabric {
	c := fabric.Clos{Pods: 1, Leaves: rapid.IntRange(2, 4).Draw(t, "leaves"), Spines: rapid.IntRange(1, 3).Draw(t, "spines"), Parallel: 1}
	switch rapid.IntRange(0, 2).Draw(t, "shape") {
	case 0:
		c = fabric.Clos{Pods: 2, Leaves: rapid.IntRange(1, 2).Draw(t, "of a pod"), Spines: rapid.IntRange(1, 2).Draw(t, "spines"), Tops: rapid.IntRange(1, 2).Draw(t, "tops"), Parallel: 1}
	case 1:
		c.Parallel = rapid.IntRange(1, 2).Draw(t, "parallel")
		c.Leaves, c.Spines = min(c.Leaves, 3), min(c.Spines, 2)
	}
	f, err := c.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// drawDirection draws what a direction does: nothing, dead, or a share of its
// own on every plane.
func (s *stage) drawDirection(t *rapid.T) forwarding.Direction {
	state := forwarding.Direction{Pass: s.pass(1), Cause: rapid.Int32Range(0, 3).Draw(t, "cause")}
	switch rapid.IntRange(0, 3).Draw(t, "condition") {
	case 0:
		state.Cause = -1
	case 1:
		state.Dead = true
	default:
		shares := []float64{0, 0.25, 0.5, 0.9, 0.999, 1 - 1e-9, 1}
		for i := range state.Pass {
			state.Pass[i] = rapid.SampledFrom(shares).Draw(t, "pass")
		}
		state.Whole = state.Pass[0] == 0 || rapid.Bool().Draw(t, "whole")
	}
	return state
}

// drawEntry draws any next hops, none included; no leaf that is never transit.
func (s *stage) drawEntry(t *rapid.T, x, d int32) []uint64 {
	set := make([]uint64, s.lay.Words[x])
	for p, port := range s.f.Ports[x] {
		if s.overload[port.Peer] && port.Peer != d {
			continue
		}
		if rapid.Bool().Draw(t, "hop") {
			set[p>>6] |= 1 << (p & 63)
		}
	}
	return set
}

// drawChange makes one change.
func (s *stage) drawChange(t *rapid.T) {
	x := rapid.Int32Range(0, int32(len(s.f.Routers)-1)).Draw(t, "router")
	d := rapid.Int32Range(0, int32(s.f.Leaves-1)).Draw(t, "destination")
	switch rapid.IntRange(0, 9).Draw(t, "change") {
	case 0, 1, 2:
		dir := rapid.Int32Range(0, int32(2*len(s.f.Links)-1)).Draw(t, "direction")
		state := s.drawDirection(t)
		if s.alive[s.f.From(dir)] && s.alive[s.f.To(dir)] {
			s.setDirection(dir, state)
		}
	case 3:
		s.turn(x, !s.alive[x])
	case 4: // as without one link
		without := view{links: []int32{rapid.Int32Range(0, int32(len(s.f.Links)-1)).Draw(t, "without")}}
		if s.alive[x] {
			s.compute(without, x)
		}
	default:
		if x != d && s.alive[x] {
			s.enter(d, x, s.drawEntry(t, x, d))
		}
	}
	if x != d && rapid.IntRange(0, 4).Draw(t, "truth") == 0 {
		s.truth.Put(d, x, s.drawEntry(t, x, d))
		s.field.EntryChanged(x, d)
		s.field.Review(d)
	}
}

// turn takes a router out, its table with it, or brings it back without one.
func (s *stage) turn(x int32, alive bool) {
	s.alive[x] = alive
	s.field.SetRouter(x, alive)
	for d := range int32(s.f.Leaves) {
		s.enter(d, x, make([]uint64, s.lay.Words[x]))
	}
	for _, p := range s.f.Ports[x] {
		for _, dir := range [2]int32{p.Out(), p.In()} {
			s.setDirection(dir, forwarding.Direction{Dead: !alive || !s.alive[p.Peer], Pass: s.pass(1), Cause: 9})
		}
	}
}

// The field, brought up to date change by change, against listing every way:
// any tables, loops and holes included, any pass shares, dead routers.
func TestFieldAgainstListing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { againstListing(t, false, nil) })
}

// The same when all routers hash alike.
func TestPolarisedFieldAgainstListing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { againstListing(t, true, nil) })
}

func againstListing(t *rapid.T, polarised bool, set func(*forwarding.Field)) {
	s := newStage(drawClos(t), settings{polarised: polarised, classes: rapid.IntRange(0, 2).Draw(t, "classes")})
	if set != nil {
		set(s.field)
	}
	all := s.open()
	for range rapid.IntRange(1, 6).Draw(t, "instants") {
		for range rapid.IntRange(1, 6).Draw(t, "changes") {
			s.drawChange(t)
		}
		s.keep(all)
		s.holds(t, polarised)
		s.agrees(t, all, polarised)
	}
}
