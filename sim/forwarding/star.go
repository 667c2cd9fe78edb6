package forwarding

import (
	"math/bits"
	"slices"

	"halflight/sim/paths"
)

// A router that lost its way down sends back up, to routers one step further
// from the destination, some of which still send to it: a star. All circles
// then pass its hub, and what its routers deliver has a closed form.

// star is a part that is one.
type star struct {
	clean bool // nothing is lost but by coming back
	late  bool // a point's entry is not what it will be
	plain bool // nobody else sends to its routers
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
	for x := range q.allMarred(d) {
		if level[x] <= level[s.hub] && below && c.part[x] != part && q.feeds(d, x, part) {
			below = false
		}
	}
	s.clean = below
	for w, word := range q.table.Of(d, s.hub) { // only the hub sends to others farther away
		for ; word != 0 && s.clean; word &= word - 1 {
			n := q.f.Ports[s.hub][w*64+bits.TrailingZeros64(word)].Peer
			s.clean = c.part[n] == part || !q.blemished(d, n)
		}
	}
	outside := s.clean
	for _, x := range members {
		q.starExit(d, x, s.hub, below && (x != s.hub || outside))
		s.clean = s.clean && len(c.leaks[x]) == 0
		s.late = s.late || x != s.hub && !q.Converged(d, x)
	}
	s.plain = len(c.inner[s.hub]) == len(members)-1
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
	return Loss{Loop, true, -1, first, 1 - q.delivered(0, d, x)}, true
}

// Stars is how many stars go round for the destination settled last, if the caller
// can follow all that goes round write by write: nobody else sends to their
// routers. What a point delivers then depends on the other routers that its hub
// sends to by a sum over these alone (Spoke). From then on, and until that is settled
// again, what routers of the stars deliver is not kept.
func (q *Field) Stars() int {
	stars := q.circles.stars
	for i := range stars {
		if !stars[i].plain {
			return 0
		}
	}
	return len(stars)
}

// Star returns the hub and the points of one of them.
func (q *Field) Star(i int) (hub int32, points []int32) {
	c := &q.circles
	return c.stars[i].hub, c.parts[i][1:]
}

// Spoke is what a router that a hub sends to does with what it is sent. Shares are by
// plane.
type Spoke struct {
	To     []float64 // what passes from the hub to it
	Back   []float64 // what of a unit at it comes to the hub
	Lacks  []float64 // what of a unit at it is lost otherwise
	Losses []Loss    // how, in plane 0
	Way    Loss      // how what does not pass from the hub to it is lost
	Sound  bool      // nothing is lost otherwise, and all passes from the hub to it
}

// Spoke finds what a router with a set of next hops for d does with what a hub sends
// it. Open must have been called, and its next hops other than the hub must not be on a circle.
// It returns false if all is lost at x, or on a dead direction.
func (q *Field) Spoke(d, x, hub int32, set []uint64, s *Spoke) bool {
	if paths.IsEmpty(set) || !q.alive[x] {
		return false
	}
	s.To, s.Back = append(s.To[:0], q.loss.ones[:q.planes]...), append(s.Back[:0], q.loss.zeros[:q.planes]...)
	s.Lacks, s.Losses, s.Way, s.Sound = append(s.Lacks[:0], q.loss.zeros[:q.planes]...), s.Losses[:0], Loss{}, true
	t := &q.loss
	begin := len(t.part)
	each := 1 / float64(paths.HopsIn(set))
	off := int(q.table.Offset[x])
	for w, word := range set {
		for ; word != 0; word &= word - 1 {
			p := bits.TrailingZeros64(word)
			port := &q.f.Ports[x][w*64+p]
			sound := q.perfect[off+w]>>p&1 != 0
			if port.Peer != hub && sound && !q.blemished(d, port.Peer) {
				continue
			}
			dir := &q.dirs[port.Out()]
			if dir.Dead {
				return false
			}
			if dir.Pass[0] < 1 {
				q.addLoss(begin, dir.loses(-1, float64(each*(1-dir.Pass[0]))))
			}
			if port.Peer == hub {
				for i := range s.Back {
					s.Back[i] = float64(each * dir.Pass[i])
					s.Lacks[i] += float64(each * (1 - dir.Pass[i]))
				}
				s.Sound = s.Sound && sound
				continue
			}
			s.Sound = false
			for i := range s.Lacks {
				s.Lacks[i] += float64(each * (1 - float64(dir.Pass[i]*q.delivered(i, d, port.Peer))))
			}
			if q.delivered(0, d, port.Peer) != 1 && dir.Pass[0] != 0 {
				q.addBeyond(begin, d, port.Peer, -1, float64(each*dir.Pass[0]))
			}
		}
	}
	s.Losses = append(s.Losses, t.part[begin:]...)
	t.part = t.part[:begin]
	for i := range q.f.Ports[x] {
		if p := &q.f.Ports[x][i]; p.Peer == hub {
			dir := &q.dirs[p.In()]
			copy(s.To, dir.Pass)
			s.Way = dir.loses(-1, 1-dir.Pass[0])
			s.Sound = s.Sound && dir.sound()
			return !dir.Dead
		}
	}
	panic("forwarding: a hub that is no neighbour")
}

// Sender is the router of the core that sends to x what is for d, -1 for none, -2 for
// more than one.
func (q *Field) Sender(d, x int32) int32 {
	only := int32(-1)
	for i := range q.f.Ports[x] {
		if p := &q.f.Ports[x][i]; !q.leafOut(p.Peer) && q.table.Has(d, p.Peer, p.Back) {
			if only >= 0 {
				return -2
			}
			only = p.Peer
		}
	}
	return only
}

// Aside says whether a write of x's, to which a hub and nobody else in the core sends,
// changes nothing of d but what x itself does. Whether it leads to the hub then is
// told as well.
func (q *Field) Aside(d, x, hub int32, set []uint64) (toHub, ok bool) {
	q.circles.forget() // they may be another destination's
	if x == d || !q.alive[x] || q.level[q.at(d, x)] != q.level[q.at(d, hub)]+1 || paths.IsEmpty(set) || !q.addsDown(d, x, set, false) {
		return false, false
	}
	for _, u := range q.circles.uphill[d] {
		if q.leadsTo(x, u, set) {
			if u != hub {
				return false, false
			}
			toHub = true
		}
	}
	return toHub, true
}

// Joins says that x, of which Aside said so, is a point of a star from now on.
func (q *Field) Joins(d, x int32) {
	if !slices.Contains(q.circles.members[d], x) {
		q.circles.members[d] = append(q.circles.members[d], x)
	}
	q.assign(d, x, q.loss.zeros[:q.planes], true) // until it is settled
}

// StaysOut finds what x, of which Aside said so, delivers now that it is no point of
// a star, or no longer. With a hub it was the last one.
func (q *Field) StaysOut(d, x, hub int32) {
	c := &q.circles
	for _, y := range [2]int32{x, hub} {
		if y < 0 {
			break
		}
		if i := slices.Index(c.members[d], y); i >= 0 {
			last := len(c.members[d]) - 1
			c.members[d][i] = c.members[d][last]
			c.members[d] = c.members[d][:last]
		}
		q.recompute(d, y)
	}
}
