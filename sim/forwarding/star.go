package forwarding

import (
	"math/bits"
	"slices"
)

// A router that lost its way down sends back up, to routers one step further
// from the destination, some of which still send to it: a star. All circles
// then pass its hub, and what its routers deliver has a closed form.

// star is a part that is one.
type star struct {
	clean bool // nothing is lost but by coming back
	late  bool // a point's entry is not what it will be
	plain bool // all passes within it, nobody else sends to its routers, and all is well where its points send
	hub   int32
	back  []float64 // by plane: what the hub's flow delivers beyond its points
}

// findStars makes stars of d's circles, if each of its routers that send uphill is
// the hub of one, or of none. It returns false if the circles must be searched for.
func (q *Field) findStars(d int32) bool {
	c := &q.circles
	c.stars = c.stars[:0]
	if hubs := c.uphill[d]; !q.core || len(hubs) > 64 || !q.oneStep(d, hubs) || len(hubs) > 1 && q.amongHubs(d, hubs) {
		return false
	}
	for _, hub := range c.uphill[d] {
		members := []int32{hub}
		for w, word := range q.table.Of(d, hub) {
			for ; word != 0; word &= word - 1 {
				port := &q.f.Ports[hub][w*64+bits.TrailingZeros64(word)]
				if !q.table.Has(d, port.Peer, port.Back) || q.dirs[port.Out()].Dead || q.dirs[port.In()].Dead {
					continue
				}
				if members[len(members)-1] == port.Peer { // parallel links
					c.parts, c.stars = c.parts[:0], c.stars[:0]
					return false
				}
				members = append(members, port.Peer)
			}
		}
		if len(members) == 1 {
			continue
		}
		c.parts = append(c.parts, members)
		n := len(c.stars)
		c.stars = slices.Grow(c.stars, 1)[:n+1]
		c.stars[n].hub = hub
	}
	return true
}

// oneStep says whether all that routers send uphill goes one step up, and all of them
// are equally far from d: then a circle goes from one of them to a router one
// step up, which sends downhill alone, and from there to one of them again.
func (q *Field) oneStep(d int32, hubs []int32) bool {
	level := q.level[int(d)*len(q.f.Routers):]
	for _, hub := range hubs {
		if level[hub] != level[hubs[0]] {
			return false
		}
		for w, word := range q.table.Of(d, hub) {
			for ; word != 0; word &= word - 1 {
				n := q.f.Ports[hub][w*64+bits.TrailingZeros64(word)].Peer
				if level[n] >= level[hub] && level[n] != level[hub]+1 {
					return false
				}
			}
		}
	}
	return true
}

// amongHubs says whether there may be a circle of several routers that send uphill.
func (q *Field) amongHubs(d int32, hubs []int32) bool {
	c := &q.circles
	for i, hub := range hubs {
		for k := range q.f.Ports[hub] {
			if p := &q.f.Ports[hub][k]; !q.leafOut(p.Peer) && q.table.Has(d, p.Peer, p.Back) && !q.dirs[p.In()].Dead {
				c.sendsTo[p.Peer] |= 1 << i
			}
		}
	}
	var next [64]uint64 // by router that sends uphill: which others it leads to, over one router
	for i, hub := range hubs {
		for w, word := range q.table.Of(d, hub) {
			for ; word != 0; word &= word - 1 {
				if p := &q.f.Ports[hub][w*64+bits.TrailingZeros64(word)]; !q.dirs[p.Out()].Dead {
					next[i] |= c.sendsTo[p.Peer] &^ (1 << i)
				}
			}
		}
	}
	for _, hub := range hubs {
		for k := range q.f.Ports[hub] {
			c.sendsTo[q.f.Ports[hub][k].Peer] = 0
		}
	}
	left := ^uint64(0) >> (64 - len(hubs))
	for more := true; more; { // leave out those that lead to none that is left
		more = false
		for w := left; w != 0; w &= w - 1 {
			if i := bits.TrailingZeros64(w); next[i]&left == 0 {
				left &^= 1 << i
				more = true
			}
		}
	}
	return left != 0
}

