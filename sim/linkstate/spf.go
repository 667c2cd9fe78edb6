package linkstate

import "halflight/sim/paths"

// seek moves the shared routes to router x's database. It returns false if
// that is too far away for it to be worth it: the caller then looks for x's
// routes alone.
func (c *Control) seek(x int32) bool {
	if c.curHash == c.data.hash[x] {
		return true
	}
	moved := c.scratch.origins[:0]
	hash := c.curHash
	once := c.scratch.once()
	for _, o := range c.behind {
		if s := c.data.seq[o][x]; s != c.curSeq[o] && once(o) {
			moved = append(moved, o)
			hash ^= digest(o, s) ^ digest(o, c.curSeq[o])
		}
	}
	if hash != c.data.hash[x] {
		moved = moved[:0]
		for o := range c.routers {
			if c.data.seq[o][x] != c.curSeq[o] {
				moved = append(moved, int32(o))
			}
		}
	}
	c.scratch.origins = moved
	const worth = 12 // back to where others will hardly be
	if len(moved) > worth && !c.isAhead(x, moved) {
		return false
	}
	for _, o := range moved {
		c.move(o, c.data.seq[o][x])
	}
	c.view.Apply()
	kept := c.behind[:0]
	once = c.scratch.once()
	for _, o := range c.behind {
		if c.curSeq[o] != c.data.logs[o].newest() && once(o) {
			kept = append(kept, o)
		}
	}
	for _, o := range moved {
		if c.curSeq[o] != c.data.logs[o].newest() && once(o) {
			kept = append(kept, o)
		}
	}
	c.behind = kept
	return true
}

// isAhead says whether x has newer LSPs of these origins than the shared routes, but for
// an eighth of them: all will be there.
func (c *Control) isAhead(x int32, origins []int32) bool {
	older := 0
	for _, o := range origins {
		if c.data.seq[o][x] < c.curSeq[o] {
			older++
		}
	}
	return older <= len(origins)/8
}

// move replaces one LSP of the database that the shared routes are for.
func (c *Control) move(o int32, seq uint32) {
	l := c.data.logs[o].at(seq)
	c.curHash ^= digest(o, c.curSeq[o]) ^ digest(o, seq)
	c.cur[o], c.curSeq[o] = l, seq
	for p, port := range c.f.Ports[o] {
		mine, theirs := uint32(0), uint32(0)
		if peer := c.cur[port.Peer]; l.lists(int32(p)) && peer.lists(port.Back) {
			mine, theirs = l.metric[p], peer.metric[port.Back]
		}
		c.view.SetMetric(o, int32(p), mine)
		c.view.SetMetric(port.Peer, port.Back, theirs)
	}
	c.view.SetOverload(o, l != nil && l.overload)
}

// alone finds x's next hops towards every destination from x's own database
// and the adjacencies x holds now, into a row of sets by destination. The
// first hop needs an adjacency that x holds and the neighbour's LSP to list
// the link; every other link counts if the LSPs of both ends list it.
func (c *Control) alone(x int32) []uint64 {
	s := &c.scratch
	words := int(c.lay.Words[x])
	for i := range s.cost {
		s.cost[i] = paths.Unreachable
	}
	clear(s.hops[:len(c.routers)*words])
	s.heap = s.heap[:0]
	own := c.data.holds(x, x)
	s.cost[x] = 0
	for p, port := range c.f.Ports[x] {
		if !c.up[port.Out()] || !c.data.holds(x, port.Peer).lists(port.Back) {
			continue
		}
		m := c.metricOf(x, int32(p))
		if own.lists(int32(p)) {
			m = own.metric[p]
		}
		if m < s.cost[port.Peer] {
			s.cost[port.Peer] = m
			clear(s.hops[int(port.Peer)*words : (int(port.Peer)+1)*words])
			s.heap.Push(m, port.Peer)
		}
		if m == s.cost[port.Peer] {
			s.hops[int(port.Peer)*words+p>>6] |= 1 << (p & 63)
		}
	}
	for len(s.heap) > 0 {
		cost, n := s.heap.Pop()
		l := c.data.holds(x, n)
		if cost > s.cost[n] || l == nil || l.overload {
			continue
		}
		s.cost[n] = cost
		for p, port := range c.f.Ports[n] {
			m := l.metric[p]
			if m == 0 || port.Peer == x || !c.data.holds(x, port.Peer).lists(port.Back) {
				continue
			}
			mine, peer := s.hops[int(n)*words:(int(n)+1)*words], s.hops[int(port.Peer)*words:(int(port.Peer)+1)*words]
			switch total := cost + m; {
			case total < s.cost[port.Peer]:
				s.cost[port.Peer] = total
				copy(peer, mine)
				s.heap.Push(total, port.Peer)
			case total == s.cost[port.Peer]:
				for w := range peer {
					peer[w] |= mine[w]
				}
			}
		}
	}
	return s.hops[:c.f.Leaves*words]
}
