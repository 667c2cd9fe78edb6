package sim

import (
	"halflight/model"
	"halflight/model/chance"
	"halflight/model/failure"
	"halflight/sim/detection"
	"halflight/sim/kernel"
	"halflight/sim/repair"
)

// siteOf is what crosses the links of a world's fabric at rest.
func siteOf(w *model.World) *detection.Site {
	f, c := w.Fabric, w.Fabric.Shape
	rest, bits := w.Traffic.Rest(f, w.Traffic.Load), 8*w.Traffic.Sizes.Mean()
	s := &detection.Site{Leaves: f.Leaves, Demand: &w.Traffic}
	s.Ways[0] = detection.Way{Pairs: 2 * (f.Leaves - 1), Share: 1 / float64(max(c.Spines*c.Parallel, 1)), Packets: rest.LeafSpine / bits}
	s.Ways[1] = detection.Way{Pairs: 2 * c.Leaves * (f.Leaves - c.Leaves), Share: 1 / float64(max(f.Ways(), 1)), Packets: rest.SpineTop / bits, Class: 1}
	for i := range f.Links {
		s.Ways[wayClass(f.Leaves, f.Links[i].Lower)].Number += 2
	}
	return s
}

// wayClass is the class of a link by its lower end.
func wayClass(leaves int, lower int32) int {
	if int(lower) < leaves {
		return 0
	}
	return 1
}

// wayOf is what crosses a direction at rest.
func (e *engine) wayOf(d int32) detection.Way {
	return e.chance.site.Ways[wayClass(e.f.Leaves, e.f.Links[d>>1].Lower)]
}

// nameDraws gives the draws of the instruments their purposes: by their names,
// so that one more or less leaves those of the others as they were.
func (e *engine) nameDraws() {
	c := e.chance
	names := make([]string, 0, len(e.w.Modes)+1)
	for i := range e.w.Modes {
		names = append(names, e.w.Modes[i].Name)
	}
	for _, mode := range append(names, "script") {
		var row []sightPurposes
		for i := range e.w.Operation.Instruments {
			ins := e.w.Operation.Instruments[i].Name
			row = append(row, sightPurposes{kernel.PurposeOf("blind", ins, mode), kernel.PurposeOf("flow", ins, mode), kernel.PurposeOf("sight", ins, mode)})
		}
		c.sights = append(c.sights, row)
	}
	for i := range e.w.Operation.Instruments {
		c.clocks = append(c.clocks, kernel.PurposeOf("clock", e.w.Operation.Instruments[i].Name))
	}
}

// switchedOn is the instant from which an instrument is there.
func (e *engine) switchedOn(i int) int64 {
	if from := e.w.Operation.Instruments[i].From; from >= 0 {
		return e.w.WarmUp + from
	}
	return 0
}

// Tickets that are about no fault have a number below 0.
const noFault = -1

// unitTicket is the number of a ticket about a unit whose fault is yet to come;
// by the same rule, the unit of such a number.
func unitTicket(id int32) int32 { return -2 - id }

// foreseen is when the first instrument sees a unit's next onset coming, and
// which; Never if none does before it.
func (e *engine) foreseen(u *unit, onset, now int64) (at int64, by int32) {
	c := e.chance
	m, p := &e.w.Modes[u.mode], &c.modes[u.mode]
	at, by = Never, -1
	if m.Drift <= 0 {
		return at, by
	}
	next := *u
	next.count++
	if c.draw(p.drift, &next, 0) >= m.Drift {
		return at, by
	}
	over := kernel.Nanoseconds(quantile(&m.DriftOver, c.draw(p.over, &next, 0)))
	lost := 1.0 // a dead receiver
	if m.Kind == failure.Lossy {
		lost = min(quantile(&m.Loss, c.draw(p.loss, &next, 0)), 1)
	}
	side := uint64(0)
	if c.draw(p.side, &next, 0) < 0.5 {
		side = 1
	}
	for i, w := range c.watches {
		if w == nil {
			continue
		}
		phase := c.stream.Uniform(c.clocks[i], linkOwner(e.f, u.part), side)
		if t := detection.Foreseen(w, lost, over, onset, max(now, e.switchedOn(i)), phase); t < at {
			at, by = t, int32(i)
		}
	}
	return at, by
}

