package sim

import (
	"halflight/model/chance"
	"halflight/model/failure"
	"halflight/model/operation"
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
	u, _ := e.unitOf(id)
	f := &e.faults[id]
	surely := f.Kind == failure.Hard && len(f.routers) > 0 // a router is replaced whole
	if f.unit >= 0 && e.wornOut(&e.chance.units[f.unit]) {
		surely = true
	}
	return e.visits(u, e.chance.watching[id].tries, guided, surely)
}

// visits draws the visits of one ticket of a unit; surely: the first works.
func (e *engine) visits(u *unit, tries int, guided, surely bool) []repair.Attempt {
	c := e.chance
	m, p := &e.w.Modes[u.mode], &c.modes[u.mode]
	var out []repair.Attempt
	for k := range operation.MostVisits {
		n := tries*operation.MostVisits + k
		a := repair.Attempt{
			Lead:    e.lasts(&m.Lead, c.draw(p.lead, u, n)),
			HandsOn: e.lasts(&m.HandsOn, c.draw(p.hands, u, n)),
			Works:   c.operator.Works(guided, c.draw(p.works, u, n)) || k == operation.MostVisits-1 || surely,
		}
		out = append(out, a)
		if a.Works {
			break
		}
	}
	return out
}

// wornOut counts a ticket of a unit, and says whether the part is given up with
// it: it is replaced whole, and is no frailer than any other from then on.
func (e *engine) wornOut(u *unit) bool {
	c, limit := e.chance, e.w.Operation.Replace
	c.counts.tickets++
	if u.lastSeen > 0 && e.now-u.lastSeen < repeatWithin {
		c.counts.repeats++
	}
	u.lastSeen = e.now
	if limit.Tickets == 0 {
		return false
	}
	u.tickets = append(u.tickets, e.now)
	for len(u.tickets) > 0 && u.tickets[0] <= e.now-limit.Within {
		u.tickets = u.tickets[1:]
	}
	if len(u.tickets) < limit.Tickets {
		return false
	}
	u.tickets = u.tickets[:0]
	u.replaced++
	c.counts.replaced++
	m := &e.w.Modes[u.mode]
	if u.rate = 1; m.Frailty.Family != chance.Fixed {
		u.rate = quantile(&m.Frailty, c.stream.Uniform(c.modes[u.mode].frailty, u.owner, uint64(u.replaced)))
	}
	return true
}

// repeatWithin is the time within which another ticket of the same part makes it
// a repeat offender: 90 d, our choice.
const repeatWithin = 90 * 86400 * int64(1e9)

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
		e.note(id)
	}
	c.counts.sightings++
	c.counts.by[instrument].Sightings++
	if e.tale != nil {
		e.tell("%s sights %s on %s", ins.Name, f.Kind, f.on)
	}
	t := repair.Ticket{Fault: id, Links: e.linksOf(f), Attempts: e.attempts(id, ins.WrongLink == 0),
		Reaction: kernel.Nanoseconds(quantile(&e.w.Operation.Reaction, c.draw(p.reaction, u, w.tries)))}
	e.misname(&t, ins.WrongLink, u, w.tries)
	w.ticket = c.operator.Open(t, e.now)
}

// misname makes a share of the tickets name another link of the same router.
func (e *engine) misname(t *repair.Ticket, share float64, u *unit, tries int) {
	c := e.chance
	p := &c.modes[u.mode]
	if c.draw(p.wrong, u, tries) >= share || len(t.Links) == 0 {
		return
	}
	link := t.Links[0]
	if other := detection.WrongLink(e.f, e.f.Links[link].Lower, link, c.draw(p.other, u, tries)); other >= 0 {
		t.Links, t.Wrong = []int32{other}, true
	}
}

// linksOf lists the links that a fault is on, or a direction of which, not those of its routers.
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
			if id, _ := e.faultOf(a.Fault); id >= 0 && !a.Wrong && e.faults[id].outAt < 0 {
				e.faults[id].outAt = e.now
			}
		case repair.UndrainLink:
			e.takeOut(a.Part, false)
		case repair.DrainRouter, repair.UndrainRouter:
			e.takeRouterOut(a.Part, true, a.Deed == repair.DrainRouter)
		case repair.DrainPorts, repair.UndrainPorts:
			e.takeRouterOut(a.Part, false, a.Deed == repair.DrainPorts)
		case repair.Restart:
			e.restart(&a.Visit)
		case repair.Repaired:
			c.counts.repairs++
			if id, unit := e.faultOf(a.Fault); id >= 0 {
				e.mended(id)
			} else if unit >= 0 {
				e.averted(unit)
			}
		case repair.Begin:
			c.counts.visits++
		case repair.Closed:
			id, _ := e.faultOf(a.Fault)
			if id < 0 {
				break
			}
			w := &c.watching[id]
			if w.ticket == a.Ticket {
				w.ticket = -1
			}
			if a.Wrong && !e.faults[id].over && a.Fault >= 0 {
				e.lookOut(id) // it is still there, and can be sighted again
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

// takeOut begins or ends the drain of a link.
func (e *engine) takeOut(link int32, on bool) {
	c := e.chance
	if e.routerless() {
		e.sketchLink(link)
		c.early[link] = on
		return
	}
	e.drainOf(&c.drains[link], fault{links: []int32{link}, on: e.f.Links[link].Name}, on)
}

// takeRouterOut begins or ends the drain of a router for planned work, which is never
// done before the routers are played: by its overload bit, or by the metrics of all
// its links at both ends.
func (e *engine) takeRouterOut(x int32, byBit, on bool) {
	if e.routerless() {
		for _, p := range e.f.Ports[x] {
			e.sketchLink(p.Link)
		}
		return
	}
	f := fault{on: e.f.Routers[x].Name}
	if byBit {
		f.routers = []int32{x}
	} else {
		for _, p := range e.f.Ports[x] {
			f.links = append(f.links, p.Link)
		}
	}
	e.drainOf(&e.chance.drainsOf[x], f, on)
}

// drainOf begins a drain of the operator's, or ends the one that stands at a place.
// It is kept as a fault of its own, so that what it costs has an account.
func (e *engine) drainOf(at *int32, f fault, on bool) {
	e.outside = true
	if on {
		*at = e.openDrain(f)
	}
	e.drainParts(*at, on)
	if !on {
		e.closeDrain(*at)
		*at = -1
	}
	e.applyTruth()
	e.ledger.Retry()
}

func (e *engine) openDrain(f fault) int32 {
	f.Kind, f.mode, f.unit = failure.Drain, int32(len(e.w.Modes)), -1
	f.onset, f.end = e.now, Never
	f.begun = true
	id := e.keepFault(f)
	e.ledger.Turn(id, e.now)
	e.inForce = append(e.inForce, id)
	return id
}

func (e *engine) closeDrain(id int32) {
	f := &e.faults[id]
	f.over, f.end = true, e.now
	e.ledger.Turn(id, e.now)
	e.ledger.Close(id, e.now)
	e.inForce = remove(e.inForce, id)
}
