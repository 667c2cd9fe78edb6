package linkstate

import (
	"math"
	"slices"

	"halflight/sim/paths"
)

// expire is the expiry of the SPF timers of a batch of routers.
func (c *Control) expire(id int32, now int64) {
	since := now
	for _, x := range c.batches.all[id] {
		since = min(since, c.ranFrom[x])
	}
	c.news = c.heard.Since(c.news[:0], since)
	for _, x := range c.batches.all[id] {
		b := &c.backs[x]
		if c.dead[x] || b.spfAt != now {
			continue
		}
		b.settle(c.spf(x), now, c.bookOf(x))
		armed := b.armed
		b.expire(c.spf(x), now, c.bookOf(x))
		r := &c.routers[x]
		r.runFault = b.fault
		if r.runEnd <= now && r.queued == 0 {
			c.start(x, now, armed)
			continue
		}
		r.queued, r.thenAt = r.queued+1, armed
		if r.queued == 1 {
			c.task(r.runEnd, Start, x, x, 0)
		}
	}
	c.batches.give(id)
	c.close()
}

// answer notes a run, which begins now, for each fault that x heard of since its last one; armed is when its
// timer started.
func (c *Control) answer(x int32, now, armed int64) {
	fault, known := c.routers[x].runFault, false
	for i := range c.news {
		if o := &c.news[i]; o.At[x] >= c.ranFrom[x] && o.At[x] != longAgo {
			c.Runs = append(c.Runs, Run{x, o.Fault, now, now - o.At[x]})
			known = known || o.Fault == fault
		}
	}
	if !known {
		c.Runs = append(c.Runs, Run{x, fault, now, now - armed})
	}
}

// begin starts a run that waited for the one before.
func (c *Control) begin(x int32, now int64) {
	r := &c.routers[x]
	if c.dead[x] || r.queued == 0 || r.runEnd > now {
		return
	}
	r.queued--
	c.news = c.heard.Since(c.news[:0], c.ranFrom[x])
	c.start(x, now, r.thenAt)
	if r.queued > 0 {
		c.task(r.runEnd, Start, x, x, 0)
	}
	c.close()
}

func scale(t int64, factor float64) int64 {
	if factor == 1 || t == 0 {
		return t
	}
	return int64(math.RoundToEven(float64(t) * factor))
}

// start is the start of an SPF run at x, with the database of now, whose timer an event
// started at armed.
func (c *Control) start(x int32, now, armed int64) {
	c.conclude(x, now)
	r := &c.routers[x]
	r.armedAt = armed
	c.answer(x, now, armed)
	c.SPFRuns++
	if c.Trace {
		c.RanAt[x] = append(c.RanAt[x], now)
	}
	c.ranFrom[x] = now
	r.runEnd = now + r.paced(c.t.SPFRun)
	r.whole = r.stage >= awaitRun || r.stage == settled
	r.busy(now, r.runEnd)
	if r.wait, r.computed = 0, r.computed[:0]; c.ahead.on {
		r.computed = c.scratch.computed[:0]
	}
	shared := c.seek(x)
	hash, db := c.curHash, c.cur
	if !shared {
		hash, db = c.data.hash[x], c.column(x)
	}
	snap := c.snapshotFor(x, hash, db)
	c.snaps.hold(snap)
	if c.t.LocalDelay > 0 || c.t.Ordered {
		c.restrain(x, snap, now)
	}
	if shared && !r.skew {
		c.compareShared(x)
	} else {
		c.compareRow(x, c.alone(x))
		r.stale = true
	}
	r.next, r.nextAt = snap, r.runEnd
	if r.stage == awaitRun {
		r.stage = inRun
	}
	if c.ahead.on {
		if r.frozen && !r.whole { // no write until the first complete table
			c.snaps.release(r.next)
			r.next, r.stale = -1, true
		} else {
			c.writeAhead(x, now)
		}
		c.forgetComputed(r)
		return
	}
	c.join(r.runEnd, EndRun, x) // even of a run that changes nothing: entries come from its database then
}

// column copies x's database.
func (c *Control) column(x int32) []*lsp {
	out := make([]*lsp, len(c.routers))
	for o := range out {
		out[o] = c.data.holds(x, int32(o))
	}
	return out
}

