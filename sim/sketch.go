package sim

import (
	"slices"

	"halflight/model"
	"halflight/model/failure"
	"halflight/sim/glance"
	"halflight/sim/record"
)

// Sketch plays one replication without routers: the same faults, instruments and
// operator, by the same draws, and what gray faults do to applications to first
// order (see package glance). Routers notice what is dead, or falsely down, at
// once; nothing is lost while they converge. Of the record, what is said of
// routers, loss and convergence is empty.
func Sketch(stop <-chan struct{}, w *model.World, seed uint64, number uint32) (record.Replication, bool) {
	e := newRandom(w, seed, number, sketched)
	e.stop = stop
	if e.run(); e.stopped {
		return record.Replication{}, false
	}
	return e.record(number), true
}

func newSketch(w *model.World) []*glance.Book {
	planes := planesOf(w)
	books := make([]*glance.Book, len(planes))
	for i := range planes {
		books[i] = glance.New(w.Fabric, planes[i], w.WarmUp)
	}
	return books
}

// commitSketch makes the sketch follow the steps taken at this instant.
func (e *engine) commitSketch() {
	b := &e.body
	slices.Sort(b.dirtyRouters)
	for _, x := range slices.Compact(b.dirtyRouters) {
		b.dead[x] = len(b.onRouter[x]) > 0
		e.chance.operator.Away(x, b.dead[x])
		for _, p := range e.f.Ports[x] {
			b.touchLink(p.Link)
		}
	}
	b.dirtyRouters = b.dirtyRouters[:0]
	slices.Sort(b.dirtyLinks)
	for _, l := range b.dirtyLinks {
		b.isDirtyLink[l] = false
		e.sketchBelief(l)
		e.darken(l)
	}
	b.dirtyLinks = b.dirtyLinks[:0]
	for _, id := range b.stepped {
		if f := &e.faults[id]; f.Kind == failure.Hard && !f.over && (!f.Light || e.clocked()) {
			e.report(id)
		}
	}
	b.stepped = b.stepped[:0]
}

// sketchFall is a session that lossy packets take down, or its coming up again.
func (e *engine) sketchFall(l int32, down bool) {
	e.body.falseDown[l] = down
	e.sketchBelief(l)
}

// sketchBelief tells the operator how a link stands, and works out what it does.
func (e *engine) sketchBelief(l int32) {
	up := e.passesAt(l)
	e.chance.operator.Believe(2*l, up, e.now)
	e.chance.operator.Believe(2*l+1, up, e.now)
	e.sketchLink(l)
}

// passesAt says whether a link and both its routers are alive, and its sessions
// get through.
func (e *engine) passesAt(l int32) bool {
	if e.body.falseDown[l] || !e.alive(l) {
		return false
	}
	for d := 2 * l; d <= 2*l+1 && e.clocked(); d++ {
		for _, id := range e.body.onDirection[d] {
			if e.blocks(id, d) {
				return false
			}
		}
	}
	return true
}

// sketchLink works out what the two directions of a link do to units of work:
// nothing if it is dead or drained, since traffic goes elsewhere.
func (e *engine) sketchLink(l int32) {
	out := !e.passesAt(l) || e.chance.operator.Drained(l)
	for d := 2 * l; d <= 2*l+1; d++ {
		for class, book := range e.sketch {
			pass := 1.0
			if !out {
				for _, id := range e.body.onDirection[d] {
					pass = float64(pass * e.passes(&e.faults[id], class+1, d))
				}
			}
			book.Set(d, 1-pass, e.now)
		}
	}
}

// recordSketch reads what classes felt.
func (e *engine) recordSketch(r *record.Replication) {
	r.StateTime = make([]float64, len(e.w.BackoffStates()))
	e.recordApplications(r, func(i int) felt {
		return func(leaf int32) (float64, int64) { return e.sketch[i].Slow(leaf, e.until) }
	}, float64(r.To-r.From))
}

// note says that a gray fault was sighted for the first time.
func (e *engine) note(id int32) {
	if e.sketch == nil {
		e.ledger.Note(id, e.now)
	}
}
