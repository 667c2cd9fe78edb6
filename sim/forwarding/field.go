// Package forwarding says what becomes of packets: traffic is fluid, split
// equally over each router's next hops in force, and lost on dead links, at
// routers without a next hop, in loops, and by the share that a direction
// drops. The lost share is a function of the state in force and exact for any
// mixture of old and new tables.
//
// It sees tables and the pass shares of directions; it does not know why a
// direction drops packets. It is tested against hand formulas, against walking
// every path, and fast against plain.
package forwarding

import (
	"slices"

	"halflight/model/fabric"
	"halflight/sim/kernel"
	"halflight/sim/paths"
)

// Direction is what a direction of a link does to what is sent over it.
type Direction struct {
	Dead  bool      // nothing passes: the link or a router at an end is dead
	Whole bool      // some flow is lost entirely
	Pass  []float64 // share that passes, by plane
	Fit   []float64 // share that is not too large for it, a factor of Pass, by plane; nil: all
	Cause int32     // who does it; only passed through
	Full  bool      // most of what it drops, it drops for want of room
}

// sound says whether a direction passes everything.
func (d *Direction) sound() bool {
	for _, p := range d.Pass {
		if p != 1 {
			return false
		}
	}
	return !d.Dead && !d.Whole
}

// Field is the share delivered from every router to every destination.
// Plane 0 is the traffic itself; each further plane is an application class,
// whose pass share is the probability that a unit of work is not hit.
type Field struct {
	f      *fabric.Fabric
	planes int
	table  paths.Sets // in force; another's
	truth  paths.Sets // what the tables will be once all is noticed; another's
	level  []uint8    // by destination and router: rank of the cost at time 0

	polarised bool
	alive     []bool      // by router
	dirs      []Direction // by direction
	perfect   []uint64    // by router, as a next-hop set: ports that pass everything
	blots     []uint64    // by destination and router: a bit where not all is delivered, in every plane and of every flow
	blotWords int         // of one destination
	wholes    []uint64    // the same where some flow is lost entirely; only where not all is delivered
	deliver   blocks      // the shares; the same
	imperfect []int32     // by destination: how many routers deliver less than all
	marred    []int32     // working memory of Marred

	// Blameless, if there is one, says of a router's entry that is not the converged one
	// that no fault is behind it: then the next router on the way is asked.
	Blameless func(d, x int32) bool

	queue   [][]int32 // by destination: routers to look at
	pending []int32   // destinations with a queue
	isQueue []bool
	again   []bool // by destination: start over
	relist  []bool // by destination: list all sources that lose traffic

	walk    walker
	loss    lossTable
	spread  spreading
	circles circles

	// With core only the core is followed. Moved then lists the routers that the
	// destination settled last was computed anew for, some of them more than once;
	// Beyond says that what others lose may have changed too, in kind.
	core     bool
	farthest []uint8 // by destination: the highest level in the core
	Moved    []int32
	Beyond   bool

	// Sources are the leaves whose traffic to the destination settled last may
	// be delivered or lost in another way than before.
	Sources []int32
}

// New returns the field of a fabric in which everything is delivered. The
// tables must be those of time 0.
func New(f *fabric.Fabric, classes int, polarised bool, table, truth paths.Sets, cost func(d, x int32) uint32) *Field {
	q := &Field{f: f, planes: 1 + classes, table: table, truth: truth, level: kernel.Large[uint8](len(f.Routers) * f.Leaves), polarised: polarised}
	q.rankCosts(cost)
	q.init()
	return q
}

// Again returns a field of the same tables, routers and directions, of which every
// destination must be settled. Not with SetCore.
func (q *Field) Again() *Field {
	c := &Field{f: q.f, planes: q.planes, table: q.table, truth: q.truth, level: q.level, polarised: q.polarised, Blameless: q.Blameless}
	c.init()
	copy(c.alive, q.alive)
	for dir := range q.dirs {
		if !q.dirs[dir].sound() {
			c.SetDirection(int32(dir), q.dirs[dir])
		}
	}
	c.StartOver()
	return c
}

// StartOver has every destination computed anew; Sources are then all leaves.
func (q *Field) StartOver() {
	for d := range q.again {
		q.again[d] = true
		q.enqueue(int32(d), int32(d))
	}
}