// conclude finishes x's run if it has ended by now.
func (c *Control) conclude(x int32, now int64) {
	r := &c.routers[x]
	if c.dead[x] || r.next < 0 || r.nextAt > now {
		return
	}
	if c.ahead.on {
		c.snaps.release(r.source)
		r.source, r.next = r.next, -1
		r.bookWork()
		return
	}
	c.finish(x, now)
}

// intended returns what x's entry for d is, or is already on its way to being.
// place must have been called for x.
func (c *Control) intended(x, d int32) []uint64 {
	if i := c.scratch.at[d]; i > 0 {
		if c.ahead.on {
			return c.SetOf(i - 1)
		}
		return c.routers[x].pending[i-1].bits()
	}
	if s := c.routers[x].stuck; s != nil && s.belief[d] != nil {
		return s.belief[d]
	}
	return c.Table.Of(d, x)
}

// place indexes x's pending writes for intended; unplace clears the index.
func (c *Control) place(x int32) {
	if c.ahead.on {
		c.trimWrites(x)
		for _, w := range c.routers[x].writes {
			c.scratch.at[w.dest] = w.id + 1
		}
		return
	}
	for i := range c.routers[x].pending {
		c.scratch.at[c.routers[x].pending[i].dest] = int32(i + 1)
	}
}

func (c *Control) unplace(x int32) {
	for _, w := range c.routers[x].writes {
		c.scratch.at[w.dest] = 0
	}
	for i := range c.routers[x].pending {
		c.scratch.at[c.routers[x].pending[i].dest] = 0
	}
}

// compareShared finds what the run changes, from the shared routes. Only
// destinations that were touched since x's last run can differ.
func (c *Control) compareShared(x int32) {
	r := &c.routers[x]
	touched := c.view.Touched[x]
	if c.view.Full[x] {
		c.view.Full[x], r.stale = false, true
	}
	if len(touched) == 0 && !r.stale {
		return
	}
	c.place(x)
	if r.stale {
		for d := int32(0); int(d) < c.f.Leaves; d++ {
			c.compareEntry(x, d, c.view.Next.Of(d, x))
		}
		r.stale = false
	} else {
		c.scratch.stamp++
		for _, d := range touched {
			if c.scratch.seen[d] != c.scratch.stamp {
				c.scratch.seen[d] = c.scratch.stamp
				c.compareEntry(x, d, c.view.Next.Of(d, x))
			}
		}
	}
	c.view.Forget(x)
	c.unplace(x)
}

func (c *Control) compareRow(x int32, row []uint64) {
	words := int(c.lay.Words[x])
	c.place(x)
	for d := int32(0); int(d) < c.f.Leaves; d++ {
		c.compareEntry(x, d, row[int(d)*words:(int(d)+1)*words])
	}
	c.unplace(x)
}

func (c *Control) compareEntry(x, d int32, set []uint64) {
	if d != x && !paths.Same(set, c.intended(x, d)) {
		r := &c.routers[x]
		r.computed = append(r.computed, newWrite(d, set))
	}
}

// endRun is the end of the runs of a batch of routers.
func (c *Control) endRun(id int32, now int64) {
	for _, x := range c.batches.all[id] {
		c.conclude(x, now)
	}
	c.batches.give(id)
	c.close()
}

// finish puts the results of x's run on their way into the table.
func (c *Control) finish(x int32, now int64) {
	r := &c.routers[x]
	if r.frozen && !r.whole { // no write until the first complete table
		c.snaps.release(r.next)
		r.next, r.computed, r.stale = -1, r.computed[:0], true
		return
	}
	old := r.source
	r.source, r.next = r.next, -1
	if c.Owing[x] > 0 {
		c.Concluded = append(c.Concluded, x)
	}
	writes := c.stillDiffer(x)
	c.orderWrites(x, writes)
	begin := max(now, r.writeEnd, c.mayWrite(x, now))
	end := c.timeWrites(x, writes, begin)
	r.pending = slices.Grow(r.pending, len(writes))
	var by *Progress
	if len(writes) > 0 {
		by = &Progress{Armed: r.armedAt, Expires: Never, RunFrom: c.ranFrom[x], RunTo: now, Known: true}
	}
	for k := range writes {
		w := writes[k]
		w.by = by
		w.source = c.leftSource(x, w.dest, old)
		c.snaps.hold(w.source)
		r.pending = append(r.pending, w)
	}
	if len(writes) > 0 {
		r.writeEnd = end
		r.busy(begin, r.writeEnd)
		if !r.writing {
			r.writing = true
			c.join(r.pending[0].at, Write, x)
		}
	}
	c.forgetLeft(x)
	c.snaps.release(old)
	r.computed = r.computed[:0]
	if r.stage == inRun {
		r.stage = inWriting
		if len(r.pending) == 0 {
			r.readyAt = now
			c.ready(x, now)
		} else {
			r.readyAt = r.writeEnd
			c.task(r.readyAt, Ready, x, x, 0)
		}
	}
}

