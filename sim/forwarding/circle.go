package forwarding

import (
	"math/bits"
	"slices"

	"halflight/sim/paths"
	"halflight/sim/wander"
)

// circles are the routers from which packets to one destination can come back:
// the strongly connected parts of the next-hop graph with more than one router.
type circles struct {
	uphill  [][]int32 // by destination: routers with a next hop that is not downhill
	members [][]int32 // by destination: routers on a circle now, part after part
	part    []int32   // by router, for the destination at hand: number of its part, -1
	parts   [][]int32
	index   []int32
	low     []int32
	onStack []bool
	stack   []int32
	count   int32
	on      []bool // by router: on the way so far
	exits   [][]float64
	exitGap []bool
	inner   [][]innerHop // by router: next hops in its own part
	leaks   [][]uint16   // by router: ports out of its part over which something is lost
	totals  []float64
	steps   int     // left of stepsMost
	most    int     // stepsMost; less in tests
	stars   []star  // as parts, if all of these are stars; else empty
	flocks  []flock // by part, as far as ways had to be bundled
	ways    wander.Room
	sendsTo []uint64 // by router: see amongHubs, 0 but there
	place   []int32  // by router: in the part for which breeds was asked last
}

// innerHop is a next hop within a part.
type innerHop struct {
	peer int32
	dir  int32
}

func (c *circles) init(n, leaves, planes int) {
	c.uphill, c.members = make([][]int32, leaves), make([][]int32, leaves)
	c.part, c.index, c.low = make([]int32, n), make([]int32, n), make([]int32, n)
	c.onStack, c.on = make([]bool, n), make([]bool, n)
	c.sendsTo, c.place = make([]uint64, n), make([]int32, n)
	c.exitGap, c.inner, c.leaks = make([]bool, n), make([][]innerHop, n), make([][]uint16, n)
	for i := range c.part {
		c.part[i], c.index[i] = -1, -1
	}
	for range planes {
		c.exits = append(c.exits, make([]float64, n))
	}
	c.totals, c.most = make([]float64, planes), stepsMost
}

// classify keeps the list of routers with a next hop that is not downhill.
func (q *Field) classify(d, x int32) {
	level := q.level[int(d)*len(q.f.Routers):]
	up := false
	links, own := q.f.Ports[x], level[x]
	for i, w := range q.table.Of(d, x) {
		for ; w != 0 && !up; w &= w - 1 {
			up = level[links[64*i+bits.TrailingZeros64(w)].Peer] >= own
		}
	}
	list := q.circles.uphill[d]
	i := slices.Index(list, x)
	switch {
	case up && i < 0:
		q.circles.uphill[d] = append(list, x)
	case !up && i >= 0:
		q.circles.uphill[d] = slices.Delete(list, i, i+1)
	}
}

// findCircles finds the circles of d, if any, and has those that are or were on
// one computed anew.
func (q *Field) findCircles(d int32) {
	c := &q.circles
	c.forget()
	for _, x := range c.members[d] {
		q.spread.put(q, d, x)
	}
	c.members[d] = c.members[d][:0]
	if len(c.uphill[d]) == 0 {
		return
	}
	if !q.findStars(d) {
		c.count = 0
		var seen []int32
		for _, x := range c.uphill[d] {
			if c.index[x] < 0 {
				seen = q.connect(d, x, seen)
			}
		}
		for _, x := range seen {
			c.index[x] = -1
		}
	}
	for i, part := range c.parts {
		for _, x := range part {
			c.part[x] = int32(i)
			c.members[d] = append(c.members[d], x)
			q.spread.put(q, d, x)
		}
	}
}

// forget forgets the parts of the destination before.
func (c *circles) forget() {
	for _, p := range c.parts {
		for _, x := range p {
			c.part[x] = -1
		}
	}
	c.parts = c.parts[:0]
	c.stars = c.stars[:0]
}

