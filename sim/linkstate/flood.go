package linkstate

import (
	"math"
	"slices"

	"halflight/model/fabric"
	"halflight/sim/kernel"
)

// A flood spreads LSPs from one router: they arrive at a router at the start
// plus one per_hop for each of the least hops over links that carry packets
// and whose adjacency is up at both ends, as they stand at the start.

// version is one version of one router's LSP.
type version struct {
	origin int32
	seq    uint32
}

type flood struct {
	from  int32
	order uint64 // of its start among floods and adjacencies that came up
	lsps  []version
	hop   []uint16 // by router; far for routers it does not reach. With slow control planes a level
	reach []int32  // routers by hop, then by number
	level []int32  // where each hop begins in reach
	delay []int64  // by level, if some control plane is slow: from the start to its arrival
	left  int      // levels still to arrive
	due   int64    // when it gets a token
	late  bool     // some routers may have its LSP already: it does not go on from those
}

const far = ^uint16(0)

// crossing is LSPs on their way over one adjacency to router to.
type crossing struct {
	to, link int32
	lsps     []version
	life     uint32 // of the receiver
	first    bool   // the database exchange of the first adjacency after a return
}

// debt is LSPs that could not cross a link because it did not carry packets
// although its adjacency was up, and that cross when it does again.
type debt struct {
	link int32
	lsps []version
}

// rise is an adjacency that came up at both ends while floods were under way.
type rise struct {
	link  int32
	order uint64
}

type floodState struct {
	floods    pool[*flood]
	crossings pool[crossing]
	sent      int32 // crossings so far, for their order
	debts     []debt
	rises     []rise
	follows   []int32 // directions over which what arrives now follows
	underWay  int
	mute      []int32    // links whose adjacency is up at both ends but that carry nothing
	full      int64      // pacing: when the token bucket would be full
	waiting   []int32    // pacing: floods that wait for a token, in order
	ports     [][]uint64 // by router: a bit for each port over which LSPs can cross
	digest    uint64     // of the changes of ports
	spreads   [64]spreading
	oldest    int // of spreads
}

func (s *floodState) init(f *fabric.Fabric) {
	s.ports = make([][]uint64, len(f.Routers))
	for x := range f.Routers {
		s.ports[x] = make([]uint64, (len(f.Ports[x])+63)/64)
		for p := range f.Ports[x] {
			s.ports[x][p>>6] |= 1 << (p & 63)
		}
	}
}

// Live says whether a link carries packets.
func (c *Control) Live(link int32, live bool, now int64) {
	if c.live[link] == live {
		return
	}
	c.live[link] = live
	c.passable(link)
	if live {
		c.payDebts(link, now)
	}
}

// bothUp says whether a link's adjacency is up at both ends.
func (c *Control) bothUp(link int32) bool { return c.up[2*link] && c.up[2*link+1] }

// passable notes whether LSPs can cross a link.
func (c *Control) passable(link int32) {
	both, flows := c.bothUp(link), c.flows(link)
	s := &c.flooding
	for d := int32(0); d < 2; d++ {
		x := c.f.From(2*link + d)
		p := c.portOf(x, link)
		if is := s.ports[x][p>>6]>>(p&63)&1 != 0; is != (flows && c.carries(2*link+d)) {
			s.ports[x][p>>6] ^= 1 << (p & 63)
			s.digest ^= kernel.Mix(uint64(2*link + d))
		}
	}
	for i, m := range s.mute {
		if m == link {
			s.mute = append(s.mute[:i], s.mute[i+1:]...)
			break
		}
	}
	if flows && !(c.carries(2*link) && c.carries(2*link+1)) {
		s.mute = append(s.mute, link)
	}
	if !both {
		kept := s.debts[:0]
		for _, d := range s.debts {
			if d.link != link {
				kept = append(kept, d)
			}
		}
		s.debts = kept
	}
}

func (c *Control) portOf(x, link int32) int32 { return c.f.PortOf(x, link) }

