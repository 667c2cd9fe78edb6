// Package linkstate is what every router believes, and since when: LSP
// generation with back-off, flooding, databases, SPF with back-off, and the
// tables that forward packets.
//
// It may not know what fails, not even at second hand: it learns of the world
// by adjacencies that come and go. It has no clock and no queue: a call says
// what happened and when, and the tasks that follow, with their instants, are
// collected for the caller. It is tested sentence by sentence of the standards,
// by scripted cases worked by hand, and against a plain twin.
package linkstate

import (
	"halflight/model/fabric"
	"halflight/model/timer"
	"halflight/sim/hearing"
	"halflight/sim/kernel"
	"halflight/sim/paths"
)

// Kind says what a Task is.
type Kind uint8

// The tasks. A and B of a Task mean what the comment says.
const (
	Originate Kind = iota // A: router whose LSP-generation wait ends
	Expire                // A: batch of routers whose SPF timer expires
	Start                 // A: router whose run waited for the run before
	EndRun                // A: batch of routers whose SPF run ends
	Write                 // A: batch of routers with table writes due
	Prune                 // A: router, B: port
	Arrive                // A: flood, B: level; Router: origin of the LSP
	Cross                 // A: its number, B: crossing of one adjacency by LSPs
	Token                 // a flood that waited gets a token
	Ready                 // A: router whose first table after a return is in force
	Redraw                // the area leader draws the flooding topology anew
	Detour                // A: direction of a dead link that its sender may go around
)

// Sudden says whether a task changes what is lost at once, by no write that is known ahead.
func (k Kind) Sudden() bool { return k == Prune || k == Detour }

// Task is something that must happen at an instant.
type Task struct {
	At     int64
	Kind   Kind
	Router int32 // for the order of events; the first of a batch
	A, B   int32
	Place  int32 // for the order of events, after Router
}

// Cell is an entry of the tables in force.
type Cell struct {
	Router, Destination int32
	By                  *Progress // the run behind a write, nil for none
	Pruned              bool      // a prune wrote it
}

// Run is an SPF run as the record wants it: one for each fault that the router heard of since its last.
type Run struct {
	Router int32
	Fault  int32 // -1 for none
	At     int64
	Waited int64 // from the first event because of the fault to the run
}

// Control is the control plane of all routers.
type Control struct {
	f   *fabric.Fabric
	t   *timer.Set
	lay *paths.Layout

	Tasks []Task // to be taken by the caller
	// Changed lists entries in force that changed, Restated those that were written as they
	// were already at routers of which somebody wants to know (Owing); to be taken by the caller.
	Changed, Restated []Cell
	Runs              []Run // SPF runs; to be taken by the caller
	// Owing says, by router, that somebody wants to know when its entries come
	// from another database; Concluded lists the routers for which that happened, to be
	// taken by the caller.
	Owing     []int32
	Concluded []int32
	Due       []Due      // with Ahead: writes listed; to be taken by the caller
	Noted     []int32    // with Ahead: runs that write something; to be taken by the caller
	Table     paths.Sets // the entries in force

	routers []router
	dead    []bool   // by router: it has no control plane
	lives   []uint32 // by router: how often it has come back
	ranFrom []int64  // by router: begin of its last run
	backs   []backoff
	gens    []generation
	data    *database

	view    *paths.Routes // routes of one database, moved to whichever is asked for
	cur     []*lsp        // that database
	curSeq  []uint32
	curHash uint64
	behind  []int32 // origins of which view may not have the newest

	live     []bool // by link: it carries packets
	up       []bool // by direction: the sender holds the adjacency
	bothAt   []uint64
	order    uint64 // counts floods and adjacencies that came up
	flooding floodState
	reduced  *reduced // nil without reduced flooding
	batches  pool[[]int32]
	open     []openBatch

	holding   int // routers that hold back writes until something else happens
	ranks     ranks
	loss      []float64 // by direction: share of LSPs lost; nil if none is
	lossyWays int       // directions that lose some, but not all
	shutWays  int       // directions that lose all
	lost      func(direction int32, flood uint64, share float64) int
	slowed    int // routers with a slow control plane
	books     books
	mixed     *mixture // nil if all routers have one SPF back-off

	rank func(x, d int32) uint64

	Originations, SPFRuns int64
	Trace                 bool
	OriginatedAt, RanAt   [][]int64 // by router, if Trace
	snaps                 snapshots
	ahead                 ahead
	heard                 hearing.Book
	news                  []hearing.Heard // what a batch of routers may have heard of since their last runs
	scratch               scratch
}

