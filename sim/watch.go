package sim

import (
	"halflight/model/failure"
	"halflight/sim/detection"
	"halflight/sim/kernel"
)

// watch is what the operator's side knows of a fault.
type watch struct {
	ticket    int32 // -1 for none
	tries     int   // sightings so far
	complaint detection.Complaint
	gen       uint32
	slow      float64 // share that the fault alone made slow at the leaf it hits worst
	seen      bool
}

// session is one direction's session that may lose too many packets in a row.
type session struct {
	fault int32
	law   *detection.Session
	draws int
}

// unitOf returns the unit that a fault is of, and what it draws for; a fault of
// the script has one of its own.
func (e *engine) unitOf(id int32) (*unit, *modePurposes) {
	f := &e.faults[id]
	if f.unit < 0 {
		return &unit{owner: kernel.OwnerOf(15, uint32(id), 0, 0, 0, 0, 0)}, &e.scriptPurposes
	}
	u := &e.chance.units[f.unit]
	return u, &e.chance.modes[u.mode]
}

// begunByChance starts what follows the onset of a fault.
func (e *engine) begunByChance(id int32) {
	c := e.chance
	if c == nil {
		return
	}
	f := &e.faults[id]
	c.counts.begin(e, id)
	e.eachPart(f, func(i int) { c.lastOn[i] = e.now })
	switch {
	case e.wasForeseen(id):
		e.mayFall(id)
	case f.Kind.Gray():
		c.fresh = append(c.fresh, id)
		e.lookOut(id)
		e.mayFall(id)
	case f.Kind == failure.Hard:
		// Somebody notices even if the routers never do.
		unseen := int64(1_800_000_000_000)
		if len(f.access) > 0 {
			unseen = e.t.Signal
		}
		e.push(e.now+unseen, rankOperator, 0, 0, kernel.Event{Kind: sight, A: id, B: -1})
	}
}

// closedByChance is the end of a fault.
func (e *engine) closedByChance(id int32) {
	c := e.chance
	if c == nil {
		return
	}
	f := &e.faults[id]
	c.counts.end(e, id)
	e.eachPart(f, func(i int) { c.lastOn[i] = e.now })
	w := &c.watching[id]
	w.gen++
	if w.ticket >= 0 {
		c.operator.End(w.ticket, e.now)
		w.ticket = -1
	}
	if f.Kind.Gray() {
		e.soundAgain(id)
	}
	if f.unit >= 0 {
		c.units[f.unit].early, c.units[f.unit].fault = -1, -1
		e.renew(f.unit)
	}
}

// directionsOf lists the directions that a gray fault is on.
func (e *engine) directionsOf(f *fault) []int32 {
	out := append([]int32(nil), f.directions...)
	for _, l := range f.links {
		out = append(out, 2*l, 2*l+1)
	}
	return out
}

// lookOut draws when each instrument sights a gray fault that begins, or is
// still there, now.
func (e *engine) lookOut(id int32) {
	c := e.chance
	w := &c.watching[id]
	w.gen++
	w.tries++
	u, p := e.unitOf(id)
	for i := range e.w.Operation.Instruments {
		ins := &e.w.Operation.Instruments[i]
		from, at := max(e.now, e.switchedOn(i)), Never
		if c.watches[i] != nil {
			at = e.looks(id, i, u, from)
		} else {
			w.complaint = detection.NewComplaint(c.draw(p.complain, u, w.tries), from)
			if w.slow > 0 {
				at = w.complaint.Advance(from, detection.Hazard(ins, w.slow))
			}
		}
		if at != Never {
			e.push(at, rankOperator, 0, 0, kernel.Event{Kind: sight, A: id, B: int32(i), Gen: w.gen})
		}
	}
}

// looks is when an instrument sights a fault: the first of its directions.
func (e *engine) looks(id int32, i int, u *unit, from int64) int64 {
	c := e.chance
	f := &e.faults[id]
	row := len(c.sights) - 1
	if f.mode >= 0 && int(f.mode) < row {
		row = int(f.mode)
	}
	p := &c.sights[row][i]
	at := Never
	for k, d := range e.directionsOf(f) {
		s := detection.Sight{Condition: &f.Condition, Way: e.wayOf(d), From: from, Phase: c.stream.Uniform(c.clocks[i], linkOwner(e.f, d>>1), uint64(d&1)),
			Blind: c.draw(p.blind, u, 0), Flow: c.draw(p.flow, u, k), U: c.draw(p.when, u, c.watching[id].tries*1024+k)}
		at = min(at, c.watches[i].Sighted(&s))
	}
	return at
}

// settledByChance looks, after an onset has been settled, how much it hurts:
// that is what users complain about.
func (e *engine) settledByChance() {
	c := e.chance
	if c == nil || len(c.fresh) == 0 {
		return
	}
	for _, id := range c.fresh {
		w := &c.watching[id]
		w.slow = e.aloneSlow(&e.faults[id])
		for i := range e.w.Operation.Instruments {
			ins := &e.w.Operation.Instruments[i]
			if c.watches[i] != nil || w.slow == 0 {
				continue
			}
			if at := w.complaint.Advance(max(e.now, e.switchedOn(i)), detection.Hazard(ins, w.slow)); at < e.until {
				e.push(max(at, e.now+1), rankOperator, 0, 0, kernel.Event{Kind: sight, A: id, B: int32(i), Gen: w.gen})
			}
		}
	}
	c.fresh = c.fresh[:0]
}

// aloneSlow is the share of units of the first class that a gray fault alone
// makes slow at the leaf it hits worst, with all tables as they are at rest: of
// a leaf's units, those whose request or reply crosses a direction of the fault.
func (e *engine) aloneSlow(f *fault) float64 {
	if len(e.w.Classes) == 0 {
		return 0
	}
	worst, n := 0.0, float64(e.f.Leaves-1)
	through := map[int32]float64{}
	for _, d := range e.directionsOf(f) {
		x, y := e.f.From(d), e.f.To(d)
		hit := 1 - e.passes(f, 1, d)
		switch {
		case int(x) < e.f.Leaves: // a leaf's uplink carries its share of all that it sends
			through[x] += hit / float64(len(e.f.Ports[x]))
			worst = max(worst, through[x])
		case int(y) < e.f.Leaves: // and the other way round
			through[y] += hit / float64(len(e.f.Ports[y]))
			worst = max(worst, through[y])
		default: // between spines and tops: the leaves of the pod share it
			ways := float64(e.f.Ways())
			far := n + 1 - float64(e.f.Shape.Leaves)
			through[-1] += hit / ways * far / n
			worst = max(worst, through[-1])
		}
	}
	return min(worst, 1)
}