// connect is Tarjan's search for strongly connected parts from x (SIAM J.
// Comput. 1(2), 1972).
func (q *Field) connect(d, x int32, seen []int32) []int32 {
	c := &q.circles
	c.index[x], c.low[x] = c.count, c.count
	c.count++
	c.stack = append(c.stack, x)
	c.onStack[x] = true
	seen = append(seen, x)
	if q.alive[x] && x != d {
		all := q.f.Ports[x]
		for w, word := range q.table.Of(d, x) {
			for ; word != 0; word &= word - 1 {
				port := &all[w*64+bits.TrailingZeros64(word)]
				n := port.Peer
				if q.leafOut(n) || q.dirs[port.Out()].Dead {
					continue
				}
				if c.index[n] < 0 {
					seen = q.connect(d, n, seen)
					c.low[x] = min(c.low[x], c.low[n])
				} else if c.onStack[n] {
					c.low[x] = min(c.low[x], c.index[n])
				}
			}
		}
	}
	if c.low[x] == c.index[x] {
		i := len(c.stack) - 1
		for c.stack[i] != x {
			i--
		}
		for _, y := range c.stack[i:] {
			c.onStack[y] = false
		}
		if len(c.stack)-i > 1 {
			c.parts = append(c.parts, slices.Clone(c.stack[i:]))
		}
		c.stack = c.stack[:i]
	}
	return seen
}

// recomputeCircle computes the routers of one part together: what leaves the
// part is known, and within it every way without a router twice is followed; bundled,
// if there are too many.
func (q *Field) recomputeCircle(d, part int32) {
	c := &q.circles
	members := c.parts[part]
	for _, x := range members { // all are seen to at once
		q.spread.waiting[x] = 0
	}
	if len(c.stars) > 0 {
		q.recomputeStar(d, part)
		return
	}
	for _, x := range members {
		q.exit(d, x)
	}
	if q.closed(part) {
		for _, x := range members {
			q.see(d, x, q.assign(d, x, q.loss.zeros[:q.planes], true))
		}
		return
	}
	mixed := false // too many kinds of routers to be bundled
	for _, x := range members {
		clear(c.totals)
		c.steps = c.most
		whole := q.wander(d, x, part, 1, q.loss.ones[:q.planes])
		if c.steps < 0 && !mixed {
			if q.wanderAlike(d, part) {
				return
			}
			mixed = true
		}
		q.see(d, x, q.assign(d, x, c.totals, whole))
	}
}

// closed says whether nothing that is in a part is delivered, in any plane.
func (q *Field) closed(part int32) bool {
	c := &q.circles
	for _, x := range c.parts[part] {
		for i := range c.exits {
			if c.exits[i][x] != 0 {
				return false
			}
		}
	}
	return true
}

// isHopeless says whether nothing that is in a part is delivered and every router of it is
// the one that is asked why, where leaves are weighed together: how much falls to which
// cause may be told in the mean then.
func (q *Field) isHopeless(d, part int32) bool {
	if !q.core || !q.closed(part) {
		return false
	}
	for _, x := range q.circles.parts[part] {
		if q.innocent(d, x) {
			return false
		}
	}
	return true
}

// isThick says whether a part has so many ways within it that none need be followed to
// know that they must be bundled.
func (q *Field) isThick(part int32) bool {
	c, edges := &q.circles, 0
	for _, x := range c.parts[part] {
		edges += len(c.inner[x])
	}
	return len(c.parts[part]) >= 12 && edges >= 6*len(c.parts[part])
}

// exit is what router x delivers by next hops outside its part.
func (q *Field) exit(d, x int32) {
	c := &q.circles
	for i := range c.exits {
		c.exits[i][x] = 0
	}
	c.exitGap[x] = false
	c.inner[x], c.leaks[x] = c.inner[x][:0], c.leaks[x][:0]
	k := 0
	for w, word := range q.table.Of(d, x) {
		for ; word != 0; word &= word - 1 {
			p := w*64 + bits.TrailingZeros64(word)
			q.exitPort(d, x, p)
			k++
		}
	}
	for i := range c.exits {
		c.exits[i][x] /= float64(k)
	}
}

