package linkstate

import (
	"slices"

	"halflight/sim/paths"
)

// The stages of a router that returns: it waits for its first adjacency, for
// the database exchange on it, for a run that starts after that, for the end
// of that run, and until its table is wholly in force.
const (
	settled = iota
	awaitAdjacency
	awaitExchange
	awaitRun
	inRun
	inWriting
)

// Lose is the loss of the adjacency at x's end of a link, noticed now. fault
// is who did it, for the record.
func (c *Control) Lose(x, link, fault int32, now int64) {
	port := c.portOf(x, link)
	if out := c.f.Ports[x][port].Out(); c.up[out] && !c.dead[x] {
		c.up[out] = false
		c.passable(link)
		c.noticedChange(x, now)
		c.ask(x, fault, now)
		if c.t.RepairTunnel {
			c.task(now+c.t.PruneDelay, Detour, x, out, link)
		}
		if c.t.LocalPrune {
			if c.t.PruneDelay == 0 {
				c.prune(x, port, now)
			} else {
				c.task(now+c.t.PruneDelay, Prune, x, x, port)
			}
		}
	}
}

// Gain is the adjacency at x's end of a link coming up now.
func (c *Control) Gain(x, link, fault int32, now int64) {
	out := c.f.Ports[x][c.portOf(x, link)].Out()
	if c.up[out] || c.dead[x] {
		return
	}
	c.up[out] = true
	c.ask(x, fault, now)
	c.passable(link)
	if c.bothUp(link) {
		c.rise(link, now)
	}
	c.noticedChange(x, now)
}

// rise begins to use a link on which both ends hold the adjacency.
func (c *Control) rise(link int32, now int64) {
	c.order++
	c.bothAt[link] = c.order
	if c.flooding.underWay > 0 {
		// Only the last time that a link came up counts.
		c.flooding.rises = slices.DeleteFunc(c.flooding.rises, func(r rise) bool { return r.link == link })
		c.flooding.rises = append(c.flooding.rises, rise{link, c.order})
	}
	c.exchange(link, now)
}

// prune drops the next hops over a dead link from every entry, in force or on
// its way, that keeps at least one other.
func (c *Control) prune(x, port int32, now int64) {
	r := &c.routers[x]
	if c.dead[x] || r.frozen || c.up[c.f.Ports[x][port].Out()] {
		return
	}
	w, bit := int(port>>6), uint64(1)<<(port&63)
	if c.ahead.on {
		c.pruneAhead(x, w, bit, port, now)
		return
	}
	for d := int32(0); int(d) < c.f.Leaves; d++ {
		if r.stuck != nil && r.stuck.on[d] {
			if set := r.stuck.believe(c, x, d); set[w]&bit != 0 && others(set, w, bit) {
				set[w] &^= bit
				c.view.Touch(x, d)
				c.Changed = append(c.Changed, Cell{Router: x, Destination: d}) // who is charged for it may be another now
			}
			continue
		}
		if !c.Table.Has(d, x, port) {
			continue
		}
		if others(c.Table.Of(d, x), w, bit) {
			c.Table.Take(d, x, port)
			c.Changed = append(c.Changed, Cell{Router: x, Destination: d, Pruned: true})
			c.view.Touch(x, d)
		}
	}
	for _, list := range [2][]write{r.pending, r.computed} {
		for i := range list {
			if set := list[i].bits(); set[w]&bit != 0 && others(set, w, bit) {
				set[w] &^= bit
				c.view.Touch(x, list[i].dest)
			}
		}
	}
}

// others says whether a set holds more than the one bit of word w.
func others(set []uint64, w int, bit uint64) bool {
	for i, word := range set {
		if i == w {
			word &^= bit
		}
		if word != 0 {
			return true
		}
	}
	return false
}

