package sim

import (
	"halflight/model/failure"
	"halflight/model/operation"
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
	case f.Kind.Gray():
		c.fresh = append(c.fresh, id)
		e.lookOut(id)
		e.mayFall(id)
	case f.Kind == failure.Hard:
		// Somebody notices even if the routers never do.
		const unseen = 1_800_000_000_000
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
	f := &e.faults[id]
	u, p := e.unitOf(id)
	for i := range e.w.Operation.Instruments {
		ins := &e.w.Operation.Instruments[i]
		at := Never
		switch ins.Kind {
		case operation.Polling:
			for _, d := range e.directionsOf(f) {
				phase := kernel.Nanoseconds(float64(ins.Every) * c.stream.Uniform(p.phase, linkOwner(e.f, d>>1), uint64(i)))
				at = min(at, detection.Polled(ins, &f.Condition, phase, e.now))
			}
		case operation.Probes:
			at = e.probed(id, i, ins, u, p)
		case operation.Complaints:
			w.complaint = detection.NewComplaint(c.draw(p.complain, u, w.tries), e.now)
			if w.slow > 0 {
				at = w.complaint.Advance(e.now, detection.Hazard(ins, w.slow))
			}
		}
		if at != Never {
			e.push(at, rankOperator, 0, 0, kernel.Event{Kind: sight, A: id, B: int32(i), Gen: w.gen})
		}
	}
}

// probed is when active probes sight a fault: the first of its directions.
func (e *engine) probed(id int32, i int, ins *operation.Instrument, u *unit, p *modePurposes) int64 {
	c := e.chance
	f := &e.faults[id]
	rule := c.probing[i]
	at := Never
	for k, d := range e.directionsOf(f) {
		n := (c.watching[id].tries*256 + k) * 4
		loss := rule.Loss(&f.Condition, c.draw(p.probe, u, n))
		phase := kernel.Nanoseconds(c.stream.Uniform(p.phase, linkOwner(e.f, d>>1), uint64(1000+2*i)+uint64(d&1)) * 1e9 / ins.Rate)
		at = min(at, rule.Sighted(c.draw(p.probe, u, n+1), loss, phase, e.now))
	}
	return at
}

// settledByChance looks, after an onset has been settled, how much it hurts:
// that is what users complain about.
func (e *engine) settledByChance() {
	c := e.chance
	if c == nil {
		return
	}
	c.series.Share(e.now, e.ledger.Share())
	if len(c.fresh) == 0 {
		return
	}
	for _, id := range c.fresh {
		w := &c.watching[id]
		w.slow = e.aloneSlow(&e.faults[id])
		for i := range e.w.Operation.Instruments {
			ins := &e.w.Operation.Instruments[i]
			if ins.Kind != operation.Complaints || w.slow == 0 {
				continue
			}
			if at := w.complaint.Advance(e.now, detection.Hazard(ins, w.slow)); at < e.until {
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
	hit := 1 - e.passes(f, 1)
	worst, n := 0.0, float64(e.f.Leaves-1)
	through := map[int32]float64{}
	for _, d := range e.directionsOf(f) {
		x, y := e.f.From(d), e.f.To(d)
		switch {
		case int(x) < e.f.Leaves: // a leaf's uplink carries its share of all that it sends
			through[x] += hit / float64(len(e.f.Ports[x]))
			worst = max(worst, through[x])
		case int(y) < e.f.Leaves: // and the other way round
			through[y] += hit / float64(len(e.f.Ports[y]))
			worst = max(worst, through[y])
		default: // between spines and tops: the leaves of the pod share it
			ways := float64(e.f.Shape.Spines * max(1, e.f.Shape.Tops))
			far := n + 1 - float64(e.f.Shape.Leaves)
			through[-1] += hit / ways * far / n
			worst = max(worst, through[-1])
		}
	}
	return min(worst, 1)
}
