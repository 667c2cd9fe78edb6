// Package paths is the way to every destination from every router of one topology:
// costs and next-hop sets, brought up to date as the topology changes.
//
// It knows no LSPs, no timers and nothing that fails: who uses it says which metrics
// and bits hold. It is tested against gonum's Dijkstra and against itself without its
// memory of earlier moves.
package paths

import (
	"slices"

	"halflight/model/fabric"
	"halflight/sim/kernel"
)

// Unreachable is the cost to a destination that cannot be reached.
const Unreachable = ^uint32(0)

// Routes holds, for one topology, the cost and the next hops of every router
// towards every destination, and moves them along when the topology changes.
// A router with the overload bit is never transit. All next hops of equal
// least cost are used; parallel links are separate next hops.
//
// A change costs in proportion to the entries that change, plus a look at each
// destination for each changed link direction.
type Routes struct {
	f        *fabric.Fabric
	Next     Sets
	cost     []uint32   // by destination and router
	metric   [][]uint32 // by router and port; 0: not usable
	overload []bool

	// Touched collects, by router, destinations whose next hops changed since
	// the list was last emptied; entries may repeat.
	Touched [][]int32
	touched *kernel.Shorts[int32]

	// Full says that a router's list grew too long and was dropped: any of its
	// next hops may have changed.
	Full []bool

	edges   []edge
	removed []int32  // routers without a next hop, being worked on
	row     []uint64 // working memory: words of all routers, 0 in between
	work    Heap
	changed []int32
	was     []shift // what the entries of changed were
	mark    []uint32
	stamp   uint32

	digest, applied uint64 // of the topology: of that noted, and of that the routes are for
	past            *past
	found           []shift // of the move under way
}

// edge is a change of one direction, out of router's port, from one metric to
// another; 0 is not usable.
type edge struct {
	router, port, peer int32
	old, new           uint32
	transit            bool // only for destinations other than peer
	only               bool // only for peer, a leaf that is never transit
}

// NewRoutes returns the routes when no link can be used.
func NewRoutes(f *fabric.Fabric, l *Layout) *Routes {
	n := len(f.Routers)
	r := &Routes{f: f, Next: NewSets(l), row: make([]uint64, l.Stride), cost: kernel.Large[uint32](f.Leaves * n), overload: make([]bool, n),
		Full: make([]bool, n), mark: make([]uint32, n), past: new(past)}
	r.touchNone()
	for i := range r.cost {
		r.cost[i] = Unreachable
	}
	for d := range f.Leaves {
		r.cost[d*n+d] = 0
	}
	for x := range n {
		r.metric = append(r.metric, make([]uint32, len(f.Ports[x])))
	}
	return r
}

// Cost returns the cost from router x to destination d.
func (r *Routes) Cost(d, x int32) uint32 { return r.cost[int(d)*len(r.f.Routers)+int(x)] }

// Overloaded says whether x carries the overload bit.
func (r *Routes) Overloaded(x int32) bool { return r.overload[x] }

// SetMetric notes that x's port has another metric, 0 for not usable. Apply
// carries it out.
func (r *Routes) SetMetric(x, port int32, metric uint32) {
	old := r.metric[x][port]
	if old == metric {
		return
	}
	r.metric[x][port] = metric
	r.digest ^= mixed(x, port, old) ^ mixed(x, port, metric)
	peer := r.f.Ports[x][port].Peer
	r.edges = append(r.edges, edge{x, port, peer, old, metric, false, r.overload[peer] && int(peer) < r.f.Leaves})
}

// SetOverload notes that x's overload bit changed. It is carried out at once,
// with the changes noted before.
func (r *Routes) SetOverload(x int32, on bool) {
	if r.overload[x] == on {
		return
	}
	r.Apply()
	r.overload[x] = on
	r.digest ^= mixed(x, -1, 1)
	for _, port := range r.f.Ports[x] {
		m := r.metric[port.Peer][port.Back]
		if m == 0 {
			continue
		}
		e := edge{port.Peer, port.Back, x, 0, m, true, false}
		if on {
			e.old, e.new = m, 0
		}
		r.edges = append(r.edges, e)
	}
	r.Apply()
}

