package forwarding

import "math/bits"

// A router that lost its way down sends back up, to routers one step further
// from the destination, some of which still send to it: a star. All circles
// then pass its hub, and what its routers deliver has a closed form.

// star is the part at hand if it is one.
type star struct {
	is    bool
	clean bool // nothing is lost but by coming back
	late  bool // a point's entry is not what it will be
	hub   int32
	back  []float64 // by plane: what the hub's flow delivers beyond its points
}

// findStar makes a star of d's circle if its only router that sends uphill is
// the hub of one. It returns false if the circles must be searched for.
func (q *Field) findStar(d int32) bool {
	c := &q.circles
	c.star.is = false
	if !q.core || len(c.uphill[d]) != 1 {
		return false
	}
	hub := c.uphill[d][0]
	level := q.level[int(d)*len(q.f.Routers):]
	members := []int32{hub}
	for w, word := range q.table.Of(d, hub) {
		for ; word != 0; word &= word - 1 {
			port := &q.f.Ports[hub][w*64+bits.TrailingZeros64(word)]
			n := port.Peer
			switch {
			case level[n] < level[hub]:
			case level[n] != level[hub]+1:
				return false
			case q.table.Has(d, n, port.Back) && !q.dirs[port.Out()].Dead && !q.dirs[port.In()].Dead:
				members = append(members, n)
			}
		}
	}
	c.star.hub = hub
	if len(members) > 1 {
		c.star.is = true
		c.parts = append(c.parts, members)
	}
	return true
}

// recomputeStar computes the routers of the star at hand.
func (q *Field) recomputeStar(d int32) {
	c := &q.circles
	s := &c.star
	members := c.parts[0]
	s.clean, s.late = true, false
	level := q.level[int(d)*len(q.f.Routers):]
	below := true // all is well where the points send
	for _, x := range q.marred[d] {
		if c.part[x] == 0 {
			continue
		}
		below = below && level[x] > level[s.hub]
		s.clean = s.clean && level[x] > level[s.hub] && !q.sends(d, s.hub, x)
	}
	outside := s.clean
	for _, x := range members {
		q.starExit(d, x, below && (x != s.hub || outside))
		s.clean = s.clean && len(c.leaks[x]) == 0
		s.late = s.late || x != s.hub && !q.Converged(d, x)
	}
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
	q.assign(d, q.at(d, s.hub), c.totals, true)
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
		q.assign(d, q.at(d, x), c.totals, true)
	}
	for _, x := range members {
		for _, p := range q.f.Ports[x] {
			if int(p.Peer) >= q.f.Leaves && c.part[p.Peer] != 0 && q.table.Has(d, p.Peer, p.Back) {
				q.spread.put(q, d, p.Peer)
			}
		}
	}
}

// sends says whether y is a next hop of x towards d.
func (q *Field) sends(d, x, y int32) bool {
	for _, p := range q.f.Ports[y] {
		if p.Peer == x && q.table.Has(d, x, p.Back) {
			return true
		}
	}
	return false
}

// starExit is exit for a router of a star. If outside the star all is well and
// all its ports pass everything, there is nothing to add up.
func (q *Field) starExit(d, x int32, outside bool) {
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
		if x != c.star.hub {
			continue
		}
		for ; word != 0; word &= word - 1 {
			port := &q.f.Ports[x][w*64+bits.TrailingZeros64(word)]
			if c.part[port.Peer] == 0 {
				c.inner[x] = append(c.inner[x], innerHop{port.Peer, port.Out()})
			}
		}
	}
	inner := len(c.inner[x])
	if x != c.star.hub {
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
	first, hub := int32(-1), q.circles.star.hub
	switch {
	case !q.Converged(d, x):
		first = x
	case !q.Converged(d, hub):
		first = hub
	case q.circles.star.late:
		return Loss{}, false
	}
	return Loss{Loop, -1, first, 1 - q.deliver[0][q.at(d, x)]}, true
}