// stillDiffer returns the writes computed at x that, after prunes, differ from
// what is or is already on its way to being.
func (c *Control) stillDiffer(x int32) []write {
	r := &c.routers[x]
	c.place(x)
	writes := r.computed[:0]
	for _, w := range r.computed {
		if !paths.Same(w.bits(), c.intended(x, w.dest)) {
			writes = append(writes, w)
		}
	}
	c.unplace(x)
	return writes
}

// leftSource is the snapshot of an entry in force: that of the router, or an
// older one if its last write was left undone.
func (c *Control) leftSource(x, d, source int32) int32 {
	for i := range c.routers[x].left {
		if w := &c.routers[x].left[i]; w.dest == d {
			return w.source
		}
	}
	return source
}

// orderWrites puts writes into the router's own order: by destination, unless
// the router has another.
func (c *Control) orderWrites(x int32, writes []write) {
	if c.rank == nil {
		slices.SortFunc(writes, func(a, b write) int { return int(a.dest - b.dest) })
		return
	}
	if len(writes) < 2 {
		return
	}
	was := append(c.scratch.writes[:0], writes...)
	rank := func(i int32) uint64 { return c.rank(x, was[i].dest) }
	order := c.scratch.sorter.Order(len(was), math.MaxUint64, func(i int) uint64 { return rank(int32(i)) },
		func(i, j int32) bool { return rank(i) < rank(j) })
	for k, i := range order {
		writes[k] = was[i]
	}
	c.scratch.writes = was
}

// write puts the entries that are due into force, at a batch of routers.
func (c *Control) write(id int32, now int64) {
	for _, x := range c.batches.all[id] {
		r := &c.routers[x]
		if c.dead[x] || !r.writing || len(r.pending) == 0 || r.pending[0].at > now {
			continue
		}
		n := 0
		for n < len(r.pending) && r.pending[n].at <= now {
			w := &r.pending[n]
			c.snaps.release(w.source)
			c.enter(x, w.dest, w.bits(), w.by)
			n++
		}
		if n == len(r.pending) {
			r.pending, r.writing = r.pending[:0], false
			continue
		}
		r.pending = r.pending[n:]
		c.join(r.pending[0].at, Write, x)
	}
	c.batches.give(id)
	c.close()
}

// enter puts an entry into force.
func (c *Control) enter(x, d int32, set []uint64, by *Progress) {
	if s := c.routers[x].stuck; s != nil && s.on[d] {
		copy(s.believe(c, x, d), set)
		c.Changed = append(c.Changed, Cell{Router: x, Destination: d, By: by}) // who is charged for it may be another now
		return
	}
	if !paths.Same(c.Table.Of(d, x), set) {
		c.Table.Put(d, x, set)
		c.Changed = append(c.Changed, Cell{Router: x, Destination: d, By: by})
	} else if c.Owing[x] > 0 {
		c.Restated = append(c.Restated, Cell{Router: x, Destination: d})
	}
}

// busyWindow is the length of the windows in which the share of time that a
// router computes or writes is taken.
const busyWindow = 10_000_000_000

// busy books [from, to) as time in which the router computes or writes.
func (r *router) busy(from, to int64) {
	from = max(from, r.busyUntil)
	for from < to {
		w := from / busyWindow
		if w != r.busyWindow {
			r.busyWindow, r.busySum = w, 0
		}
		end := min(to, (w+1)*busyWindow)
		r.busySum += end - from
		r.busyWorst = max(r.busyWorst, r.busySum)
		from = end
	}
	r.busyUntil = max(r.busyUntil, to)
}
