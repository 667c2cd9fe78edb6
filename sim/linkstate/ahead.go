package linkstate

import (
	"halflight/sim/kernel"
	"halflight/sim/paths"
)

// With Options.Ahead a run's writes are known, with their instants, as soon as
// the run starts: nothing but a prune or the death of the router can change
// them. They are listed for the caller, who puts each into force by Enter when
// he gets to it, however late: tables are then as of the last call to Enter.
// Before a prune, a death or a look at tables he must have entered all that was
// due until then.

// Due is a write that will be due.
type Due struct {
	At int64
	ID int32
}

// Writing is an entry on its way into a table. There are many, seldom looked at twice
// in a row: two lie on a cache line.
type Writing struct {
	At     int64
	set    [1]uint64 // of a router with 64 ports at most
	Router int32
	dest   int32 // the destination, or its complement once the write is taken back
	Run    int32 // the run that made it, -1 for a prune or a death
	After  int32 // for the caller
}

// Destination is what the entry is for.
func (w *Writing) Destination() int32 {
	if w.dest < 0 {
		return ^w.dest
	}
	return w.dest
}

// RunNote is what is known of the run behind writes.
type RunNote struct {
	Router   int32
	Armed    int64 // the event that started its SPF timer
	From, To int64
	Blame    int32 // for the caller, who sets it when the run starts
	source   int32 // snapshot that the entries came from before
	refs     int32
}

// ahead is the state of writes that are known ahead.
type ahead struct {
	on      bool
	writes  pool[Writing]
	wide    [][]uint64 // by write: the set, for routers with more than 64 ports
	runs    pool[RunNote]
	toCome  *kernel.Shorts[toCome] // by router
	entered int64                  // all that was due up to then is in force
}

// Writing returns a write that was listed.
func (c *Control) Writing(id int32) *Writing { return &c.ahead.writes.all[id] }

// SetOf returns the next hops that a write puts into force.
func (c *Control) SetOf(id int32) []uint64 {
	w := &c.ahead.writes.all[id]
	if c.lay.Words[w.Router] > 1 {
		return c.ahead.wide[id]
	}
	return w.set[:]
}

// Note returns the run behind a write.
func (c *Control) Note(run int32) *RunNote { return &c.ahead.runs.all[run] }

// NoteSource returns the database that the entries came from before a run.
func (c *Control) NoteSource(run int32) (Snapshot, bool) {
	if s := c.ahead.runs.all[run].source; s >= 0 {
		return c.snapshot(s), true
	}
	return Snapshot{}, false
}

// list makes a write of x due.
func (c *Control) list(x, d, run int32, at int64, set []uint64) int32 {
	if at <= c.ahead.entered {
		panic("linkstate: a write for an instant that is over")
	}
	id := c.ahead.writes.take()
	w := &c.ahead.writes.all[id]
	*w = Writing{Router: x, dest: d, Run: run, At: at}
	if len(set) == 1 {
		w.set[0] = set[0]
	} else {
		if n := len(c.ahead.writes.all); len(c.ahead.wide) < n {
			c.ahead.wide = append(c.ahead.wide, make([][]uint64, n-len(c.ahead.wide))...)
		}
		c.ahead.wide[id] = append(c.ahead.wide[id][:0], set...)
	}
	if run >= 0 {
		c.ahead.runs.all[run].refs++
	}
	c.Due = append(c.Due, Due{at, id})
	return id
}

// Void says whether a write was taken back, and forgets it if so.
func (c *Control) Void(id int32) bool {
	if c.ahead.writes.all[id].dest >= 0 {
		return false
	}
	c.drop(id)
	return true
}

// Entered says that all writes that were due until an instant, itself included,
// are in force or taken back.
func (c *Control) Entered(until int64) { c.ahead.entered = max(c.ahead.entered, until) }

// Enter puts a write into force. It may be looked at until another is listed.
func (c *Control) Enter(id int32) {
	w := &c.ahead.writes.all[id]
	c.Table.Put(w.dest, w.Router, c.SetOf(id))
	c.drop(id)
}

func (c *Control) drop(id int32) {
	w := &c.ahead.writes.all[id]
	if w.Run >= 0 {
		n := &c.ahead.runs.all[w.Run]
		if n.refs--; n.refs == 0 {
			c.snaps.release(n.source)
			c.ahead.runs.give(w.Run)
		}
	}
	c.ahead.writes.give(id)
}

// toCome is a write that may not be in force yet.
type toCome struct {
	at       int64
	id, dest int32
}

// trimWrites forgets those of x's writes that are in force.
func (c *Control) trimWrites(x int32) {
	r := &c.routers[x]
	if r.writesTo <= c.ahead.entered { // all are: nothing needs to be looked at
		r.writes = c.ahead.toCome.Empty(int(x), r.writes)
		return
	}
	kept := r.writes[:0]
	for _, w := range r.writes {
		if w.at > c.ahead.entered {
			kept = append(kept, w)
		}
	}
	r.writes = kept
}

