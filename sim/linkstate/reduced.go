package linkstate

import "halflight/model/fabric"

// Reduced flooding (RFC 9667): LSPs cross the links of a flooding topology only, a
// subset that reaches every router. A router of which an adjacency in it is down, or
// that has none in it, floods over all its adjacencies and asks its neighbours to do
// so towards it (temporary flooding), until the area leader has drawn the topology
// anew.

// reduced is the state of reduced flooding; nil without it.
type reduced struct {
	in        []bool // by link: in the flooding topology
	temporary []bool // by router: floods over all adjacencies
	drawing   bool   // the area leader is about to draw it anew
}

// reduce begins reduced flooding with all links up.
func (c *Control) reduce() {
	if c.t.FloodingDegree == 0 {
		return
	}
	c.reduced = &reduced{in: FloodingTopology(c.f, c.t.FloodingDegree, func(int32) bool { return true }), temporary: make([]bool, len(c.routers))}
	for l := range c.f.Links {
		c.passable(int32(l))
	}
}

// flows says whether LSPs are flooded over a link.
func (c *Control) flows(link int32) bool {
	if !c.bothUp(link) {
		return false
	}
	l, r := &c.f.Links[link], c.reduced
	return r == nil || r.in[link] || r.temporary[l.Lower] || r.temporary[l.Upper]
}

// noticedChange is an adjacency at x that came or went.
func (c *Control) noticedChange(x int32, now int64) {
	r := c.reduced
	if r == nil {
		return
	}
	if !r.drawing {
		r.drawing = true
		c.task(now+c.t.Redraw, Redraw, 0, 0, 0)
	}
	c.floodsAll(x, now)
}

// floodsAll decides whether x floods over all its adjacencies. Over those that it did
// not use before the two ends compare databases, as over a new adjacency.
func (c *Control) floodsAll(x int32, now int64) {
	r := c.reduced
	if r == nil {
		return
	}
	all, any := false, false
	for _, p := range c.f.Ports[x] {
		if r.in[p.Link] {
			any, all = true, all || !c.up[p.Out()]
		}
	}
	if all = all || !any; all == r.temporary[x] {
		return
	}
	var fresh []int32
	for _, p := range c.f.Ports[x] {
		if all && c.bothUp(p.Link) && !c.flows(p.Link) {
			fresh = append(fresh, p.Link)
		}
	}
	r.temporary[x] = all
	for _, p := range c.f.Ports[x] {
		c.passable(p.Link)
	}
	for _, link := range fresh {
		c.rise(link, now)
	}
}

// redraw is the area leader's new topology, in force everywhere.
func (c *Control) redraw(now int64) {
	r := c.reduced
	r.drawing = false
	flowed := make([]bool, len(c.f.Links))
	for l := range flowed {
		flowed[l] = c.flows(int32(l))
	}
	r.in = FloodingTopology(c.f, c.t.FloodingDegree, c.bothUp)
	for x := range c.routers {
		r.temporary[x] = true
		for _, p := range c.f.Ports[x] {
			if r.in[p.Link] {
				r.temporary[x] = false
			}
		}
	}
	for l := range flowed {
		if flows := c.flows(int32(l)); flows != flowed[l] {
			c.passable(int32(l))
			if flows {
				c.rise(int32(l), now)
			}
		}
	}
}

// answerOlder answers what came over an adjacency and is older than what the receiver
// has with the newer version (ISO/IEC 10589). Where all links flood the other end hears
// of it anyway.
func (c *Control) answerOlder(x *crossing, now int64) {
	to := c.f.Links[x.link].Lower
	if to == x.to {
		to = c.f.Links[x.link].Upper
	}
	for _, v := range x.lsps {
		has := c.data.seq[v.origin][x.to]
		if v.origin != x.to && has > v.seq && c.carries(c.out(x.to, x.link)) && c.bothUp(x.link) {
			c.cross(to, x.link, []version{{v.origin, has}}, now+c.perHop(x.to))
		}
	}
}

// FloodingTopology draws the flooding topology of the links that may be used, by link.
// Each router, in order, chooses neighbours of the tier above it (the uppermost, of
// that below) until it is linked to degree of them: in the order of their ports those
// it can reach, from its own number on, in steps that grow by one each time the
// numbers have gone round. What is still apart is joined by the first links, in
// order, that join two parts.
func FloodingTopology(f *fabric.Fabric, degree int, usable func(link int32) bool) []bool {
	in := make([]bool, len(f.Links))
	var peers, first []int32
	for x := range f.Routers {
		peers, first = peers[:0], first[:0]
		have := 0
		up := f.Ports[x][len(f.Ports[x])-1].Lower // links to the tier above come last
		for _, p := range f.Ports[x] {
			if p.Lower != up || !usable(p.Link) {
				continue
			}
			if n := len(peers); n == 0 || peers[n-1] != p.Peer {
				peers, first = append(peers, p.Peer), append(first, p.Link)
			}
		}
		for _, l := range first {
			if in[l] {
				have++
			}
		}
		n, number := len(first), int(f.Routers[x].Second)
		if up && f.Routers[x].Class == fabric.Spine {
			number = int(f.Routers[x].First)
		}
		seen := make([]bool, n)
		for at, left, step := 0, n, 0; left > 0 && have < degree; left-- {
			if left == n {
				at, step = number%n, 1+number/n%max(1, n-1)
			} else {
				at = (at + step) % n
			}
			for seen[at] {
				at = (at + 1) % n
			}
			if seen[at] = true; !in[first[at]] {
				in[first[at]] = true
				have++
			}
		}
	}
	joinParts(f, in, usable)
	return in
}

// joinParts adds links until what links can join is one.
func joinParts(f *fabric.Fabric, in []bool, usable func(link int32) bool) {
	part := make([]int32, len(f.Routers))
	for x := range part {
		part[x] = int32(x)
	}
	find := func(x int32) int32 {
		for part[x] != x {
			part[x] = part[part[x]]
			x = part[x]
		}
		return x
	}
	for l := range in {
		if in[l] {
			part[find(f.Links[l].Lower)] = find(f.Links[l].Upper)
		}
	}
	for l := range in {
		if a, b := find(f.Links[l].Lower), find(f.Links[l].Upper); a != b && usable(int32(l)) {
			in[l], part[a] = true, b
		}
	}
}
