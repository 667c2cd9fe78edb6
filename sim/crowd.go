package sim

import (
	"slices"

	"halflight/model/failure"
	"halflight/model/traffic"
	"halflight/sim/kernel"
	"halflight/sim/load"
)

// crowd is how full directions are, where a scenario asks what is lost for want of
// room (`traffic.congestion`). Where pairs of leaves are kept one by one loads follow
// the tables in force, instant by instant. Where leaves are weighed together they
// follow the tables as they will be once all is noticed, from the instant at which
// that changes: what stands for hours is the same, convergence itself moves nothing.
// There, and only if a bound on all loads does not say that none matters, they are
// found at all.
type crowd struct {
	book  *load.Book
	level float64   // share of the access capacity that is offered now
	full  []float64 // by direction: share that is lost for want of room
	fulls int       // directions of which it is not 0
	cause []int32   // by direction: the fault behind that
	extra []float64 // by direction: what detours put on it

	dirty   bool // loads must be found anew, of all destinations
	moved   bool // the level changed
	stale   []int32
	isStale []bool
	version uint64 // of the truth that loads are of, plus one

	use, worst float64 // how full the fullest direction is, and was in the window
	over       int64   // ns of the window for which one was asked for more than it carries
	since      int64
	demand     int32 // the fault that stands for demand alone, -1 before it is needed
}

// The busiest hour of a day begins noon hours after time 0.
const hourNs, dayNs, noon = 3600_000_000_000, 86400_000_000_000, 12

// openCrowd begins to follow loads.
func (e *engine) openCrowd() {
	if !e.w.Traffic.Congestion || e.sketch != nil {
		return
	}
	table := e.control.Table
	if e.ahead {
		table = e.ledger.Truth.Routes.Next
	}
	c := &crowd{full: make([]float64, 2*len(e.f.Links)), cause: make([]int32, 2*len(e.f.Links)), isStale: make([]bool, e.f.Leaves),
		dirty: true, demand: -1, level: e.w.Traffic.Quiet(), since: e.w.WarmUp}
	c.book = load.New(e.f, table, e.ledger.PairWeight, func(dir int32) bool { return e.body.ways[dir].Dead }, func(x int32) bool { return !e.body.dead[x] }, !e.ahead)
	e.crowd = c
	e.push(noon*hourNs, rankEnd, 0, 0, kernel.Event{Kind: busiest, A: 1})
}

// turnHour begins or ends the busiest hour.
func (e *engine) turnHour(begins bool) {
	c := e.crowd
	c.level, c.moved, e.outside = e.w.Traffic.Quiet(), true, true
	next, length := int32(1), int64(dayNs-hourNs)
	if begins {
		c.level = e.w.Traffic.Busiest
		next, length = 0, hourNs
	}
	e.push(e.now+length, rankEnd, 0, 0, kernel.Event{Kind: busiest, A: next})
}

// reload brings loads up to date, and what is lost for want of room.
func (e *engine) reload() {
	c := e.crowd
	if !c.moved && !e.loadsMoved() {
		return
	}
	c.moved = false
	pair := e.w.Traffic.Sent(e.f, c.level) / float64(e.f.Leaves-1)
	c.keep(e)
	if c.use = 0; e.crowded() {
		if c.dirty {
			c.book.All()
		} else {
			for _, d := range c.stale {
				c.book.One(d)
			}
		}
		c.dirty = false
		e.addDetours()
		for dir := range int32(len(c.full)) {
			u := c.book.Use(dir, c.book.Load[dir]+c.detoured(dir), pair)
			c.use = max(c.use, u)
			e.setFull(dir, traffic.Lost(u))
		}
	} else {
		for dir := int32(0); c.fulls > 0; dir++ {
			e.setFull(dir, 0)
		}
	}
	for _, d := range c.stale {
		c.isStale[d] = false
	}
	c.stale = c.stale[:0]
	if e.now >= e.w.WarmUp {
		c.worst = max(c.worst, c.use)
	}
}

// reloadServers brings loads up to date once more if servers send by other leaves
// now than before this instant.
func (e *engine) reloadServers() {
	if e.crowd == nil || !e.ledger.Reweighed() {
		return
	}
	e.crowd.dirty = true
	e.reload()
	e.ledger.Settle(max(0, e.now), false)
}

// loadsMoved says whether something changed that loads follow.
func (e *engine) loadsMoved() bool {
	c := e.crowd
	if e.ahead {
		if is := e.ledger.Truth.Version + 1; is != c.version {
			c.version, c.dirty = is, true
			return true
		}
		return false
	}
	for _, w := range e.control.Changed {
		if !c.isStale[w.Destination] {
			c.isStale[w.Destination] = true
			c.stale = append(c.stale, w.Destination)
		}
	}
	return c.dirty || len(c.stale) > 0
}