// writeAhead lists the writes of the run of x that starts now and whose result
// is in computed.
func (c *Control) writeAhead(x int32, now int64) {
	r := &c.routers[x]
	r.run = -1
	if len(r.computed) > 0 {
		r.run = c.ahead.runs.take()
		c.ahead.runs.all[r.run] = RunNote{Router: x, Armed: r.armedAt, From: now, To: r.runEnd, Blame: -1, source: r.source}
		c.snaps.hold(r.source)
		c.listRun(x)
		c.Noted = append(c.Noted, r.run)
	}
	if r.stage == inRun {
		r.stage = inWriting
		r.readyAt = r.runEnd
		if len(r.computed) > 0 {
			r.readyAt = r.writeEnd
		}
		c.task(r.readyAt, Ready, x, x, 0)
	}
}

// listRun lists the writes of x's run in progress.
func (c *Control) listRun(x int32) {
	r := &c.routers[x]
	c.orderWrites(x, r.computed)
	begin := max(r.runEnd, r.writeEnd, r.wait)
	end := c.timeWrites(x, r.computed, begin)
	r.writesBefore = r.writeEnd
	for k := range r.computed {
		w := &r.computed[k]
		i := c.list(x, w.dest, r.run, w.at, w.bits())
		r.writes = c.ahead.toCome.Append(r.writes, toCome{w.at, i, w.dest})
		r.writesTo = max(r.writesTo, w.at)
	}
	if len(r.computed) > 0 {
		r.writeEnd = end
		r.work = [2]int64{begin, end}
	}
}

// forgetComputed takes back the memory for what a run computed: it can be told from
// what is listed.
func (c *Control) forgetComputed(r *router) { c.scratch.computed, r.computed = r.computed, nil }

// bookWork books the writing of a run that is over, and can no longer be taken back.
func (r *router) bookWork() {
	r.busy(r.work[0], r.work[1])
	r.work = [2]int64{}
}

// pruneAhead is prune where writes are known ahead.
func (c *Control) pruneAhead(x int32, w int, bit uint64, port int32, now int64) {
	r := &c.routers[x]
	running := c.takeBack(x, now)
	before := len(r.writes) // those there are
	for i := range r.writes {
		v := &r.writes[i]
		if set := c.SetOf(v.id); set[w]&bit != 0 && others(set, w, bit) {
			set[w] &^= bit
			c.view.Touch(x, v.dest)
		}
	}
	c.scratch.stamp++
	for _, w := range r.writes { // due now: what is in force is as they say
		if c.ahead.writes.all[w.id].Run < 0 {
			c.scratch.seen[w.dest] = c.scratch.stamp
		}
	}
	for d := int32(0); int(d) < c.f.Leaves; d++ {
		if !c.Table.Has(d, x, port) || c.scratch.seen[d] == c.scratch.stamp {
			continue
		}
		set := c.Table.Of(d, x)
		if others(set, w, bit) {
			c.scratch.row = append(c.scratch.row[:0], set...)
			c.scratch.row[w] &^= bit
			r.writes = c.ahead.toCome.Append(r.writes, toCome{now, c.list(x, d, -1, now, c.scratch.row), d})
			r.writesTo = max(r.writesTo, now)
			c.view.Touch(x, d)
		}
	}
	// What is written now comes before what is written later.
	rest := append(c.scratch.toCome[:0], r.writes[:before]...)
	c.scratch.toCome = rest
	fresh := len(r.writes) - before
	copy(r.writes, r.writes[before:])
	copy(r.writes[fresh:], rest)
	if !running {
		return
	}
	for i := range r.computed {
		if set := r.computed[i].bits(); set[w]&bit != 0 && others(set, w, bit) {
			set[w] &^= bit
			c.view.Touch(x, r.computed[i].dest)
		}
	}
	c.listAgain(x)
}

// takeBack takes back the writes of x's run in progress, to be listed again. It
// returns false if there are none.
func (c *Control) takeBack(x int32, now int64) bool {
	r := &c.routers[x]
	c.trimWrites(x)
	if r.run < 0 || r.runEnd <= now || r.next < 0 {
		return false
	}
	kept := r.writes[:0]
	r.computed = c.scratch.computed[:0]
	for _, w := range r.writes {
		if v := &c.ahead.writes.all[w.id]; v.Run == r.run {
			r.computed = append(r.computed, newWrite(w.dest, c.SetOf(w.id)))
			v.dest = ^w.dest
			continue
		}
		kept = append(kept, w)
	}
	r.writes = kept
	r.writeEnd, r.work = r.writesBefore, [2]int64{}
	return true
}

// listAgain lists what x's run in progress writes, as computed.
func (c *Control) listAgain(x int32) {
	r := &c.routers[x]
	if r.computed = c.stillDiffer(x); len(r.computed) == 0 {
		r.run = -1
	} else {
		c.ahead.runs.all[r.run].refs++
		c.listRun(x)
		c.ahead.runs.all[r.run].refs--
	}
	c.forgetComputed(r)
}

// retract takes back what x would have written.
func (c *Control) retract(x int32) {
	r := &c.routers[x]
	c.trimWrites(x)
	for _, w := range r.writes {
		c.ahead.writes.all[w.id].dest = ^w.dest
	}
	r.writes = c.ahead.toCome.Empty(int(x), r.writes)
}

// clearAhead empties x's table.
func (c *Control) clearAhead(x int32, now int64) {
	empty := c.scratch.none[:c.lay.Words[x]]
	for d := int32(0); int(d) < c.f.Leaves; d++ {
		if !paths.IsEmpty(c.Table.Of(d, x)) {
			c.list(x, d, -1, now, empty)
		}
	}
}