// Silence takes x's control plane out: it computes, writes and sends nothing,
// and what it knew is lost. It goes on forwarding with the table that it has.
func (c *Control) Silence(x int32, now int64) {
	if c.routers[x].nextAt < now {
		c.conclude(x, now)
	}
	r, b := &c.routers[x], &c.backs[x]
	b.settle(c.spf(x), now, c.bookOf(x))
	if b.spfAt != Never {
		c.bookOf(x).ramp(b.spfAt-b.armed, b.spfAt-now)
	}
	b.reset(c.spf(x), Never)
	for _, port := range c.f.Ports[x] {
		c.up[port.Out()] = false
		c.passable(port.Link)
	}
	if c.ahead.on {
		c.retract(x)
	}
	c.snaps.release(r.next)
	c.unhold(x)
	c.forgetWaiting(x)
	c.ranFrom[x], c.dead[x] = longAgo, true
	c.heard.Forget(x)
	*r = router{frozen: true, overload: r.overload, factor: r.factor, slow: r.slow, stuck: r.stuck, drain: r.drain,
		origin: r.origin, hosts: r.hosts, fault: r.fault, returned: r.returned, stage: r.stage, source: r.source, left: append(r.left, r.pending...),
		run: -1, next: -1, runEnd: longAgo, writeEnd: longAgo,
		busyWindow: r.busyWindow, busySum: r.busySum, busyUntil: now, busyWorst: r.busyWorst}
	c.data.erase(x)
	c.view.Forget(x)
}

// Clear empties x's table.
func (c *Control) Clear(x int32, now int64) {
	r := &c.routers[x]
	if c.ahead.on {
		c.clearAhead(x, now)
	}
	for d := int32(0); int(d) < c.f.Leaves && !c.ahead.on; d++ {
		if !paths.IsEmpty(c.Table.Of(d, x)) {
			c.Table.Put(d, x, c.scratch.none[:c.lay.Words[x]])
			c.Changed = append(c.Changed, Cell{Router: x, Destination: d})
		}
	}
	c.forgetLeft(x)
	c.snaps.release(r.source)
	r.source = -1
	if r.stuck != nil {
		clear(r.stuck.belief)
	}
}

// forgetLeft drops the writes that were left undone.
func (c *Control) forgetLeft(x int32) {
	r := &c.routers[x]
	for i := range r.left {
		c.snaps.release(r.left[i].source)
	}
	r.left = r.left[:0]
}

// Return brings x's control plane back with an empty database and everything at
// rest; its adjacencies are still down. Unless it kept its table, that is empty
// too. A table that was kept stays as it is until the first complete one. waits: it
// carries the overload bit until then.
func (c *Control) Return(x, fault int32, kept, waits bool, now int64) {
	if !kept {
		c.Clear(x, now)
	}
	r := &c.routers[x]
	r.frozen = kept
	c.dead[x] = false
	c.lives[x]++
	r.first, r.stale, r.fault, r.returned = true, true, fault, fault
	c.backs[x].since = now
	c.gens[x] = newGeneration(&c.t.LSPGeneration)
	r.skew = true
	r.unready, r.stage = waits, awaitAdjacency
	c.floodsAll(x, now)
}

// Complete says whether x has had a whole table since it last returned.
func (c *Control) Complete(x int32) bool { return c.routers[x].stage == settled }

// ready ends the overload bit of a router that returned.
func (c *Control) ready(x int32, now int64) {
	r := &c.routers[x]
	if c.dead[x] || r.stage != inWriting || r.readyAt != now {
		return
	}
	r.stage, r.frozen = settled, false
	if c.Owing[x] > 0 {
		c.Concluded = append(c.Concluded, x, x) // twice: those that are on their way too
	}
	if r.unready {
		r.unready = false
		c.ask(x, r.fault, now)
	}
}

// DrainLink raises or restores the metric that x sends for a link.
func (c *Control) DrainLink(x, link int32, on bool, fault int32, now int64) {
	port := c.portOf(x, link)
	if c.routers[x].drain[port] == on {
		return
	}
	c.routers[x].drain[port] = on
	if !c.dead[x] {
		c.ask(x, fault, now)
	}
}

// DrainRouter sets or clears x's overload bit. A bit that is configured stays.
func (c *Control) DrainRouter(x int32, on, configured bool, fault int32, now int64) {
	r := &c.routers[x]
	if r.overload == (on || configured) {
		return
	}
	r.overload = on || configured
	if !c.dead[x] && !r.unready { // a router that is not ready carries the bit anyway
		c.ask(x, fault, now)
	}
}

// Do carries out a task.
func (c *Control) Do(t Task, now int64) {
	switch t.Kind {
	case Originate:
		c.originate(t.A, now)
	case Expire:
		c.expire(t.A, now)
	case Start:
		c.begin(t.A, now)
	case EndRun:
		c.endRun(t.A, now)
	case Write:
		c.write(t.A, now)
	case Prune:
		c.prune(t.A, t.B, now)
	case Arrive:
		c.arrive(t.A, t.B, now)
	case Cross:
		c.crossed(t.B, now)
	case Token:
		c.token(now)
	case Ready:
		c.ready(t.A, now)
	case Redraw:
		c.redraw(now)
	}
}
