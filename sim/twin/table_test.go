package twin

import (
	"cmp"
	"slices"
)

// entry is what a router does with packets for one leaf, and why.
type entry struct {
	hops []int
	from *source
}

// run is one SPF run under way: computed, not yet written.
type run struct {
	result   [][]int
	from     *source
	complete bool  // began after the exchange of S12 (S19)
	local    bool  // the loss of one link of its own, and nothing else since (RFC 8333)
	turn     int64 // its writes do not begin before (RFC 6976)
}

// write is an entry on its way into the table.
type write struct {
	dest  int
	hops  []int
	from  *source
	epoch int
	at    int64
	hold  []*write // S29: written together, with this one
	ready bool     // the first complete table is in force with it
}

// wantRun: the SPF timer expired. A run starts now, or at the end of the one
// before if that is later (S16).
func (s *sim) wantRun(r int) {
	if x := &s.routers[r]; x.runEnd > s.now || x.waiting > 0 { // they queue (A4)
		x.waiting++
		return
	}
	s.startRun(r)
}

func (s *sim) startRun(r int) {
	x := &s.routers[r]
	from := &source{db: copyDB(x.db), own: s.heldLinks(r)}
	k := &run{result: s.tableFrom(r, from), from: from, complete: x.exchanged}
	s.restrain(r, k)
	x.runs = append(x.runs, k)
	x.spfRuns = append(x.spfRuns, s.now)
	x.runEnd = s.now + s.slowed(r, int64(s.scn.Timers.SPFRun))
	s.plan(x.runEnd, event{kind: evRunEnd, router: r, part: -1, run: k, token: x.epoch})
}

// runEnds compares what a run computed with what is, or is on its way to being,
// in force, and starts the writing of what differs (S17).
func (s *sim) runEnds(e *event) {
	r, k := e.router, e.run
	x := &s.routers[r]
	if x.epoch != e.token {
		return
	}
	x.runs = slices.DeleteFunc(x.runs, func(y *run) bool { return y == k })
	s.meter.dirty = true
	if !x.frozen || k.complete {
		s.startWriting(r, k)
		x.ranFrom = k.from
	}
	if x.waiting > 0 {
		x.waiting--
		s.startRun(r)
	}
}

func (s *sim) startWriting(r int, k *run) {
	x := &s.routers[r]
	var changed []*write
	for d := range s.leaves {
		if d == r {
			continue
		}
		hops, from := &x.table[d].hops, &x.table[d].from
		if e := x.kept[d]; e != nil {
			hops, from = &e.hops, &e.from
		}
		for _, w := range x.pending {
			if w.dest == d {
				hops, from = &w.hops, &w.from
			}
		}
		if slices.Equal(*hops, k.result[d]) {
			*from = k.from
			continue
		}
		changed = append(changed, &write{dest: d, hops: k.result[d], from: k.from, epoch: x.epoch})
	}
	first := !x.ready && k.complete && x.completing == nil
	if first {
		x.completing = k
	}
	if len(changed) == 0 {
		switch {
		case first && len(x.pending) > 0: // what runs before began to write
			slices.MaxFunc(x.pending, func(a, b *write) int { return cmp.Compare(a.at, b.at) }).ready = true
		case first:
			s.becomeReady(r)
		}
		return
	}
	start := s.mayWrite(r, k)
	base, each := s.slowed(r, int64(s.scn.FIB.Base)), s.slowed(r, int64(s.scn.FIB.PerPrefix))
	for i, n := range s.entriesBefore(r, changed) {
		changed[i].at = start + base + n*each
		x.writing = max(x.writing, changed[i].at)
	}
	for _, w := range changed {
		if !x.frozen {
			s.plan(w.at, event{kind: evWrite, router: r, part: w.dest, write: w})
		}
	}
	last := changed[len(changed)-1]
	last.ready = first
	if x.frozen { // no write until the table is complete (S29)
		last.hold = changed[:len(changed)-1]
		for _, w := range changed {
			w.at = x.writing
		}
		s.plan(x.writing, event{kind: evWrite, router: r, part: last.dest, write: last})
	}
	x.pending = append(x.pending, changed...)
}

func (s *sim) writeLands(e *event) {
	w := e.write
	x := &s.routers[e.router]
	if w.epoch != x.epoch || w.at != s.now {
		return
	}
	for _, v := range append(w.hold, w) {
		s.enter(e.router, v.dest, entry{v.hops, v.from})
		x.pending = slices.DeleteFunc(x.pending, func(y *write) bool { return y == v })
	}
	s.meter.dirty = true
	if w.ready {
		s.becomeReady(e.router)
	}
}

// enter puts an entry into force, unless a fault keeps it from being written and it is
// another: then the router only believes it.
func (s *sim) enter(r, d int, e entry) {
	x := &s.routers[r]
	if s.unwritten(r, d) < 0 || slices.Equal(x.table[d].hops, e.hops) {
		x.table[d] = e
		delete(x.kept, d)
		return
	}
	if x.kept == nil {
		x.kept = map[int]*entry{}
	}
	x.kept[d] = &e
}

// release writes what faults kept from being written and keep no more.
func (s *sim) release() {
	for r := range s.routers {
		for d, e := range s.routers[r].kept {
			if s.unwritten(r, d) < 0 {
				s.routers[r].table[d] = *e
				delete(s.routers[r].kept, d)
			}
		}
	}
}

// becomeReady: the first complete table of r is wholly in force (S19, S29).
func (s *sim) becomeReady(r int) {
	x := &s.routers[r]
	x.ready, x.frozen, x.completing = true, false, nil
	s.meter.dirty = true
	if !x.keptBack && s.scn.Overload.UntilReady {
		x.bit = false
		s.ask(r)
	}
}