// send starts a flood from x, at once or when it gets a token. It is late if it passes
// on what came over an adjacency.
func (c *Control) send(x int32, lsps []version, late bool, now int64) {
	s := &c.flooding
	id := s.floods.take()
	if s.floods.all[id] == nil {
		s.floods.all[id] = &flood{hop: make([]uint16, len(c.routers))}
	}
	fl := s.floods.all[id]
	fl.from, fl.lsps, fl.late = x, append(fl.lsps[:0], lsps...), late
	s.underWay++
	if !c.t.Pacing {
		c.spread(id, now)
		return
	}
	s.full = max(s.full, now)
	at := max(now, s.full-int64(c.t.PacingBurst-1)*c.t.PacingInterval)
	s.full += c.t.PacingInterval
	if at <= now {
		c.spread(id, now)
		return
	}
	fl.due = at
	s.waiting = append(s.waiting, id)
	c.task(at, Token, x, 0, 0)
}

// token starts the floods that have waited long enough.
func (c *Control) token(now int64) {
	s := &c.flooding
	for len(s.waiting) > 0 && s.floods.all[s.waiting[0]].due <= now {
		id := s.waiting[0]
		s.waiting = s.waiting[1:]
		s.floods.all[id].late = true
		c.spread(id, now)
	}
}

// forgetWaiting drops the floods from a router that still wait for a token. Those
// behind them move up.
func (c *Control) forgetWaiting(x int32) {
	s := &c.flooding
	kept := s.waiting[:0]
	var due []int64
	for _, id := range s.waiting {
		fl := s.floods.all[id]
		if due = append(due, fl.due); fl.from == x {
			s.full -= c.t.PacingInterval
			c.endFlood(id)
			continue
		}
		fl.due = due[len(kept)]
		kept = append(kept, id)
	}
	s.waiting = kept
}

// spread takes the hops of a flood and makes a task of each.
func (c *Control) spread(id int32, now int64) {
	s := &c.flooding
	fl := s.floods.all[id]
	c.order++
	fl.order = c.order
	if c.slowed > 0 || c.lossyWays > 0 || c.shutWays > 0 || fl.late {
		c.quickest(fl)
	} else {
		c.hops(fl)
	}
	for _, link := range s.mute {
		s.debts = append(s.debts, debt{link, append([]version(nil), fl.lsps...)})
	}
	levels := len(fl.level) - 1
	if levels < 2 {
		c.endFlood(id)
		return
	}
	fl.left = levels - 1
	v := fl.lsps[0]
	for h := 1; h < levels; h++ {
		c.Tasks = append(c.Tasks, Task{now + c.delayOf(fl, h), Arrive, v.origin, id, int32(h), newestFirst(v.seq)})
	}
}

// newestFirst is the place of a version among those of one origin that arrive at
// one instant. It is right for versions less than 2^20 apart.
func newestFirst(seq uint32) int32 { return int32(^seq & (1<<20 - 1)) }

func (c *Control) endFlood(id int32) {
	s := &c.flooding
	s.floods.all[id].lsps = s.floods.all[id].lsps[:0]
	s.floods.give(id)
	s.underWay--
	if s.underWay == 0 {
		s.rises = s.rises[:0]
	}
}

// arrive is the arrival of a flood at all routers at one distance.
func (c *Control) arrive(id, hop int32, now int64) {
	s := &c.flooding
	fl := s.floods.all[id]
	group := fl.reach[fl.level[hop]:fl.level[hop+1]]
	s.follows = s.follows[:0]
	for _, r := range s.rises {
		if r.order > fl.order && c.flows(r.link) {
			c.follows(fl, hop, r.link)
		}
	}
	for _, d := range s.debts {
		if (c.carries(2*d.link) || c.carries(2*d.link+1)) && sharesVersion(d.lsps, fl.lsps) {
			c.follows(fl, hop, d.link)
		}
	}
	for _, v := range fl.lsps {
		c.deliverAll(group, v, now)
	}
	for _, direction := range s.follows {
		c.follow(fl, direction, now)
	}
	if fl.left--; fl.left == 0 {
		c.endFlood(id)
	}
	c.close()
}

