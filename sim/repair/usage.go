package repair

import (
	"math"
	"slices"

	"halflight/model/fabric"
)

// usage is which links are in use, and what that leaves to each router.
type usage struct {
	f      *fabric.Fabric
	clos   bool
	up     []bool  // by direction: the sender is believed to hold the adjacency
	links  []int32 // by link: tickets that drain it
	nodes  []int32 // by router: tickets that drain it
	in     []bool  // by link: in use
	least  []int32 // by router: uplinks that a drain must leave
	uplink []int32 // by router: uplinks, all
	used   []int32 // by router: uplinks in use
	count  []int32 // scratch, zero between calls

	parts components

	touched []int32 // leaves whose uplinks changed at the instant at
	at      int64
	worst   float64 // least share but 0
	cut     bool    // a leaf that was not out had no link that was up
	away    []bool  // by router: out as a whole, so that what is left to it is no share of anything
	held    []bool  // by router: it has had an uplink in use since it was last out
	exposed bool    // a box is out for planned work
	planned float64 // worst while that is so
}

func (u *usage) init(f *fabric.Fabric, floor float64) {
	n := len(f.Routers)
	*u = usage{f: f, clos: f.Shape.Pods > 0, up: make([]bool, 2*len(f.Links)), links: make([]int32, len(f.Links)), nodes: make([]int32, n),
		in: make([]bool, len(f.Links)), least: make([]int32, n), uplink: make([]int32, n), used: make([]int32, n), count: make([]int32, n), away: make([]bool, n), held: make([]bool, n), worst: 1, planned: 1}
	for l := range f.Links {
		u.up[2*l], u.up[2*l+1], u.in[l] = true, true, true
		for _, r := range u.owners(int32(l)) {
			if r >= 0 {
				u.uplink[r]++
				u.used[r]++
				u.held[r] = true
			}
		}
	}
	for r := range u.least {
		// A share of a count, such as 0.7 of 10, may come out a little too large.
		u.least[r] = int32(math.Ceil(float64(floor*float64(u.uplink[r])) - 1e-9))
	}
	u.parts.init(n)
}

// owners are the routers of which a link is an uplink, -1 for none.
func (u *usage) owners(link int32) [2]int32 {
	l := &u.f.Links[link]
	o := [2]int32{l.Lower, -1}
	if u.clos {
		return o // numbers grow upwards
	}
	if !u.leaf(l.Lower) {
		o[0] = -1
	}
	if u.leaf(l.Upper) {
		o[1] = l.Upper
	}
	return o
}

func (u *usage) leaf(r int32) bool { return int(r) < u.f.Leaves }

// drained says whether a link or one of its routers is drained.
func (u *usage) drained(link int32) bool {
	l := &u.f.Links[link]
	return u.links[link] > 0 || u.nodes[l.Lower] > 0 || u.nodes[l.Upper] > 0
}

func (u *usage) drains(p part) int32 {
	if p.router {
		return u.nodes[p.id]
	}
	return u.links[p.id]
}

// believe notes the state of an end, and says whether a link's use changed.
func (u *usage) believe(end int32, up bool, now int64) bool {
	if u.up[end] == up {
		return false
	}
	u.goOn(now)
	u.up[end] = up
	return u.refresh(end>>1, now)
}

// add counts a drain more or less of a part, and says whether that began or
// ended its being drained.
func (u *usage) add(p part, by int32, now int64) bool {
	counts := u.links
	if p.router {
		counts = u.nodes
	}
	was := counts[p.id] > 0
	counts[p.id] += by
	if was == (counts[p.id] > 0) {
		return false
	}
	if !p.router {
		u.refresh(p.id, now)
		return true
	}
	for _, port := range u.f.Ports[p.id] {
		u.refresh(port.Link, now)
	}
	return true
}

// refresh brings what depends on a link's use up to date, and says whether that
// changed.
func (u *usage) refresh(link int32, now int64) bool {
	in := u.up[2*link] && u.up[2*link+1] && !u.drained(link)
	if in == u.in[link] {
		return false
	}
	u.goOn(now)
	u.in[link] = in
	by := int32(-1)
	if in {
		by = 1
	}
	for _, r := range u.owners(link) {
		if r < 0 {
			continue
		}
		u.used[r] += by
		u.held[r] = u.held[r] || in && !u.away[r]
		if u.leaf(r) {
			u.touched = append(u.touched, r)
		}
	}
	if l := &u.f.Links[link]; u.transit(l.Lower) && u.transit(l.Upper) {
		u.moved(l.Lower, l.Upper, in)
	}
	return true
}

// goOn closes the instant before, if there is one.
func (u *usage) goOn(now int64) {
	if now > u.at {
		u.settle()
		u.at = now
	}
}

// settle takes the leaves as they were at the end of the instant at.
func (u *usage) settle() {
	for _, r := range u.touched {
		u.measure(r)
	}
	u.touched = u.touched[:0]
}

func (u *usage) measure(leaf int32) {
	if u.away[leaf] || u.used[leaf] == 0 && (!u.held[leaf] || u.reached(leaf)) {
		return // out, or not yet back, or drained on all sides, so that it goes on
	}
	if u.used[leaf] == 0 {
		u.cut = true
		if u.exposed {
			u.planned = 0
		}
		return
	}
	share := float64(u.used[leaf]) / float64(u.uplink[leaf])
	u.worst = min(u.worst, share)
	if u.exposed {
		u.planned = min(u.planned, share)
	}
}

// reached says whether any link of a router is up, drained or not.
func (u *usage) reached(x int32) bool {
	return slices.ContainsFunc(u.f.Ports[x], func(p fabric.Port) bool { return u.up[2*p.Link] && u.up[2*p.Link+1] })
}

// expose says that a box is out for planned work, or that none is any more.
func (u *usage) expose(on bool, now int64) {
	u.goOn(now)
	if u.exposed = on; on {
		for r := range u.f.Leaves {
			u.touched = append(u.touched, int32(r))
		}
	}
}

func (u *usage) exposedCapacity(now int64) float64 {
	u.capacity(now)
	return u.planned
}

// setAway says whether a router is out as a whole.
func (u *usage) setAway(x int32, away bool) {
	if u.away[x] = away; away {
		u.held[x] = false
	}
}

func (u *usage) resetWindow(now int64) {
	u.touched, u.at, u.worst, u.cut = u.touched[:0], now, 1, false
	for r := range u.f.Leaves {
		u.measure(int32(r))
	}
}

func (u *usage) capacity(now int64) float64 {
	u.settle()
	u.at = max(u.at, now)
	return u.worst
}

// allows says whether the rules allow a part that is not drained to be drained.
func (u *usage) allows(p part) bool {
	if p.router {
		return u.allowsRouter(p.id)
	}
	if !u.in[p.id] {
		return true
	}
	for _, r := range u.owners(p.id) {
		if r >= 0 && u.used[r]-1 < u.least[r] {
			return false
		}
	}
	return !u.lastPath(p.id)
}

func (u *usage) allowsRouter(x int32) bool {
	if u.leaf(x) {
		return false
	}
	enough, any := true, false
	for _, port := range u.f.Ports[x] {
		if !u.in[port.Link] {
			continue
		}
		any = true
		for _, r := range u.owners(port.Link) {
			if r >= 0 && r != x {
				u.count[r]++
				enough = enough && u.used[r]-u.count[r] >= u.least[r]
			}
		}
	}
	for _, port := range u.f.Ports[x] {
		u.count[port.Peer] = 0
	}
	return enough && !(any && u.losesPair(-1, x))
}