// Begin sets what a router gives for its ports, and its bit, in the first topology.
func (r *Routes) Begin(x int32, metric []uint32, overload bool) {
	copy(r.metric[x], metric)
	r.overload[x] = overload
}

// Fill finds all routes from nothing; for the first topology only.
func (r *Routes) Fill() {
	r.edges, r.applied = r.edges[:0], r.digest
	n, even, like := len(r.f.Routers), r.even(), int32(-1)
	for d := int32(0); int(d) < r.f.Leaves; d++ {
		r.stamp++
		cost := r.cost[int(d)*n : (int(d)+1)*n]
		if even {
			if like >= 0 && r.twins(d, like) {
				r.mirror(d, like)
				continue
			}
			r.flow(d, cost)
			like = d
			continue
		}
		for _, p := range r.f.Ports[d] {
			if m := r.metric[p.Peer][p.Back]; m != 0 {
				r.offer(d, cost, p.Peer, p.Back, d, m)
			}
		}
		r.shorten(d, cost)
		r.changed, r.was = r.changed[:0], r.was[:0]
	}
}

// even says whether all metrics are 1, so that costs are hops.
func (r *Routes) even() bool {
	for _, list := range r.metric {
		for _, m := range list {
			if m > 1 {
				return false
			}
		}
	}
	return true
}

// flow finds the routes to d where costs are hops, level by level.
func (r *Routes) flow(d int32, cost []uint32) {
	front := append(r.removed[:0], d)
	for i := 0; i < len(front); i++ {
		x := front[i]
		if !r.usable(d, x) {
			continue
		}
		then := cost[x] + 1
		for _, p := range r.f.Ports[x] {
			if r.metric[p.Peer][p.Back] == 0 {
				continue
			}
			if cost[p.Peer] == Unreachable {
				cost[p.Peer] = then
				front = append(front, p.Peer)
			}
			if cost[p.Peer] == then {
				r.row[int(r.Next.Offset[p.Peer]+p.Back>>6)] |= 1 << (p.Back & 63)
			}
		}
	}
	for _, x := range front {
		i := r.Next.Offset[x]
		set := r.row[i : i+r.Next.Words[x]]
		r.Next.Put(d, x, set)
		clear(set)
	}
	r.removed = front[:0]
}

// twins says whether two destinations have the same neighbours at the same ports,
// with equal metrics either way, and equal bits: nothing changes if they change
// places.
func (r *Routes) twins(a, b int32) bool {
	mine, other := r.f.Ports[a], r.f.Ports[b]
	if len(mine) != len(other) || r.overload[a] != r.overload[b] {
		return false
	}
	for i, p := range mine {
		o := other[i]
		if p.Peer != o.Peer || r.metric[a][i] != r.metric[b][i] || r.metric[p.Peer][p.Back] != r.metric[o.Peer][o.Back] {
			return false
		}
	}
	return true
}

// mirror finds the routes to d from those to its twin: the two change places.
func (r *Routes) mirror(d, twin int32) {
	n := len(r.f.Routers)
	to, from := int(d)*n, int(twin)*n
	cost, like := r.cost[to:to+n], r.cost[from:from+n]
	copy(cost, like)
	cost[d], cost[twin] = 0, like[d]
	r.Next.Numbers.Repeat(to, from, n)
	r.Next.Put(d, twin, r.Next.Of(twin, d))
	r.Next.Put(d, d, r.Next.Of(twin, twin))
	for i, p := range r.f.Ports[d] {
		back := r.f.Ports[twin][i].Back
		here, there := r.Next.Has(twin, p.Peer, p.Back), r.Next.Has(twin, p.Peer, back)
		if here == there {
			continue
		}
		if there {
			r.Next.Take(d, p.Peer, back)
			r.Next.add(d, p.Peer, p.Back)
		} else {
			r.Next.Take(d, p.Peer, p.Back)
			r.Next.add(d, p.Peer, back)
		}
	}
}