func sharesVersion(a, b []version) bool {
	for _, v := range a {
		for _, w := range b {
			if v == w {
				return true
			}
		}
	}
	return false
}

// follows notes the ends of link that a flood is about to reach with something
// new to them. What an end had before, the exchange has sent.
func (c *Control) follows(fl *flood, hop, link int32) {
	for d := 2 * link; d < 2*link+2; d++ {
		near := c.f.From(d)
		if int32(fl.hop[near]) != hop || c.dead[near] {
			continue
		}
		for _, v := range fl.lsps {
			if v.origin != near && c.data.seq[v.origin][near] < v.seq {
				c.flooding.follows = append(c.flooding.follows, d)
				break
			}
		}
	}
}

// follow passes what a flood brought to the sender of a direction on to the
// other end.
func (c *Control) follow(fl *flood, direction int32, now int64) {
	to, link, lacks := c.f.To(direction), direction>>1, false
	for _, v := range fl.lsps {
		lacks = lacks || (v.origin != to && c.data.seq[v.origin][to] < v.seq)
	}
	switch {
	case !lacks && c.frugal():
	case c.carries(direction):
		c.cross(to, link, fl.lsps, now+c.perHop(c.f.From(direction)))
	default:
		c.flooding.debts = append(c.flooding.debts, debt{link, append([]version(nil), fl.lsps...)})
	}
}

func (c *Control) cross(to, link int32, lsps []version, at int64) {
	if c.t.Pacing {
		for _, v := range lsps {
			c.bundle(to, link, oneByOne(v), []version{v}, false, at)
		}
		return
	}
	c.bundle(to, link, link, append([]version(nil), lsps...), false, at)
}

// oneByOne is the place of a version among those that come over adjacencies to one
// router at one instant, with pacing: by origin, the newer of two versions first. It is
// right for versions less than 64 apart.
func oneByOne(v version) int32 { return v.origin<<6 | int32(^v.seq&63) }

// payDebts lets LSPs cross a link that carries packets again.
func (c *Control) payDebts(link int32, now int64) {
	l := &c.f.Links[link]
	kept := c.flooding.debts[:0]
	for _, d := range c.flooding.debts {
		if d.link != link {
			kept = append(kept, d)
			continue
		}
		open := false
		for _, ends := range [2][2]int32{{l.Lower, l.Upper}, {l.Upper, l.Lower}} {
			var have []version
			for _, v := range d.lsps {
				near, other := c.data.seq[v.origin][ends[0]], c.data.seq[v.origin][ends[1]]
				if near == v.seq && (other < v.seq || !c.frugal()) && v.origin != ends[1] {
					have = append(have, v)
				}
				open = open || near < v.seq || other < v.seq
			}
			if len(have) > 0 && c.carries(c.out(ends[0], link)) {
				c.cross(ends[1], link, have, now+c.perHop(ends[0]))
			} else {
				open = open || len(have) > 0
			}
		}
		if open {
			kept = append(kept, d)
		}
	}
	c.flooding.debts = kept
}

// crossed is the arrival of LSPs over one adjacency.
func (c *Control) crossed(id int32, now int64) {
	x := c.flooding.crossings.all[id]
	c.flooding.crossings.all[id].lsps = nil
	c.flooding.crossings.give(id)
	if c.dead[x.to] {
		return
	}
	var fresh []version
	for _, v := range x.lsps {
		if c.deliver(x.to, v, now) {
			fresh = append(fresh, v)
		}
	}
	if c.reduced != nil {
		c.answerOlder(&x, now)
	}
	if r := &c.routers[x.to]; x.first && x.life == c.lives[x.to] && r.stage == awaitExchange {
		r.stage = awaitRun
	}
	for i, v := range fresh {
		if c.t.Pacing || c.reduced != nil {
			c.passOn(x.to, v, now)
		}
		if c.t.Pacing || !c.frugal() || c.wanted(v) { // with pacing each takes a token, even if nobody lacks it
			c.send(x.to, fresh[i:i+1], true, now)
		}
	}
	c.close()
}

