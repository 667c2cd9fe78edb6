package linkstate

import (
	"slices"

	"halflight/model/fabric"
	"halflight/sim/paths"
	"halflight/sim/record"
)

// Snapshot is a database that entries in force were computed from.
type Snapshot struct {
	lsps   []*lsp
	Slot   int32  // where it is kept
	Serial uint64 // tells one use of a slot from the next
}

// Lists says whether both ends' LSPs list a link.
func (s Snapshot) Lists(f *fabric.Fabric, link int32) bool {
	l := &f.Links[link]
	return s.lsps[l.Lower].lists(f.PortOf(l.Lower, link)) && s.lsps[l.Upper].lists(f.PortOf(l.Upper, link))
}

// Metric returns the metric that x's LSP gives for a port, 0 for none.
func (s Snapshot) Metric(x, port int32) uint32 {
	if s.lsps[x] == nil {
		return 0
	}
	return s.lsps[x].metric[port]
}

// Known says whether there is an LSP of x.
func (s Snapshot) Known(x int32) bool { return s.lsps[x] != nil }

// Bit says whether x's LSP carries the overload bit.
func (s Snapshot) Bit(x int32) bool { return s.lsps[x] != nil && s.lsps[x].overload }

// Source returns the database that x's entry for d in force came from: that of
// the run that wrote it or left it as it was. ok is false for a router that
// has had no run since it returned.
func (c *Control) Source(x, d int32, now int64) (s Snapshot, ok bool) {
	r := &c.routers[x]
	slot := r.source
	if r.next >= 0 && r.nextAt <= now && (len(r.computed) == 0 || c.ahead.on) {
		slot = r.next
	}
	slot = c.leftSource(x, d, slot)
	for i := range r.pending {
		if r.pending[i].dest == d {
			slot = r.pending[i].source
			break
		}
	}
	if slot < 0 {
		return Snapshot{}, false
	}
	return c.snapshot(slot), true
}

// snapshotFor returns the snapshot of a run of x with a database. A router that holds
// something else than its own LSP says has one of its own, since charges ask for both.
func (c *Control) snapshotFor(x int32, hash uint64, lsps []*lsp) int32 {
	if !c.routers[x].skew || c.ahead.on {
		return c.snaps.find(hash, lsps)
	}
	hash ^= uint64(x+1) << 32
	up := make([]bool, len(c.f.Ports[x]))
	for p := range up {
		if up[p] = c.Held(x, int32(p)); up[p] {
			hash = (hash ^ uint64(p+1)) * 0x100000001b3 // Fowler, Noll and Vo's prime for 64 bits
		}
	}
	snap := c.snaps.find(hash, lsps)
	c.snaps.all[snap].held = up
	return snap
}

// HeldFor says whether x held the adjacency of a port as the run began that had a
// database; not where writes are known ahead.
func (c *Control) HeldFor(had Snapshot, x, port int32) bool {
	if up := c.snaps.all[had.Slot].held; up != nil {
		return up[port]
	}
	return had.lsps[x] == nil || had.lsps[x].lists(port)
}

func (c *Control) snapshot(slot int32) Snapshot {
	return Snapshot{c.snaps.all[slot].lsps, slot, c.snaps.all[slot].serial}
}

// Snapshots lists the databases in use.
func (c *Control) Snapshots(into []Snapshot) []Snapshot {
	into = into[:0]
	for i := range c.snaps.all {
		if c.snaps.all[i].lsps != nil {
			into = append(into, c.snapshot(int32(i)))
		}
	}
	return into
}

// Progress is where a router stands on the way from an IGP event to its table,
// for charging losses to phases. Times are longAgo or Never where there is none.
type Progress struct {
	Armed, Expires int64 // SPF timer: started, expires
	RunFrom, RunTo int64 // last run
	Known          bool  // the run is that behind the write in question
}

// ProgressOf returns where x stands.
func (c *Control) ProgressOf(x int32) Progress {
	r, b := &c.routers[x], &c.backs[x]
	p := Progress{Armed: b.armed, Expires: b.spfAt, RunFrom: c.ranFrom[x], RunTo: r.runEnd}
	if r.queued > 0 {
		p.Armed, p.Expires = r.thenAt, r.runEnd
	}
	return p
}

// RunBehind returns the first run that began at an instant or later and is behind a write
// to come of x's entry for d; where x stands, if there is none.
func (c *Control) RunBehind(x, d int32, since int64) Progress {
	r := &c.routers[x]
	for i := range r.pending {
		if w := &r.pending[i]; w.dest == d && w.by.RunFrom >= since {
			return *w.by
		}
	}
	for i := range r.computed {
		if r.computed[i].dest == d && c.ranFrom[x] >= since {
			return Progress{Armed: r.armedAt, Expires: Never, RunFrom: c.ranFrom[x], RunTo: r.runEnd, Known: true}
		}
	}
	return c.ProgressOf(x)
}

// Awaits says whether an entry of x is on its way to being another.
func (c *Control) Awaits(x, d int32) bool {
	return slices.ContainsFunc(c.routers[x].pending, func(w write) bool { return w.dest == d })
}

// Heard returns when x had its first event since its last run because of a fault, see
// package hearing.
func (c *Control) Heard(fault, x int32) int64 { return c.heard.At(fault, x) }

