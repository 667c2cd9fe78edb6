package linkstate

import (
	"slices"

	"halflight/sim/paths"
)

// Routers may wait before they write, so that packets do not loop between those
// that have written and those that have not: the router at a link that failed
// (RFC 8333), or all by rank (RFC 6976). Both know what changed by comparing the
// database of the run before with that of this run.

// change is what differs between two databases: the links that both ends list,
// their metrics, or an overload bit.
type change struct {
	links    []int32 // that came, went or have other metrics
	worse    bool    // all of them went or cost more
	better   bool    // all of them came or cost less
	wentAway bool    // all of them went
	bits     bool    // an overload bit, or more than can be put in order
}

// compareDatabases returns what differs.
func (c *Control) compareDatabases(had, has []*lsp) change {
	d := change{worse: true, better: true, wentAway: true}
	for o := range has {
		if had[o] == has[o] {
			continue
		}
		if (had[o] != nil && had[o].overload) != (has[o] != nil && has[o].overload) {
			d.bits = true
		}
		for p, port := range c.f.Ports[o] {
			if had[o].lists(int32(p)) == has[o].lists(int32(p)) && (!has[o].lists(int32(p)) || had[o].metric[p] == has[o].metric[p]) || slices.Contains(d.links, port.Link) {
				continue
			}
			before := listedBy(had, int32(o), int32(p), port.Peer, port.Back)
			after := listedBy(has, int32(o), int32(p), port.Peer, port.Back)
			if before == after {
				continue
			}
			d.links = append(d.links, port.Link)
			d.worse = d.worse && costlier(after[0], before[0]) && costlier(after[1], before[1])
			d.better = d.better && costlier(before[0], after[0]) && costlier(before[1], after[1])
			d.wentAway = d.wentAway && after[0] == 0
		}
	}
	return d
}

// listedBy returns the metrics of a link in both directions if both ends list
// it, else 0 twice.
func listedBy(all []*lsp, x, port, peer, back int32) [2]uint32 {
	if all[x].lists(port) && all[peer].lists(back) {
		return [2]uint32{all[x].metric[port], all[peer].metric[back]}
	}
	return [2]uint32{}
}

// costlier says whether metric a is at least b; 0 stands for no link.
func costlier(a, b uint32) bool { return a == 0 || b != 0 && a >= b }

// restrain decides how long the writes of the run that starts now must wait.
func (c *Control) restrain(x, snap int32, now int64) {
	r := &c.routers[x]
	if r.source < 0 || r.source == snap {
		return
	}
	if c.t.LocalDelay > 0 {
		d := c.compareDatabases(c.snaps.all[r.source].lsps, c.snaps.all[snap].lsps)
		if len(d.links) == 1 && d.wentAway && !d.bits {
			if l := &c.f.Links[d.links[0]]; l.Lower == x || l.Upper == x {
				c.unhold(x)
				r.holding = -1 // from the end of the run
				c.holding++
			}
		}
	}
	if c.t.Ordered {
		if rank, ok := c.rankOf(x, r.source, snap); ok {
			r.wait = r.armedAt + c.t.OrderHold + int64(rank)*c.t.OrderStep
		}
	}
}

// mayWrite is when x may begin to write what its run changes.
func (c *Control) mayWrite(x int32, now int64) int64 {
	r := &c.routers[x]
	if r.holding >= 0 {
		return r.wait
	}
	until := now + c.t.LocalDelay
	r.freeAt = max(now, r.writeEnd)
	if until > r.freeAt {
		r.holding = until
	} else {
		c.unhold(x)
	}
	return until
}

// unhold forgets a local delay.
func (c *Control) unhold(x int32) {
	if c.routers[x].holding != 0 {
		c.holding--
	}
	c.routers[x].holding = 0
}

// hurry ends a local delay of x because of another event: what waits is written
// from now on.
func (c *Control) hurry(x int32, now int64) {
	r := &c.routers[x]
	held := r.holding
	c.unhold(x)
	if held <= now || len(r.pending) == 0 { // none, or the run still goes on
		return
	}
	early := held - max(now, r.freeAt)
	for i := range r.pending {
		if r.pending[i].at >= held {
			r.pending[i].at -= early
		}
	}
	r.writeEnd -= early
	c.join(r.pending[0].at, Write, x)
	if r.stage == inWriting {
		r.readyAt -= early
		c.task(r.readyAt, Ready, x, x, 0)
	}
}

// ranks are the ranks of all routers for one change, and for which.
type ranks struct {
	of    [4]uint64 // slots and serials of the two databases
	known bool
	ok    bool // the change is of one link or one router, for the worse or for the better
	rank  []int32
}

// rankOf returns the rank of x in the order of writing between two databases.
func (c *Control) rankOf(x, had, has int32) (int32, bool) {
	a, b := &c.snaps.all[had], &c.snaps.all[has]
	k := &c.ranks
	if of := [4]uint64{uint64(had), a.serial, uint64(has), b.serial}; !k.known || k.of != of {
		*k = ranks{of: of, known: true, rank: k.rank}
		c.rankAll(a.lsps, b.lsps)
	}
	if !k.ok {
		return 0, false
	}
	return k.rank[x], true
}