// recomputeStar computes the routers of a star together.
func (q *Field) recomputeStar(d, part int32) {
	c := &q.circles
	s := &c.stars[part]
	members := c.parts[part]
	s.clean, s.late, s.plain = true, false, true
	level := q.level[int(d)*len(q.f.Routers):]
	below := true // all is well where the points send
	for _, x := range q.marred[d] {
		if c.part[x] == part || !q.feeds(d, x, part) {
			continue
		}
		below = below && level[x] > level[s.hub]
		s.clean = false
	}
	outside := s.clean
	for _, x := range members {
		q.starExit(d, x, s.hub, below && (x != s.hub || outside))
		s.clean = s.clean && len(c.leaks[x]) == 0
		s.late = s.late || x != s.hub && !q.Converged(d, x)
	}
	s.plain = below && len(c.inner[s.hub]) == len(members)-1
	q.Moved = append(q.Moved, members...)
	hubHops := q.hopsOf(d, s.hub)
	s.back = append(s.back[:0], q.loss.zeros[:q.planes]...)
	for i := range s.back {
		s.back[i] = c.exits[i][s.hub]
		for _, h := range c.inner[s.hub] {
			s.back[i] += float64(float64(q.dirs[h.dir].Pass[i]*c.exits[i][h.peer]) / hubHops)
		}
		c.totals[i] = s.back[i]
	}
	q.assign(d, s.hub, c.totals, true)
	for _, h := range c.inner[s.hub] {
		x := h.peer
		toHub := h.dir ^ 1
		if len(c.inner[x]) == 0 {
			c.inner[x] = append(c.inner[x], innerHop{s.hub, toHub})
		}
		hops := q.hopsOf(d, x)
		for i := range c.totals {
			own := float64(float64(q.dirs[h.dir].Pass[i]*c.exits[i][x]) / hubHops)
			c.totals[i] = c.exits[i][x] + float64(float64(q.dirs[toHub].Pass[i]/hops)*(s.back[i]-own))
		}
		q.assign(d, x, c.totals, true)
		s.plain = s.plain && q.dirs[h.dir].sound() && q.dirs[toHub].sound()
	}
	for _, x := range members {
		for _, p := range q.f.Ports[x] {
			if int(p.Peer) >= q.f.Leaves && c.part[p.Peer] != part && q.table.Has(d, p.Peer, p.Back) {
				s.plain = false
				q.spread.put(q, d, p.Peer)
			}
		}
	}
}

// feeds says whether a router of a part sends to y what is for d.
func (q *Field) feeds(d, y, part int32) bool {
	for i := range q.f.Ports[y] {
		if p := &q.f.Ports[y][i]; q.circles.part[p.Peer] == part && q.table.Has(d, p.Peer, p.Back) {
			return true
		}
	}
	return false
}

// starExit is exit for a router of a star. If outside the star all is well and
// all its ports pass everything, there is nothing to add up.
func (q *Field) starExit(d, x, hub int32, outside bool) {
	c := &q.circles
	set := q.table.Of(d, x)
	off := int(q.table.Offset[x])
	for i, w := range set {
		outside = outside && w&^q.perfect[off+i] == 0
	}
	if !outside {
		q.exit(d, x)
		return
	}
	c.exitGap[x] = false
	c.inner[x], c.leaks[x] = c.inner[x][:0], c.leaks[x][:0]
	k := 0
	for w, word := range set {
		k += bits.OnesCount64(word)
		if x != hub {
			continue
		}
		for ; word != 0; word &= word - 1 {
			port := &q.f.Ports[x][w*64+bits.TrailingZeros64(word)]
			if c.part[port.Peer] == c.part[x] {
				c.inner[x] = append(c.inner[x], innerHop{port.Peer, port.Out()})
			}
		}
	}
	inner := len(c.inner[x])
	if x != hub {
		inner = 1
	}
	for i := range c.exits {
		c.exits[i][x] = float64(k-inner) / float64(k)
	}
}