// LSPRest returns the wait of LSP generation at rest.
func (c *Control) LSPRest() int64 { return c.t.LSPGeneration.First }

// KeptAway says which fault keeps x, which forwards, without a control plane: behind
// its table if it lost that before and had no whole one since.
func (c *Control) KeptAway(x, fault int32) {
	if r := &c.routers[x]; r.source < 0 || r.stage != settled {
		r.returned = fault
	}
}

// ReturnFault returns the fault that x last returned from, or that keeps it from it.
func (c *Control) ReturnFault(x int32) int32 { return c.routers[x].returned }

// FaultBehind returns the fault behind x's last change.
func (c *Control) FaultBehind(x int32) int32 { return c.routers[x].fault }

// StateTimes returns the time in ns that x has spent in each state of its SPF
// back-off up to now, while it was alive.
func (c *Control) StateTimes(x int32, now int64) []int64 {
	b, out := &c.backs[x], make([]int64, c.states())
	b.settle(c.spf(x), now, nil)
	for s := range c.spf(x).Family.States() {
		out[c.statePlace(x, s)] = b.state[s]
	}
	return out
}

// SaysOf says whether a live end of a link holds anything else of it than whether it is up, or what a router
// has of its ends, or is on its way to one, may say so.
func (c *Control) SaysOf(link int32, up bool) bool {
	differ := 0
	for d := 2 * link; d <= 2*link+1; d++ {
		x, p := c.f.From(d), c.portOf(c.f.From(d), link)
		if !c.dead[x] && c.up[d] != up {
			return true
		}
		if c.saysAnywhere(x, func(l *lsp) bool { return l.lists(p) != up }) {
			differ++
		}
	}
	return up && differ > 0 || differ > 1 // it takes both ends to list it
}

// SaysOfMetric is SaysOf for whether the metric of a direction is raised.
func (c *Control) SaysOfMetric(direction int32, raised bool) bool {
	x := c.f.From(direction)
	p := c.portOf(x, direction>>1)
	return c.saysAnywhere(x, func(l *lsp) bool { return l.lists(p) && (l.metric[p] == Drained) != raised })
}

// SaysOfItself says whether x, if it lives, means anything else of its overload bit than on, or what a router
// has of it, or is on its way to one, says so.
func (c *Control) SaysOfItself(x int32, on bool) bool {
	r := &c.routers[x]
	return !c.dead[x] && (r.overload || r.unready) != on || c.saysAnywhere(x, func(l *lsp) bool { return l.overload != on })
}

// saysAnywhere looks at all versions of x's LSP that some router has or will get.
func (c *Control) saysAnywhere(x int32, says func(*lsp) bool) bool {
	c.trim(x)
	return slices.ContainsFunc(c.data.logs[x].content, says)
}

// Listed says whether x's last LSP lists its adjacency over a link.
func (c *Control) Listed(x, link int32) bool { return c.routers[x].origin.lists(c.portOf(x, link)) }

// ResetBooks begins the distribution of waits, and the worst busy share, anew.
func (c *Control) ResetBooks(now int64) {
	for x := range c.backs {
		b := &c.backs[x]
		if c.dead[x] {
			continue
		}
		b.settle(c.spf(int32(x)), now, c.bookOf(int32(x)))
		if b.spfAt != Never {
			b.armed = now
		}
		r := &c.routers[x]
		if r.next >= 0 && r.nextAt <= now {
			r.bookWork()
		}
		r.busyWorst, r.busySum = 0, 0
	}
	if c.books = (books{newWaitBook(&c.t.SPF), newWaitBook(&c.t.SPF)}); c.mixed != nil {
		c.mixed.open()
	}
}

// StateTotals returns the time that all routers together spent in each state of
// the SPF back-off up to now, while they were alive.
func (c *Control) StateTotals(now int64) []float64 {
	total := make([]float64, 3)
	for x := range c.backs {
		b := &c.backs[x]
		if !c.dead[x] {
			b.settle(c.spf(int32(x)), now, c.bookOf(int32(x)))
		}
		for s, t := range b.state {
			total[c.statePlace(int32(x), s)] += float64(t)
		}
	}
	return total
}

// Waits is what an IGP event that arrives at a uniformly random moment would
// have to wait for its SPF run.
type Waits struct {
	All, Leaf      []record.Wait
	Mean, LeafMean float64 // ns
	Rest           int64
}

// Waits returns the distribution since the books were begun, up to now.
func (c *Control) Waits(now int64) Waits {
	c.StateTotals(now)
	for x := range c.backs {
		if b := &c.backs[x]; b.spfAt != Never && !c.dead[x] && b.spfAt > now {
			c.bookOf(int32(x)).ramp(b.spfAt-b.armed, b.spfAt-now)
			b.armed = now
		}
	}
	return c.waits()
}

// BusyWorst returns the largest share of one of the 10-second windows that a
// router computed or wrote, up to now.
func (c *Control) BusyWorst(now int64) float64 {
	worst := int64(0)
	for x := range c.routers {
		if r := &c.routers[x]; r.next >= 0 && r.nextAt < now {
			r.bookWork()
		}
		worst = max(worst, c.routers[x].busyWorst)
	}
	return float64(worst) / busyWindow
}

// Routes returns the routes of the database that was asked for last.
func (c *Control) Routes() *paths.Routes { return c.view }