// rankAll works out the ranks of all routers. After a change for the worse those
// furthest from it write first: a router's rank is the length of the longest
// branch of the old tree below it. After one for the better those nearest write
// first: its rank is the hops from it to what changed in the new tree.
func (c *Control) rankAll(had, has []*lsp) {
	k := &c.ranks
	d := c.compareDatabases(had, has)
	roots, node := c.changed(d.links)
	if k.ok = !d.bits && len(d.links) > 0 && d.worse != d.better && len(roots) > 0; !k.ok {
		return
	}
	if k.rank == nil {
		k.rank = make([]int32, len(c.routers))
	}
	clear(k.rank)
	tree := had
	if d.better {
		tree = has
	}
	for _, root := range roots {
		t := c.treeTo(tree, root)
		if d.better {
			t.hopsFrom(c, root, node, d.links, k.rank)
		} else {
			t.below(c, root, node, d.links, k.rank)
		}
	}
}

// changed returns the ends of the one link that changed, or the one router that
// all changed links are at.
func (c *Control) changed(links []int32) (roots []int32, node bool) {
	if len(links) == 0 {
		return nil, false
	}
	first := &c.f.Links[links[0]]
	if len(links) == 1 {
		return []int32{first.Lower, first.Upper}, false
	}
	for _, x := range [2]int32{first.Lower, first.Upper} {
		all := true
		for _, l := range links {
			all = all && (c.f.Links[l].Lower == x || c.f.Links[l].Upper == x)
		}
		if all {
			return []int32{x}, true
		}
	}
	return nil, false
}

// tree is the least cost from every router to one, and the routers in the order
// of that cost.
type tree struct {
	lsps  []*lsp
	cost  []uint32
	order []int32
}

func (c *Control) treeTo(lsps []*lsp, root int32) *tree {
	t := &tree{lsps: lsps, cost: make([]uint32, len(c.routers))}
	done := make([]bool, len(c.routers))
	for i := range t.cost {
		t.cost[i] = paths.Unreachable
	}
	t.cost[root] = 0
	c.scratch.heap = c.scratch.heap[:0]
	c.scratch.heap.Push(0, root)
	for len(c.scratch.heap) > 0 {
		cost, y := c.scratch.heap.Pop()
		if done[y] || cost > t.cost[y] {
			continue
		}
		done[y] = true
		t.order = append(t.order, y)
		if y != root && lsps[y] != nil && lsps[y].overload {
			continue // never transit
		}
		for p, port := range c.f.Ports[y] {
			m := listedBy(lsps, y, int32(p), port.Peer, port.Back)
			if m[0] != 0 && cost+m[1] < t.cost[port.Peer] {
				t.cost[port.Peer] = cost + m[1]
				c.scratch.heap.Push(cost+m[1], port.Peer)
			}
		}
	}
	return t
}

// uses says whether x sends to the root over a port.
func (t *tree) uses(c *Control, x, port, root int32) bool {
	p := c.f.Ports[x][port]
	m := listedBy(t.lsps, x, port, p.Peer, p.Back)
	transit := p.Peer == root || t.lsps[p.Peer] == nil || !t.lsps[p.Peer].overload
	return m[0] != 0 && transit && t.cost[p.Peer] != paths.Unreachable && t.cost[x] == t.cost[p.Peer]+m[0]
}

// below raises ranks to the depth of what lies below each router, of those
// whose way to the root leads over what changed: the link, or the root itself.
func (t *tree) below(c *Control, root int32, node bool, links []int32, rank []int32) {
	depth := make([]int32, len(c.routers))
	for i := len(t.order) - 1; i > 0; i-- {
		x := t.order[i]
		for p, port := range c.f.Ports[x] {
			if t.uses(c, x, int32(p), root) {
				depth[port.Peer] = max(depth[port.Peer], depth[x]+1)
			}
		}
	}
	via := t.through(c, root, node, links[0])
	for _, x := range t.order {
		if via[x] {
			rank[x] = max(rank[x], depth[x])
		}
	}
}

// through says which routers have a way to the root over a link; all with a way
// if it is the root itself that changed.
func (t *tree) through(c *Control, root int32, node bool, link int32) []bool {
	via := make([]bool, len(c.routers))
	for _, x := range t.order {
		if via[x] = node; node || x == root {
			continue
		}
		for p, port := range c.f.Ports[x] {
			if t.uses(c, x, int32(p), root) && (port.Link == link || via[port.Peer]) {
				via[x] = true
				break
			}
		}
	}
	via[root] = false
	return via
}

// hopsFrom raises ranks to the most hops of a way to what changed.
func (t *tree) hopsFrom(c *Control, root int32, node bool, links []int32, rank []int32) {
	hops := make([]int32, len(c.routers))
	via := t.through(c, root, node, links[0])
	for _, x := range t.order {
		for p, port := range c.f.Ports[x] {
			if x != root && t.uses(c, x, int32(p), root) {
				hops[x] = max(hops[x], hops[port.Peer]+1)
			}
		}
		if away := hops[x]; via[x] {
			if !node {
				away-- // the near end of the link is no hop away
			}
			rank[x] = max(rank[x], away)
		}
	}
}