// Clone returns an independent copy with nothing noted or touched.
func (r *Routes) Clone() *Routes {
	n := len(r.f.Routers)
	c := &Routes{f: r.f, Next: NewSets(r.Next.Layout), row: make([]uint64, len(r.row)), cost: kernel.Large[uint32](len(r.cost)),
		overload: slices.Clone(r.overload), Full: make([]bool, n), mark: make([]uint32, n),
		digest: r.digest, applied: r.applied, past: r.past}
	c.touchNone()
	c.Next.Copy(r.Next)
	copy(c.cost, r.cost)
	for _, m := range r.metric {
		c.metric = append(c.metric, slices.Clone(m))
	}
	return c
}

// Apply carries out the changes noted since the last call.
func (r *Routes) Apply() {
	if len(r.edges) == 0 {
		return
	}
	from, to, forgotten := r.applied, r.digest, r.Next.distinct.Forgotten
	r.applied = to
	if changes, side, ok := r.past.find(from, to, forgotten); ok || from == to {
		r.again(changes, side)
		r.edges = r.edges[:0]
		return
	}
	r.found = r.found[:0]
	for d := int32(0); int(d) < r.f.Leaves; d++ {
		if r.concerns(d) {
			r.repair(d)
		}
	}
	r.edges = r.edges[:0]
	if len(r.found) <= pastChanges && r.Next.distinct.Forgotten == forgotten {
		r.past.keep(from, to, r.found)
	}
}

// again carries out changes found before, or undoes them.
func (r *Routes) again(changes []shift, side int) {
	n := len(r.f.Routers)
	for i := range changes {
		e := &changes[i]
		at := int(e.d)*n + int(e.x)
		r.Next.Numbers.Put(at, e.set[side])
		r.cost[at] = e.cost[side]
		r.Touch(e.x, e.d)
	}
}

// usable says whether a path to d may go through router n.
func (r *Routes) usable(d, n int32) bool { return n == d || !r.overload[n] }

// concerns says whether any noted change can matter to destination d.
func (r *Routes) concerns(d int32) bool {
	cost := r.cost[int(d)*len(r.f.Routers):]
	for i := range r.edges {
		e := &r.edges[i]
		if e.only && d != e.peer {
			continue
		}
		if e.old != 0 && r.Next.Has(d, e.router, e.port) {
			return true
		}
		if e.new != 0 && (e.old == 0 || e.new < e.old) && e.router != d && r.usable(d, e.peer) &&
			cost[e.peer] != Unreachable && e.new+cost[e.peer] <= cost[e.router] {
			return true
		}
	}
	return false
}

// repair brings destination d up to date: first what got longer, then what got
// shorter.
func (r *Routes) repair(d int32) {
	r.stamp++
	r.changed, r.was = r.changed[:0], r.was[:0]
	cost := r.cost[int(d)*len(r.f.Routers) : (int(d)+1)*len(r.f.Routers)]
	for i := range r.edges {
		e := &r.edges[i]
		if e.old == 0 || (e.only && e.peer != d) || (e.transit && e.peer == d) || !r.Next.Has(d, e.router, e.port) || (e.new != 0 && e.new < e.old) {
			continue
		}
		r.drop(d, e.router, e.port)
	}
	if len(r.removed) > 0 {
		r.lengthen(d, cost)
	}
	for i := range r.edges {
		e := &r.edges[i]
		if e.new == 0 || (e.only && e.peer != d) || (e.transit && e.peer == d) || (e.old != 0 && e.new > e.old) {
			continue
		}
		if m := r.metric[e.router][e.port]; m != 0 {
			r.offer(d, cost, e.router, e.port, e.peer, m)
		}
	}
	if len(r.work) > 0 {
		r.shorten(d, cost)
	}
	n := len(r.f.Routers)
	for i, x := range r.changed {
		r.Touch(x, d)
		e := r.was[i]
		e.set[1], e.cost[1] = uint32(r.Next.Numbers.Of(int(d)*n+int(x))), cost[x]
		if e.set[0] != e.set[1] || e.cost[0] != e.cost[1] {
			r.found = append(r.found, e)
		}
	}
}

// Touch notes that x's next hops towards d may differ from what x has.
func (r *Routes) Touch(x, d int32) {
	if len(r.Touched[x]) > 4*r.f.Leaves {
		r.Forget(x)
		r.Full[x] = true
	}
	r.Touched[x] = r.touched.Append(r.Touched[x], d)
}