// foresaw is an instrument that sees an onset coming: a ticket like any other,
// but the link still passes all.
func (e *engine) foresaw(id, instrument int32, number uint32) {
	c := e.chance
	u := &c.units[id]
	if u.count+1 != number || u.early >= 0 {
		return
	}
	ins := &e.w.Operation.Instruments[instrument]
	p := &c.modes[u.mode]
	next := *u
	next.count++
	c.counts.by[instrument].Sightings++
	if e.tale != nil {
		e.tell("%s sees the receiver of %s drift", ins.Name, e.f.Links[u.part].Name)
	}
	t := repair.Ticket{Fault: unitTicket(id), Links: []int32{u.part}, Attempts: e.visits(&next, 0, ins.WrongLink == 0, e.wornOut(u)),
		Reaction: kernel.Nanoseconds(quantile(&e.w.Operation.Reaction, c.draw(p.reaction, &next, 0)))}
	e.misname(&t, ins.WrongLink, &next, 0)
	ticket := c.operator.Open(t, e.now)
	if !t.Wrong {
		u.early, u.earlyBy = ticket, instrument
	}
}

// wasForeseen takes over the ticket that was open before a fault began, and
// says whether there was one.
func (e *engine) wasForeseen(id int32) bool {
	c := e.chance
	f := &e.faults[id]
	if f.unit < 0 || c.units[f.unit].early < 0 {
		return false
	}
	u, w := &c.units[f.unit], &c.watching[id]
	u.fault = id
	w.ticket, w.seen = u.early, true
	c.counts.sighted(e, id, u.earlyBy)
	e.note(id)
	if c.operator.Drained(u.part) && f.Kind.Gray() {
		f.outAt = e.now
	}
	return true
}

// averted is a part repaired before its fault came: it lives on as good as new.
func (e *engine) averted(id int32) {
	u := &e.chance.units[id]
	u.early = -1
	u.count++
	e.chance.counts.averted++
	e.renew(id)
}

// faultOf is the fault that a ticket's number stands for, -1 for none, and the
// unit of one that is yet to come, -1 for none.
func (e *engine) faultOf(number int32) (fault, unit int32) {
	switch {
	case number >= 0:
		return number, -1
	case number == noFault:
		return -1, -1
	}
	id := unitTicket(number)
	return e.chance.units[id].fault, id
}

// nextFalseAlarm makes the next false alarm of an instrument due, the k-th.
func (e *engine) nextFalseAlarm(i, k int32) {
	c := e.chance
	if c.watches[i] == nil {
		return
	}
	u := c.stream.Uniform(kernel.PurposeOf("false alarm", e.w.Operation.Instruments[i].Name), anywhere, uint64(k))
	from := max(e.now, e.switchedOn(int(i)), 0)
	if after := detection.NextFalse(c.watches[i].FalseRate(), u); after < e.until-from {
		e.push(from+max(after, 1), rankOperator, 0, 0, kernel.Event{Kind: phantom, A: i, B: k})
	}
}

// anywhere owns draws that belong to no part.
var anywhere = kernel.OwnerOf(14, 0, 0, 0, 0, 0, 0)

// falseAlarm is an instrument that names a sound link: it is drained, and a
// technician looks at it and finds nothing.
func (e *engine) falseAlarm(i, k int32) {
	c := e.chance
	ins := &e.w.Operation.Instruments[i]
	e.nextFalseAlarm(i, k+1)
	draw := func(n uint64) float64 {
		return c.stream.Uniform(kernel.PurposeOf("false alarm about", ins.Name), anywhere, uint64(k)<<8|n)
	}
	link := min(int32(float64(draw(0)*float64(len(e.f.Links)))), int32(len(e.f.Links)-1))
	c.counts.by[i].FalseAlarms++
	if e.tale != nil {
		e.tell("%s alarms falsely about %s", ins.Name, e.f.Links[link].Name)
	}
	lead, hands := failure.DefaultRepair(failure.Lossy, failure.OnLink)
	visit := repair.Attempt{Lead: e.lasts(&lead, draw(1)), HandsOn: e.lasts(&hands, draw(2))}
	c.operator.Open(repair.Ticket{Fault: noFault, Links: []int32{link}, Wrong: true,
		Reaction: e.lasts(&e.w.Operation.Reaction, draw(3)), Attempts: []repair.Attempt{visit}}, e.now)
}

// lasts draws a time from a law.
func (e *engine) lasts(l *chance.Law, u float64) int64 { return kernel.Nanoseconds(quantile(l, u)) }