func (q *Field) exitPort(d, x int32, p int) {
	c := &q.circles
	port := &q.f.Ports[x][p]
	dir := &q.dirs[port.Out()]
	if dir.Dead {
		c.exitGap[x] = true
		c.leaks[x] = append(c.leaks[x], uint16(p))
		return
	}
	c.exitGap[x] = c.exitGap[x] || dir.Whole
	if c.part[port.Peer] == c.part[x] {
		c.inner[x] = append(c.inner[x], innerHop{port.Peer, port.Out()})
		if dir.Pass[0] < 1 {
			c.leaks[x] = append(c.leaks[x], uint16(p))
		}
		return
	}
	c.exitGap[x] = c.exitGap[x] || q.WholeAt(d, port.Peer)
	for i := range c.exits {
		c.exits[i][x] += float64(dir.Pass[i] * q.delivered(i, d, port.Peer))
	}
	if dir.Pass[0] < 1 || q.delivered(0, d, port.Peer) != 1 {
		c.leaks[x] = append(c.leaks[x], uint16(p))
	}
}

// hopsOf is how many next hops x has.
func (q *Field) hopsOf(d, x int32) float64 {
	return float64(paths.HopsIn(q.table.Of(d, x)))
}

// wander adds to totals what a flow at x delivers, and says whether some of it
// is lost entirely. What is left when the steps are counts as looped.
func (q *Field) wander(d, x, part int32, share float64, pass []float64) (whole bool) {
	c := &q.circles
	if c.steps--; c.steps < 0 {
		return true
	}
	for i := range c.totals {
		c.totals[i] += float64(float64(share*pass[i]) * c.exits[i][x])
	}
	whole = c.exitGap[x]
	c.on[x] = true
	each := share / q.hopsOf(d, x)
	var buf [16]float64
	left := buf[:len(pass)]
	for _, h := range c.inner[x] {
		if c.on[h.peer] {
			whole = true
			continue
		}
		for i := range left {
			left[i] = float64(pass[i] * q.dirs[h.dir].Pass[i])
		}
		if q.wander(d, h.peer, part, each, left) {
			whole = true
		}
	}
	c.on[x] = false
	return whole
}

// gatherAll appends the losses of a unit of traffic at x, which is on a circle, to
// the list that begins at begin.
func (q *Field) gatherAll(d, x, circle int32, begin int) {
	c := &q.circles
	if (q.isFlock(circle) || q.isThick(circle) && q.isHopeless(d, circle)) && q.gatherAlike(d, x, circle, begin) {
		return
	}
	outer := c.steps // another part's, whose way has led here
	c.steps = c.most
	q.gatherCircle(d, x, circle, -1, 1, begin)
	if c.steps < 0 {
		kept := slices.Clone(q.loss.part[begin:])
		q.loss.part = q.loss.part[:begin]
		if !q.gatherAlike(d, x, circle, begin) {
			q.loss.part = append(q.loss.part, kept...)
		}
	}
	c.steps = outer
}

// gatherCircle follows what is at x and has seen its part as far as c.on says.
func (q *Field) gatherCircle(d, x, circle, first int32, share float64, begin int) {
	c := &q.circles
	if first < 0 && !q.innocent(d, x) {
		first = x
	}
	if c.steps--; c.steps < 0 {
		q.addLoss(begin, Loss{Loop, true, -1, first, share})
		return
	}
	c.on[x] = true
	each := share / q.hopsOf(d, x)
	for _, p := range c.leaks[x] {
		q.gatherLeak(d, x, int(p), first, each, begin)
	}
	for _, h := range c.inner[x] {
		left := float64(each * q.dirs[h.dir].Pass[0])
		switch {
		case left == 0:
		case c.on[h.peer]:
			q.addLoss(begin, Loss{Loop, true, -1, first, left})
		default:
			q.gatherCircle(d, h.peer, circle, first, left, begin)
		}
	}
	c.on[x] = false
}

// gatherLeak appends what is lost over one port, within the direction or, out
// of the part, beyond it.
func (q *Field) gatherLeak(d, x int32, p int, first int32, each float64, begin int) {
	c := &q.circles
	port := &q.f.Ports[x][p]
	dir := &q.dirs[port.Out()]
	if dir.Dead {
		q.addLoss(begin, Loss{DeadDirection, true, dir.Cause, first, each})
		return
	}
	if dir.Pass[0] < 1 {
		q.addLoss(begin, dir.loses(first, float64(each*(1-dir.Pass[0]))))
	}
	if left := float64(each * dir.Pass[0]); left != 0 && c.part[port.Peer] != c.part[x] && q.delivered(0, d, port.Peer) != 1 {
		q.addBeyond(begin, d, port.Peer, first, left)
	}
}