// frugal says whether LSPs are not sent to those who have them already. On their way they
// may find one that has lost its database meanwhile, or, with reduced flooding, a newer
// one and be answered; in random runs of large fabrics the former is left out, since
// a router that returns would have each of its neighbours send all it hears to all others.
func (c *Control) frugal() bool { return c.ahead.on && c.reduced == nil }

// wanted says whether any live router lacks a version, so that passing it on can
// matter.
func (c *Control) wanted(v version) bool {
	for y, s := range c.data.seq[v.origin] {
		if s < v.seq && int32(y) != v.origin && !c.dead[y] {
			return true
		}
	}
	return false
}

// exchangeTime is how long after the first of n LSPs of a database exchange the
// last one leaves.
func (c *Control) exchangeTime(n int, perHop int64) int64 {
	if c.t.Window.On {
		return c.t.Window.Last(n, perHop)
	}
	return int64(n) * c.t.Exchange
}

// exchange sends each end of a new adjacency what the other has and it lacks.
func (c *Control) exchange(link int32, now int64) {
	l := &c.f.Links[link]
	for _, ends := range [2][2]int32{{l.Lower, l.Upper}, {l.Upper, l.Lower}} {
		from, to := ends[0], ends[1]
		var newer []version
		if c.data.hash[from] != c.data.hash[to] {
			for o := range c.routers {
				seq := c.data.seq[o]
				if int32(o) != to && seq[from] > seq[to] && c.sameArea(int32(o), to) {
					newer = append(newer, version{int32(o), seq[from]})
				}
			}
		}
		first := c.routers[to].stage == awaitAdjacency
		if len(newer) == 0 && !first {
			continue
		}
		if first {
			c.routers[to].stage = awaitExchange
		}
		at := now + c.perHop(from) + c.exchangeTime(c.withHosts(newer, to), c.perHop(from))
		for c.t.Pacing && len(newer) > 1 { // one by one, so that tokens go by origin
			c.bundle(to, link, oneByOne(newer[0]), newer[:1:1], false, at)
			newer = newer[1:]
		}
		key := link
		if c.t.Pacing && len(newer) > 0 {
			key = oneByOne(newer[0])
		}
		c.bundle(to, link, key, newer, first, at)
	}
}

// sameArea says whether two routers are of one fabric. Nothing joins fabrics, so an
// area never hears of the LSPs of another.
func (c *Control) sameArea(a, b int32) bool { return c.f.Fabrics <= 1 || c.f.Of(a) == c.f.Of(b) }

// bundle makes LSPs arrive at a router; key orders them among those that arrive
// there at the same instant, and of one key those sent first come first.
func (c *Control) bundle(to, link, key int32, lsps []version, first bool, at int64) {
	id := c.flooding.crossings.take()
	c.flooding.crossings.all[id] = crossing{to: to, link: link, lsps: lsps, life: c.lives[to], first: first}
	c.flooding.sent = (c.flooding.sent + 1) & math.MaxInt32
	c.Tasks = append(c.Tasks, Task{at, Cross, to, c.flooding.sent, id, key})
}

// passOn passes an LSP that came over one adjacency on over those that came up
// since it was originated and those that it could not cross before, without waiting
// for a token.
func (c *Control) passOn(x int32, v version, now int64) {
	born := c.data.logs[v.origin].at(v.seq).order
	for _, p := range c.f.Ports[x] {
		if !c.bothUp(p.Link) || p.Peer == v.origin || c.frugal() && c.data.seq[v.origin][p.Peer] >= v.seq {
			continue
		}
		owed := c.owed(p.Link, v)
		switch {
		case !owed && (c.bothAt[p.Link] <= born || !c.flows(p.Link)):
		case c.carries(p.Out()):
			c.cross(p.Peer, p.Link, []version{v}, now+c.perHop(x))
		case !owed:
			c.flooding.debts = append(c.flooding.debts, debt{p.Link, []version{v}})
		}
	}
}

// owed says whether a version could not cross a link before.
func (c *Control) owed(link int32, v version) bool {
	for _, d := range c.flooding.debts {
		if d.link == link && slices.Contains(d.lsps, v) {
			return true
		}
	}
	return false
}
