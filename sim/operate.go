package sim

import (
	"halflight/model/failure"
	"halflight/sim/detection"
	"halflight/sim/kernel"
	"halflight/sim/repair"
)

// believed tells the operator of an end of an adjacency that went down or came
// up, and opens a ticket for a hard fault that is noticed by it.
func (e *engine) believed(x, link int32, up bool) {
	c := e.chance
	if c == nil {
		return
	}
	end := 2 * link
	if e.f.From(end) != x {
		end++
	}
	c.operator.Believe(end, up, e.now)
	if up {
		e.risen(link)
		return
	}
	if cause := e.ledger.Truth.LinkFault[link]; cause >= 0 && e.faults[cause].Kind == failure.Hard {
		e.report(cause)
	}
}

// report opens the ticket of a hard fault.
func (e *engine) report(id int32) {
	c := e.chance
	f, w := &e.faults[id], &c.watching[id]
	if w.ticket >= 0 || w.seen || f.over || f.unit < 0 {
		return
	}
	w.seen = true
	c.counts.sighted(e, id, -1)
	w.ticket = c.operator.Open(repair.Ticket{Fault: id, Links: f.links, Routers: f.routers, Down: true, Attempts: e.attempts(id, true)}, e.now)
}

// attempts draws the visits that a repair takes.
func (e *engine) attempts(id int32, guided bool) []repair.Attempt {
	c := e.chance
	u, p := e.unitOf(id)
	m := &e.w.Modes[e.faults[id].mode]
	const most = 16
	var out []repair.Attempt
	for k := range most {
		n := c.watching[id].tries*most + k
		a := repair.Attempt{
			Lead:    kernel.Nanoseconds(quantile(&m.Lead, c.draw(p.lead, u, n))),
			HandsOn: kernel.Nanoseconds(quantile(&m.HandsOn, c.draw(p.hands, u, n))),
			Works:   c.operator.Works(guided, c.draw(p.works, u, n)) || k == most-1,
		}
		if e.faults[id].Kind == failure.Hard && len(e.faults[id].routers) > 0 {
			a.Works = true // a router is replaced whole
		}
		out = append(out, a)
		if a.Works {
			break
		}
	}
	return out
}

// sighted is an instrument noticing a fault, or for a hard one the end of
// everybody's patience.
func (e *engine) sighted(id, instrument int32, gen uint32) {
	c := e.chance
	f, w := &e.faults[id], &c.watching[id]
	if f.over || f.unit < 0 {
		return
	}
	if instrument < 0 {
		e.report(id)
		return
	}
	if w.gen != gen || w.ticket >= 0 {
		return
	}
	ins := &e.w.Operation.Instruments[instrument]
	u, p := e.unitOf(id)
	if !w.seen {
		w.seen = true
		c.counts.sighted(e, id, instrument)
		e.ledger.Note(id, e.now)
	}
	c.counts.sightings++
	if e.tale != nil {
		e.tell("%s sights %s on %s", ins.Name, f.Kind, f.on)
	}
	t := repair.Ticket{Fault: id, Links: e.linksOf(f), Attempts: e.attempts(id, ins.WrongLink == 0),
		Reaction: kernel.Nanoseconds(quantile(&e.w.Operation.Reaction, c.draw(p.reaction, u, w.tries)))}
	if c.draw(p.wrong, u, w.tries) < ins.WrongLink && len(t.Links) > 0 {
		link := t.Links[0]
		if other := detection.WrongLink(e.f, e.f.Links[link].Lower, link, c.draw(p.other, u, w.tries)); other >= 0 {
			t.Links, t.Wrong = []int32{other}, true
		}
	}
	w.ticket = c.operator.Open(t, e.now)
}

// linksOf lists the links that a gray fault is on.
func (e *engine) linksOf(f *fault) []int32 {
	out := append([]int32(nil), f.links...)
	for _, d := range f.directions {
		out = append(out, d>>1)
	}
	return out
}

// act carries out what the operator does.
func (e *engine) act() {
	c := e.chance
	for i := 0; i < len(c.operator.Actions); i++ {
		a := c.operator.Actions[i]
		if e.tale != nil {
			e.tellAction(a)
		}
		switch a.Deed {
		case repair.DrainLink:
			e.takeOut(a.Part, true)
			if f := &e.faults[a.Fault]; !a.Wrong && f.outAt < 0 {
				f.outAt = e.now
			}
		case repair.UndrainLink:
			e.takeOut(a.Part, false)
		case repair.DrainRouter, repair.UndrainRouter:
			e.takeRouterOut(a.Part, a.Deed == repair.DrainRouter)
		case repair.Repaired:
			e.mended(a.Fault)
		case repair.Closed:
			w := &c.watching[a.Fault]
			if w.ticket == a.Ticket {
				w.ticket = -1
			}
			if a.Wrong && !e.faults[a.Fault].over {
				e.lookOut(a.Fault) // it is still there, and can be sighted again
			}
		}
	}
	c.operator.Actions = c.operator.Actions[:0]
	for _, t := range c.operator.Tasks {
		e.push(t.At, rankOperator, 0, 1, kernel.Event{Kind: operate, Sub: uint8(t.Kind), A: t.A, Gen: t.Gen})
	}
	c.operator.Tasks = c.operator.Tasks[:0]
}

// mended ends a fault that was repaired.
func (e *engine) mended(id int32) {
	f := &e.faults[id]
	if f.over {
		return
	}
	if f.outAt < 0 && f.Kind.Gray() {
		f.outAt = e.now
	}
	e.chance.watching[id].ticket = -1
	e.outside = true
	e.step(id, stepEnd)
	e.commit()
}

// takeOut begins or ends the drain of a link. The drain is kept as a fault of
// its own, so that what it costs has an account.
func (e *engine) takeOut(link int32, on bool) {
	c := e.chance
	e.outside = true
	if on {
		c.drains[link] = e.openDrain(fault{links: []int32{link}, on: e.f.Links[link].Name})
	}
	id := c.drains[link]
	e.drainSender(2*link, id, on)
	e.drainSender(2*link+1, id, on)
	e.closeDrain(id, on)
	if !on {
		c.drains[link] = -1
	}
	e.applyTruth()
	e.ledger.Retry()
}

func (e *engine) takeRouterOut(x int32, on bool) {
	c := e.chance
	e.outside = true
	if on {
		c.drainsOf[x] = e.openDrain(fault{routers: []int32{x}, on: e.f.Routers[x].Name})
	}
	e.drainRouter(x, c.drainsOf[x], on)
	e.closeDrain(c.drainsOf[x], on)
	if !on {
		c.drainsOf[x] = -1
	}
	e.applyTruth()
	e.ledger.Retry()
}

func (e *engine) openDrain(f fault) int32 {
	f.Kind, f.mode, f.unit = failure.Drain, int32(len(e.w.Modes)), -1
	f.onset, f.end = e.now, Never
	f.begun = true
	id := e.keepFault(f)
	e.inForce = append(e.inForce, id)
	return id
}

func (e *engine) closeDrain(id int32, on bool) {
	if on {
		return
	}
	f := &e.faults[id]
	f.over, f.end = true, e.now
	e.ledger.Close(id, e.now)
	e.inForce = remove(e.inForce, id)
}