// crowded says whether loads must be found: not if a bound on them leaves room
// for all, and hardly more than there was, so that the largest load is known to 4 %.
func (e *engine) crowded() bool {
	if !e.ahead {
		return true
	}
	truth := e.ledger.Truth
	out := func(l int32) bool {
		k := &e.f.Links[l]
		upper := int(k.Upper) >= e.f.Leaves && (truth.Routes.Overloaded(k.Upper) || int(k.Lower) >= e.f.Leaves && truth.Routes.Overloaded(k.Lower))
		return !truth.LinkUp[l] || truth.Raised[2*l] || truth.Raised[2*l+1] || upper
	}
	gone := func(x int32) bool { return truth.Dead[x] || int(x) >= e.f.Leaves && truth.Routes.Overloaded(x) }
	leafSpine, spineTop := e.w.Traffic.Uses(e.f, e.crowd.level)
	bound := load.Bound(e.f, leafSpine, spineTop, out, gone)
	const fits = 1 - 1e-9
	if e.now < e.w.WarmUp {
		return bound > fits
	}
	return bound > min(fits, 1.04*e.crowd.worst)
}

// addDetours finds what detours put on the directions that they lead over.
func (e *engine) addDetours() {
	c := e.crowd
	if c.extra = c.extra[:0]; len(e.body.onDetour) == 0 {
		return
	}
	c.extra = append(c.extra, make([]float64, len(c.full))...)
	for _, dir := range e.body.onDetour {
		for _, leg := range e.body.detours[dir] {
			c.extra[leg] += c.book.Load[dir]
		}
	}
}

func (c *crowd) detoured(dir int32) float64 {
	if len(c.extra) == 0 {
		return 0
	}
	return c.extra[dir]
}

// setFull has a direction lose a share for want of room.
func (e *engine) setFull(dir int32, share float64) {
	c := e.crowd
	if c.full[dir] == share && (share == 0 || !e.faults[c.cause[dir]].over || len(e.inForce) == 0) {
		return
	}
	was := int32(-1)
	if c.full[dir] > 0 {
		was = c.cause[dir]
		c.fulls--
	}
	if c.full[dir] = share; share > 0 {
		c.cause[dir] = e.crowdedBy(dir, was)
		c.fulls++
	}
	e.setWay(dir, e.body.truth[dir>>1].Alive)
	if e.ahead {
		e.outside, e.touched = true, true
	}
}

// crowdedBy is the fault to charge for what a direction loses for want of room: of
// those in force that take something out of use, the nearest, the oldest of several;
// where there is none, the one that it was, or the one that ended last if all would fit at rest,
// since tables may not have come back yet; or demand itself.
func (e *engine) crowdedBy(dir, was int32) int32 {
	hops := load.Hops(e.f, dir)
	best, least := int32(-1), int32(0)
	for _, id := range e.faultsInForce() {
		if at := e.nearest(id, hops); at >= 0 && (best < 0 || at < least) {
			best, least = id, at
		}
	}
	if best < 0 {
		best = was
	}
	if best < 0 && e.w.Traffic.Use(e.f, e.crowd.level, 1) <= 1 {
		best = e.ledger.LastEnded() // tables are on their way back
	}
	if best >= 0 {
		return best
	}
	if c := e.crowd; c.demand < 0 {
		_, _, mode := modesOf(e.w) // after all others
		c.demand = e.keepFault(fault{Condition: failure.Condition{Kind: failure.Lossy}, mode: mode, unit: -1,
			on: "demand", onset: max(0, e.now), end: Never})
	}
	return e.crowd.demand
}

// nearest is how many hops away a fault takes something out of use, -1 if it does
// not.
func (e *engine) nearest(id int32, hops []int32) int32 {
	f := &e.faults[id]
	out := slices.Contains([]failure.Kind{failure.Hard, failure.Flapping, failure.Restart, failure.Drain}, f.Kind)
	best := int32(-1)
	at := func(x int32) {
		if hops[x] >= 0 && (best < 0 || hops[x] < best) {
			best = hops[x]
		}
	}
	link := func(l int32) {
		if out || !e.ledger.Truth.LinkUp[l] {
			at(e.f.Links[l].Lower)
			at(e.f.Links[l].Upper)
		}
	}
	for _, x := range f.routers {
		if out {
			at(x)
		}
	}
	for _, l := range e.linksOf(f) {
		link(l)
	}
	return best
}

// keep counts up to now for how long a direction was asked for more than it carries.
func (c *crowd) keep(e *engine) {
	now := min(max(e.now, e.w.WarmUp), e.until)
	if c.use > 1 {
		c.over += now - c.since
	}
	c.since = now
}

// openWindow begins the measured window.
func (c *crowd) openWindow() {
	if c != nil {
		c.worst, c.over, c.moved = c.use, 0, true
	}
}