// Forget empties a router's list of destinations touched.
func (r *Routes) Forget(x int32) { r.Touched[x] = r.touched.Empty(int(x), r.Touched[x]) }

// touchNone begins with empty lists. Most runs find one destination or two.
func (r *Routes) touchNone() {
	n := len(r.f.Routers)
	r.Touched, r.touched = make([][]int32, n), kernel.NewShorts[int32](n, 4)
	for x := range r.Touched {
		r.Forget(int32(x))
	}
}

// note notes that x's entry for d is about to change.
func (r *Routes) note(d, x int32) {
	if r.mark[x] != r.stamp {
		r.mark[x] = r.stamp
		r.changed = append(r.changed, x)
		at := int(d)*len(r.f.Routers) + int(x)
		r.was = append(r.was, shift{d: d, x: x, set: [2]uint32{uint32(r.Next.Numbers.Of(at))}, cost: [2]uint32{r.cost[at]}})
	}
}

// drop removes a next hop; a router left without one goes to removed.
func (r *Routes) drop(d, x, port int32) {
	r.note(d, x)
	if r.Next.Take(d, x, port) {
		r.removed = append(r.removed, x)
	}
}

// lengthen finds the new costs of the routers in removed and of those that
// depend on them.
func (r *Routes) lengthen(d int32, cost []uint32) {
	for i := 0; i < len(r.removed); i++ {
		x := r.removed[i]
		cost[x] = Unreachable
		if !r.usable(d, x) {
			continue
		}
		for _, p := range r.f.Ports[x] {
			if r.Next.Has(d, p.Peer, p.Back) {
				r.drop(d, p.Peer, p.Back)
			}
		}
	}
	for _, x := range r.removed {
		if c := r.least(d, x, cost); c != Unreachable {
			r.work.Push(c, x)
		}
	}
	r.removed = r.removed[:0]
	// A change that lengthens may come with one that shortens: who is found again
	// may be nearer than before, or as near, for routers that were not removed.
	r.shorten(d, cost)
}

// least returns the least cost of x over its ports.
func (r *Routes) least(d, x int32, cost []uint32) uint32 {
	low := Unreachable
	for p, port := range r.f.Ports[x] {
		if m := r.metric[x][p]; m != 0 && cost[port.Peer] != Unreachable && r.usable(d, port.Peer) {
			low = min(low, m+cost[port.Peer])
		}
	}
	return low
}

// rebuild makes x's next hops anew from its cost.
func (r *Routes) rebuild(d, x int32, cost []uint32) {
	set := r.row[:r.Next.Words[x]]
	for p, port := range r.f.Ports[x] {
		if m := r.metric[x][p]; m != 0 && cost[port.Peer] != Unreachable && m+cost[port.Peer] == cost[x] && r.usable(d, port.Peer) {
			set[p>>6] |= 1 << (p & 63)
		}
	}
	r.Next.Put(d, x, set)
	clear(set)
}

// offer considers a shorter or new way from x over a port.
func (r *Routes) offer(d int32, cost []uint32, x, port, peer int32, metric uint32) {
	if x == d || !r.usable(d, peer) || cost[peer] == Unreachable {
		return
	}
	switch c := metric + cost[peer]; {
	case c < cost[x]:
		r.work.Push(c, x)
	case c == cost[x] && !r.Next.Has(d, x, port):
		r.note(d, x)
		r.Next.add(d, x, port)
	}
}

// shorten spreads the lower costs in work.
func (r *Routes) shorten(d int32, cost []uint32) {
	for len(r.work) > 0 {
		c, x := r.work.Pop()
		if c >= cost[x] {
			continue
		}
		r.note(d, x)
		cost[x] = c
		r.rebuild(d, x, cost)
		if !r.usable(d, x) {
			continue
		}
		for _, p := range r.f.Ports[x] {
			m := r.metric[p.Peer][p.Back]
			if m == 0 {
				continue
			}
			// A peer that came here at a lower cost now has it as its only way.
			r.offer(d, cost, p.Peer, p.Back, x, m)
		}
	}
}