// starLoss is the loss of a unit of traffic at a router of a clean star. It
// returns false if it is lost in several ways: beyond a hub that has the table it
// will have, points that do not come first.
func (q *Field) starLoss(d, x int32) (Loss, bool) {
	first := int32(-1)
	s := &q.circles.stars[q.circles.part[x]]
	switch {
	case !q.Converged(d, x):
		first = x
	case !q.Converged(d, s.hub):
		first = s.hub
	case s.late:
		return Loss{}, false
	}
	return Loss{Loop, -1, first, 1 - q.delivered(0, d, x)}, true
}

// Star returns the hub and the points of the star that goes round for the destination
// settled last, if it is one that the caller can follow write by write: of a
// point's k next hops one is the hub, of the hub's h each point is one, and all
// passes within the star. What a point loses by coming back is then
// (1 + sum of 1/k over the points - 1/k) / h / k, in every plane; what else it
// loses stays as it is while points that lose nothing else come and go. From then
// on, and until that is settled again, what routers of the star deliver is not kept.
func (q *Field) Star() (hub int32, points []int32, ok bool) {
	c := &q.circles
	if len(c.stars) != 1 || !c.stars[0].plain {
		return 0, nil, false
	}
	return c.stars[0].hub, c.parts[0][1:], true
}

// LeaveStar says that point x of d's star is about to have the entry that it has
// without the hub, and forgets it. The last one ends the star. It returns false, and
// nothing is changed, if the others of its next hops do not deliver all; or if it
// is the last one of a hub that does not.
func (q *Field) LeaveStar(d, x, hub int32, set []uint64) bool {
	c := &q.circles
	if !q.allWell(d, x, set) || len(c.members[d]) == 2 && !q.allWell(d, hub, q.table.Of(d, hub), x) {
		return false
	}
	q.assign(d, x, nil, false)
	list := c.members[d]
	i := slices.Index(list, x)
	list[i] = list[len(list)-1]
	c.members[d] = list[:len(list)-1]
	if len(c.members[d]) == 1 {
		c.members[d] = c.members[d][:0]
		q.assign(d, hub, nil, false)
	}
	return true
}

// allWell says whether the next hops of a set of x's deliver all, but for those
// named, and its ports to them pass all.
func (q *Field) allWell(d, x int32, set []uint64, but ...int32) bool {
	off := int(q.table.Offset[x])
	for i, word := range set {
		if word&^q.perfect[off+i] != 0 {
			return false
		}
		for ; word != 0; word &= word - 1 {
			if n := q.f.Ports[x][i*64+bits.TrailingZeros64(word)].Peer; q.blemished(d, n) && !slices.Contains(but, n) {
				return false
			}
		}
	}
	return true
}

// JoinStar says that x, which delivers all to d, has an entry with the hub of
// d's star beside what it had. It returns false, and nothing is changed, if the
// star is then not one to be followed write by write.
func (q *Field) JoinStar(d, x, hub int32) bool {
	toHub := int32(-1)
	if q.level[q.at(d, x)] != q.level[q.at(d, hub)]+1 {
		return false
	}
	for i := range q.f.Ports[x] {
		p := &q.f.Ports[x][i]
		switch {
		case p.Peer == hub && toHub >= 0:
			return false
		case p.Peer == hub:
			toHub = int32(i)
			if !q.table.Has(d, hub, p.Back) || !q.passesAll(x, toHub) || !q.passesAll(hub, p.Back) {
				return false
			}
		case int(p.Peer) >= q.f.Leaves && q.table.Has(d, p.Peer, p.Back):
			return false
		}
	}
	if toHub < 0 || !q.alive[x] || !q.Delivers(d, x) {
		return false
	}
	q.circles.members[d] = append(q.circles.members[d], x)
	q.assign(d, x, q.loss.zeros[:q.planes], true) // until it is settled
	return true
}

// passesAll says whether all that x sends over a port passes.
func (q *Field) passesAll(x, port int32) bool {
	return q.perfect[int(q.table.Offset[x]+port>>6)]>>(port&63)&1 != 0
}