// router is what one router does at the moment.
type router struct {
	frozen   bool // its table stays as it is until the first complete one
	overload bool // configured or drained
	unready  bool // carries the bit until its first table is in force
	first    bool // its next LSP goes out whatever it says
	skew     bool // what it holds is not what its LSP says
	stale    bool // its whole row must be compared at the next run
	stage    uint8
	factor   float64
	slow     float64 // what a slow control plane multiplies its times by
	stuck    *stuck  // entries that are never written; nil for none
	left     []write // writes that the loss of its control plane left undone
	drain    []bool  // by port: metric raised
	origin   *lsp    // its last LSP; nil before the first
	hosts    uint32  // changes of hosts behind it so far
	returned int32   // the fault it last returned from, or that keeps it from it
	fault    int32   // behind its last change of adjacency, metric or bit

	armedAt  int64 // when the event came that started the timer of the run in progress
	thenAt   int64 // the same of the run that waits for it
	wait     int64 // writes of the run in progress do not begin before, for the sake of order
	freeAt   int64 // when they could have begun otherwise
	holding  int64 // its pending writes do not begin before, unless something else happens; 0 for none
	runEnd   int64
	runFault int32
	queued   int32   // runs that wait for the run before
	computed []write // result of the run in progress
	writeEnd int64
	pending  []write // in the order of their instants
	writing  bool    // a Write task is on its way
	readyAt  int64   // when its first table is wholly in force
	whole    bool    // the run in progress began with a complete database
	source   int32   // snapshot that the entries come from
	next     int32   // snapshot of the run in progress, -1 for none
	nextAt   int64

	// Where writes are known ahead:
	writes       []toCome // instead of pending
	writesTo     int64    // the latest of them, or later
	run          int32    // the last run that wrote something, -1 for none
	writesBefore int64    // writeEnd without its writes
	work         [2]int64 // when the run in progress writes, once it is over

	busyWindow, busySum, busyUntil, busyWorst int64
}

// write is a table entry on its way.
type write struct {
	dest   int32
	source int32 // snapshot in force for the entry until it is written
	at     int64
	set    [1]uint64
	wide   []uint64  // instead of set, for routers with more than 64 ports
	by     *Progress // the run behind it; nil until that is over
}

func (w *write) bits() []uint64 {
	if w.wide != nil {
		return w.wide
	}
	return w.set[:]
}

func newWrite(dest int32, set []uint64) write {
	w := write{dest: dest, source: -1}
	if len(set) == 1 {
		w.set[0] = set[0]
	} else {
		w.wide = append([]uint64(nil), set...)
	}
	return w
}

// Options are what differs from router to router. Rank orders a router's
// writes; Factor multiplies its run and write times. Either may be nil.
type Options struct {
	Factor func(x int32) float64
	Rank   func(x, d int32) uint64
	SPF    []*timer.SPF // by router; nil: that of the timers for all
	Trace  bool
	Ahead  bool // writes are listed as soon as their instants are known
	// Lost draws how often in a row a flood is lost on a direction; nil: never.
	Lost func(direction int32, flood uint64, share float64) int
}

// New returns the control plane of a converged fabric at time 0: all
// adjacencies up, databases equal, back-off at rest or, if the timers say so,
// in its last state.
func New(f *fabric.Fabric, t *timer.Set, o Options) *Control {
	n := len(f.Routers)
	lay := paths.NewLayout(f)
	c := &Control{f: f, t: t, lay: lay, Owing: make([]int32, n), Table: paths.NewSets(lay), routers: make([]router, n), dead: make([]bool, n), lives: make([]uint32, n), ranFrom: make([]int64, n), backs: make([]backoff, n),
		gens: make([]generation, n), data: newDatabase(n), view: paths.NewRoutes(f, lay), cur: make([]*lsp, n), curSeq: make([]uint32, n),
		live: make([]bool, len(f.Links)), up: make([]bool, 2*len(f.Links)), bothAt: make([]uint64, len(f.Links)),
		books: books{newWaitBook(&t.SPF), newWaitBook(&t.SPF)}, mixed: newMixture(o.SPF, &t.SPF), rank: o.Rank, Trace: o.Trace}
	c.ahead.on, c.ahead.entered = o.Ahead, longAgo
	c.ahead.toCome = kernel.NewShorts[toCome](n, 4)
	c.lost = o.Lost
	if o.Trace {
		c.OriginatedAt, c.RanAt = make([][]int64, n), make([][]int64, n)
	}
	for i := range c.live {
		c.live[i], c.up[2*i], c.up[2*i+1] = true, true, true
	}
	for x := range c.routers {
		r := &c.routers[x]
		c.ranFrom[x] = longAgo
		*r = router{run: -1, factor: 1, slow: 1, drain: make([]bool, len(f.Ports[x])), fault: -1, next: -1, runEnd: longAgo, writeEnd: longAgo}
		if o.Factor != nil {
			r.factor = o.Factor(int32(x))
		}
		r.overload = t.OverloadLeaves && f.Routers[x].Class == fabric.Leaf
		c.backs[x].reset(c.spf(int32(x)), 0)
		if t.LastState {
			c.backs[x].wind(c.spf(int32(x)))
		}
		c.gens[x] = newGeneration(&t.LSPGeneration)
	}
	c.converge()
	return c
}