// init makes a field of sound directions in which everything is delivered.
func (q *Field) init() {
	f, n, words := q.f, len(q.f.Routers), (len(q.f.Routers)+63)/64
	q.alive, q.dirs, q.perfect = make([]bool, n), make([]Direction, 2*len(f.Links)), make([]uint64, q.table.Stride)
	q.blots, q.wholes, q.blotWords = make([]uint64, words*f.Leaves), make([]uint64, words*f.Leaves), words
	q.imperfect, q.queue = make([]int32, f.Leaves), make([][]int32, f.Leaves)
	q.isQueue, q.again, q.relist = make([]bool, f.Leaves), make([]bool, f.Leaves), make([]bool, f.Leaves)
	for x := range n {
		q.alive[x] = true
		for p := range f.Ports[x] {
			q.perfect[int(q.table.Offset[x])+p>>6] |= 1 << (p & 63)
		}
	}
	passes := slices.Repeat([]float64{1}, q.planes)
	for i := range q.dirs {
		q.dirs[i].Pass = passes
	}
	q.deliver.init(len(q.blots), q.planes)
	q.walk.init(q)
	q.loss.init(n)
	q.spread.init(n, 1+int(slices.Max(q.level)))
	q.circles.init(n, f.Leaves, q.planes)
}

// rankCosts orders the routers of each destination by their cost at time 0, so
// that next hops of that time lead to a lower rank; beyond 255 to an equal one.
func (q *Field) rankCosts(cost func(d, x int32) uint32) {
	n := len(q.f.Routers)
	var seen []uint32
	for d := range q.f.Leaves {
		seen = seen[:0]
		for x := range n {
			seen = insertSorted(seen, cost(int32(d), int32(x)))
		}
		for x := range n {
			q.level[d*n+x] = uint8(min(255, position(seen, cost(int32(d), int32(x)))))
		}
	}
}

func position(sorted []uint32, v uint32) int {
	low, high := 0, len(sorted)
	for low < high {
		if mid := (low + high) / 2; sorted[mid] < v {
			low = mid + 1
		} else {
			high = mid
		}
	}
	return low
}

func insertSorted(sorted []uint32, v uint32) []uint32 {
	i := position(sorted, v)
	if i < len(sorted) && sorted[i] == v {
		return sorted
	}
	sorted = append(sorted, 0)
	copy(sorted[i+1:], sorted[i:])
	sorted[i] = v
	return sorted
}

func (q *Field) at(d, x int32) int { return int(d)*len(q.f.Routers) + int(x) }

// Delivered returns the share that is delivered from source to destination in
// a plane.
func (q *Field) Delivered(plane int, source, destination int32) float64 {
	return q.delivered(plane, destination, source)
}

// Whole says whether some flow from source to destination is lost entirely.
func (q *Field) Whole(source, destination int32) bool { return q.WholeAt(destination, source) }

func (q *Field) enqueue(d, x int32) {
	if !q.isQueue[d] {
		q.isQueue[d] = true
		q.pending = append(q.pending, d)
	}
	q.queue[d] = append(q.queue[d], x)
}

// EntryChanged says that x's entry for d in the table changed.
func (q *Field) EntryChanged(x, d int32) {
	q.enqueue(d, x)
}

// SetDirection says what a direction does from now on. Destinations that use
// it are looked at again even if nothing changed, because the cause may have.
func (q *Field) SetDirection(dir int32, state Direction) {
	q.dirs[dir] = state
	x := q.f.From(dir)
	port := q.port(x, dir>>1)
	w := &q.perfect[int(q.table.Offset[x]+port>>6)]
	if state.sound() {
		*w |= 1 << (port & 63)
	} else {
		*w &^= 1 << (port & 63)
	}
	if q.leafOut(x) {
		return
	}
	for d := int32(0); int(d) < q.f.Leaves; d++ {
		if q.table.Has(d, x, port) {
			q.enqueue(d, x)
		}
	}
}

// SetRouter says whether a router is alive. A dead leaf sends nothing.
func (q *Field) SetRouter(x int32, alive bool) {
	if q.alive[x] == alive {
		return
	}
	q.alive[x] = alive
	if q.leafOut(x) {
		q.enqueue(x, x)
		return
	}
	for d := int32(0); int(d) < q.f.Leaves; d++ {
		q.enqueue(d, x)
	}
	if int(x) < q.f.Leaves {
		q.again[x] = true
	}
}

func (q *Field) port(x, link int32) int32 {
	for p := range q.f.Ports[x] {
		if q.f.Ports[x][p].Link == link {
			return int32(p)
		}
	}
	panic("forwarding: a direction that leaves another router")
}

// Pending returns the destinations that must be settled, in no order, some of
// them more than once perhaps, and forgets them; each must be given to Settle.
func (q *Field) Pending(into []int32) []int32 {
	into = into[:0]
	for _, d := range q.pending {
		if q.isQueue[d] { // else it has been settled since
			into = append(into, d)
		}
	}
	q.pending = q.pending[:0]
	return into
}

// Review puts a destination up for settling although nothing was changed: what
// is lost may have to be charged in another way.
func (q *Field) Review(d int32) {
	q.relist[d] = true
	if !q.isQueue[d] {
		q.isQueue[d] = true
		q.pending = append(q.pending, d)
	}
}