// converge makes databases, routes and tables as they are at time 0.
func (c *Control) converge() {
	for x := range c.routers {
		o := int32(x)
		l := c.compose(o)
		c.routers[x].origin = l
		seq := c.data.logs[x].add(l)
		for y := range c.data.seq[x] {
			c.data.seq[x][y] = seq
		}
		c.cur[x], c.curSeq[x] = l, seq
		c.curHash ^= digest(o, seq)
		c.view.Begin(o, l.metric, l.overload)
	}
	for y := range c.data.hash {
		c.data.hash[y] = c.curHash
	}
	c.view.Fill()
	c.Table.Copy(c.view.Next)
	s := c.snaps.of(c)
	for x := range c.routers {
		c.routers[x].source = s
	}
	c.snaps.all[s].refs = int32(len(c.routers))
	c.flooding.init(c.f)
	c.reduce()
	c.scratch.init(c.f)
}

func (c *Control) task(at int64, k Kind, router, a, b int32) {
	c.Tasks = append(c.Tasks, Task{at, k, router, a, b, b})
}

// metricOf is the metric that x holds for a port: as configured, or raised.
func (c *Control) metricOf(x, port int32) uint32 {
	if c.routers[x].drain[port] {
		return Drained
	}
	p := &c.f.Ports[x][port]
	if p.Lower {
		return c.f.Links[p.Link].Metric[0]
	}
	return c.f.Links[p.Link].Metric[1]
}

// Drained is the metric of a link that is taken out of use: the largest that
// still counts in SPF (RFC 5305, section 3: 2^24-1 does not).
const Drained = 1<<24 - 2

// compose is the LSP that x would originate now.
func (c *Control) compose(x int32) *lsp {
	r := &c.routers[x]
	l := &lsp{metric: make([]uint32, len(c.f.Ports[x])), overload: r.overload || r.unready, hosts: r.hosts, fault: r.fault}
	for p := range c.f.Ports[x] {
		if c.up[c.f.Ports[x][p].Out()] {
			l.metric[p] = c.metricOf(x, int32(p))
		}
	}
	return l
}

// Held says whether x holds the adjacency of a port.
func (c *Control) Held(x, port int32) bool { return c.up[c.f.Ports[x][port].Out()] }

// Frozen says whether x keeps the table it had, after a restart or in one.
func (c *Control) Frozen(x int32) bool { return c.routers[x].frozen }

// pool hands out small integers for values that are used again.
type pool[T any] struct {
	all  []T
	free []int32
}

func (p *pool[T]) take() int32 {
	if n := len(p.free); n > 0 {
		i := p.free[n-1]
		p.free = p.free[:n-1]
		return i
	}
	var zero T
	p.all = append(p.all, zero)
	return int32(len(p.all) - 1)
}

func (p *pool[T]) give(i int32) { p.free = append(p.free, i) }

// openBatch is a batch of routers for one instant that is being filled.
type openBatch struct {
	at   int64
	kind Kind
	id   int32
}

// join puts x into the batch for an instant, and returns which that is; close
// makes tasks of the batches.
func (c *Control) join(at int64, k Kind, x int32) int32 {
	// With every router on times of its own a longer search would be in vain.
	for i := len(c.open) - 1; i >= max(0, len(c.open)-8); i-- {
		if c.open[i].at == at && c.open[i].kind == k {
			b := &c.batches.all[c.open[i].id]
			*b = append(*b, x)
			return c.open[i].id
		}
	}
	id := c.batches.take()
	c.batches.all[id] = append(c.batches.all[id][:0], x)
	c.open = append(c.open, openBatch{at, k, id})
	return id
}

// close makes a task of every open batch.
func (c *Control) close() {
	for _, b := range c.open {
		c.task(b.at, b.kind, c.batches.all[b.id][0], b.id, 0)
	}
	c.open = c.open[:0]
}
