// Package converged keeps what routers will hold once they have noticed everything, whose fault each
// part of that is, and what of it some of them may not know of yet.
package converged

import (
	"halflight/model/fabric"
	"halflight/sim/linkstate"
	"halflight/sim/paths"
)

// Truth is what tables and databases will be once every fault in force is
// noticed, and who made each part of it what it is.
type Truth struct {
	Routes *paths.Routes
	f      *fabric.Fabric

	LinkUp      []bool  // by link: both ends will list it
	LinkFault   []int32 // by link: the fault that changed it last, -1 for none
	MetricFault []int32 // by direction: the same for the sender's metric
	BitFault    []int32 // by router: the same for the overload bit
	Raised      []bool  // by direction: the metric is raised
	Dead        []bool  // by router
	Version     uint64  // counts changes
	Latest      int32   // the fault behind the last of them, -1 before the first
	// Roughly has Path judge by what routers will know, although some dead link
	// is never noticed.
	Roughly bool

	// Recent are the links, directions and routers that changed and that some
	// router may not know of yet; each is in its list once.
	recentLinks, recentMetrics, recentBits []int32
	inLinks, inMetrics, inBits             []bool

	// By link: the instant of its last change, and what it was before that.
	changedAt []int64
	wasUp     []bool
	wasFault  []int32

	// Undetected counts links whose truth is not simply whether they are alive.
	alive       []bool
	usable      []bool // alive, and both ends will list it
	undetected  int
	reach       [][]bool // by destination: routers with a path of alive links
	reachAt     []uint64 // by destination: usableCount of reach, plus one
	usableCount uint64
	search      *search // nil before the first
	stack       []int32
}

// New returns the truth of a fabric without a fault, whose routes are
// given.
func New(f *fabric.Fabric, routes *paths.Routes) *Truth {
	n, m := len(f.Routers), len(f.Links)
	u := &Truth{f: f, Latest: -1, Routes: routes.Clone(), LinkUp: make([]bool, m), LinkFault: make([]int32, m),
		MetricFault: make([]int32, 2*m), BitFault: make([]int32, n), Raised: make([]bool, 2*m), Dead: make([]bool, n),
		inLinks: make([]bool, m), changedAt: make([]int64, m), wasUp: make([]bool, m), wasFault: make([]int32, m), inMetrics: make([]bool, 2*m), inBits: make([]bool, n), alive: make([]bool, m), usable: make([]bool, m),
		reach: make([][]bool, f.Leaves), reachAt: make([]uint64, f.Leaves)}
	for i := range u.LinkUp {
		u.LinkUp[i], u.alive[i], u.usable[i], u.LinkFault[i], u.changedAt[i] = true, true, true, -1, -1
		u.MetricFault[2*i], u.MetricFault[2*i+1] = -1, -1
	}
	for x := range n {
		u.BitFault[x] = -1
	}
	return u
}

// metric is what the sender of a direction will give for it.
func (u *Truth) metric(direction int32) uint32 {
	if u.Raised[direction] {
		return linkstate.Drained
	}
	return u.f.Links[direction>>1].Metric[direction&1]
}

// port finds the port that sends a direction.
func (u *Truth) port(direction int32) (x, port int32) {
	x = u.f.From(direction)
	return x, u.f.PortOf(x, direction>>1)
}

// SetLink says whether both ends of a link will list it, and whether it is
// alive. Apply carries out the change of routes. A link that is at the end of an
// instant as it was before has not changed.
func (u *Truth) SetLink(link int32, up, alive bool, fault int32, now int64) {
	if u.LinkUp[link] != u.alive[link] {
		u.undetected--
	}
	u.alive[link] = alive
	if usable := up && alive; u.usable[link] != usable {
		u.usable[link] = usable
		u.usableCount++
	}
	if u.LinkUp[link] != up {
		u.LinkFault[link] = u.changedBy(link, up, fault, now)
		u.LinkUp[link], u.Latest = up, fault
		u.Version++
		if !u.inLinks[link] {
			u.inLinks[link] = true
			u.recentLinks = append(u.recentLinks, link)
		}
		u.setPorts(link)
	}
	if up != alive {
		u.undetected++
	}
}

// changedBy is the fault to note for a link that is now up or not: the one at hand, or
// the one before if the link is again as it was before this instant.
func (u *Truth) changedBy(link int32, up bool, fault int32, now int64) int32 {
	if u.changedAt[link] == now && u.wasUp[link] == up {
		return u.wasFault[link]
	}
	if u.changedAt[link] != now {
		u.changedAt[link], u.wasUp[link], u.wasFault[link] = now, u.LinkUp[link], u.LinkFault[link]
	}
	return fault
}

func (u *Truth) setPorts(link int32) {
	for d := int32(0); d < 2; d++ {
		x, p := u.port(2*link + d)
		m := uint32(0)
		if u.LinkUp[link] {
			m = u.metric(2*link + d)
		}
		u.Routes.SetMetric(x, p, m)
	}
}

// Raise says that the sender of a direction has or has not a raised metric.
func (u *Truth) Raise(direction int32, on bool, fault int32) {
	if u.Raised[direction] == on {
		return
	}
	u.Raised[direction] = on
	u.MetricFault[direction], u.Latest = fault, fault
	u.Version++
	if !u.inMetrics[direction] {
		u.inMetrics[direction] = true
		u.recentMetrics = append(u.recentMetrics, direction)
	}
	u.setPorts(direction >> 1)
}

// SetBit says that a router has or has not the overload bit for good.
func (u *Truth) SetBit(x int32, on bool, fault int32) {
	if u.Routes.Overloaded(x) == on {
		return
	}
	u.NoteBit(x, fault)
	u.usableCount++
	u.Routes.SetOverload(x, on)
}

// SetDead says that a router is dead or not: what databases say of its bit is compared
// or not.
func (u *Truth) SetDead(x int32, dead bool) {
	if u.Dead[x] != dead {
		u.Dead[x] = dead
		u.Version++
	}
}

// NoteBit says that a fault makes a router's overload bit other than the truth
// for a while: a router that returns carries it until it is ready.
func (u *Truth) NoteBit(x, fault int32) {
	u.BitFault[x], u.Latest = fault, fault
	u.Version++
	if !u.inBits[x] {
		u.inBits[x] = true
		u.recentBits = append(u.recentBits, x)
	}
}

// Recall has what a router says looked at again, though every database agrees with the truth: one
// that returns lists nothing until it holds its adjacencies.
func (u *Truth) Recall(x int32) {
	note := func(list *[]int32, in []bool, e int32) {
		if !in[e] {
			in[e] = true
			*list = append(*list, e)
		}
	}
	for _, p := range u.f.Ports[x] {
		if u.LinkFault[p.Link] >= 0 {
			note(&u.recentLinks, u.inLinks, p.Link)
		}
		if d := p.Out(); u.MetricFault[d] >= 0 {
			note(&u.recentMetrics, u.inMetrics, d)
		}
	}
	if u.BitFault[x] >= 0 {
		note(&u.recentBits, u.inBits, x)
	}
}

// Apply carries out the changes of routes and calls back for each entry of a
// leaf that will be another.
func (u *Truth) Apply(changed func(x, d int32)) {
	u.Routes.Apply()
	for x, touched := range u.Routes.Touched {
		if len(touched) == 0 && !u.Routes.Full[x] {
			continue
		}
		if x < u.f.Leaves {
			for _, d := range touched {
				changed(int32(x), d)
			}
			if u.Routes.Full[x] {
				for d := range u.f.Leaves {
					changed(int32(x), int32(d))
				}
			}
		}
		u.Routes.Full[x] = false
		u.Routes.Forget(int32(x))
	}
}

// Ways counts changes after which Path may say something else.
func (u *Truth) Ways() uint64 { return u.Version + u.usableCount }

// Path says whether there is a path of alive links from a leaf to d that
// routing may use: that both ends will list, and without transit through a router
// with the overload bit.
func (u *Truth) Path(d, source int32) bool {
	if u.undetected == 0 || u.Roughly {
		return u.Routes.Cost(d, source) != paths.Unreachable
	}
	if u.reachAt[d] != u.usableCount+1 {
		u.find(d)
	}
	return u.reach[d][source]
}

func (u *Truth) find(d int32) {
	if u.reach[d] == nil {
		u.reach[d] = make([]bool, len(u.f.Routers))
	}
	seen := u.reach[d]
	clear(seen)
	u.spread(d, seen, u.usable)
	u.reachAt[d] = u.usableCount + 1
}

// spread marks the routers from which d can be reached over usable links.
func (u *Truth) spread(d int32, seen, usable []bool) {
	seen[d] = true
	u.stack = append(u.stack[:0], d)
	for len(u.stack) > 0 {
		x := u.stack[len(u.stack)-1]
		u.stack = u.stack[:len(u.stack)-1]
		if x != d && u.Routes.Overloaded(x) {
			continue
		}
		for _, p := range u.f.Ports[x] {
			if usable[p.Link] && !seen[p.Peer] {
				seen[p.Peer] = true
				u.stack = append(u.stack, p.Peer)
			}
		}
	}
}

// Oldest is the fault to be charged for what a router does with an entry that
// came from the given database: of the links, metrics and bits in which that
// differs from the truth, each belongs to the fault that changed it last, and
// the oldest of these is charged. Of several fabrics only that of the router, area,
// is looked at. -1 if nothing differs.
func (u *Truth) Oldest(had linkstate.Snapshot, area int, older func(a, b int32) bool) int32 {
	best := int32(-1)
	take := func(fault int32) {
		if fault >= 0 && (best < 0 || older(fault, best)) {
			best = fault
		}
	}
	for _, link := range u.recentLinks {
		if u.inArea(u.f.Links[link].Lower, area) && had.Lists(u.f, link) != u.LinkUp[link] {
			take(u.LinkFault[link])
		}
	}
	for _, dir := range u.recentMetrics {
		x, p := u.port(dir)
		if m := had.Metric(x, p); u.inArea(x, area) && u.LinkUp[dir>>1] && had.Lists(u.f, dir>>1) && (m == linkstate.Drained) != u.Raised[dir] {
			take(u.MetricFault[dir])
		}
	}
	for _, x := range u.recentBits {
		if u.inArea(x, area) && !u.Dead[x] && had.Known(x) && had.Bit(x) != u.Routes.Overloaded(x) {
			take(u.BitFault[x])
		}
	}
	return best
}

func (u *Truth) inArea(x int32, area int) bool { return u.f.Fabrics <= 1 || u.f.Of(x) == area }

// Recent is how many changes there are that some router may not know of yet.
func (u *Truth) Recent() int { return len(u.recentLinks) + len(u.recentMetrics) + len(u.recentBits) }

// Forget drops from the recent changes those on which every database in use
// agrees with the truth, and about which nobody is about to say anything else.
func (u *Truth) Forget(used []linkstate.Snapshot, ctl *linkstate.Control) {
	keep := func(list []int32, in []bool, says func(int32) bool, differs func(linkstate.Snapshot, int32) bool) []int32 {
		kept := list[:0]
		for _, e := range list {
			stays := says(e)
			for _, s := range used {
				stays = stays || differs(s, e)
			}
			if in[e] = stays; stays {
				kept = append(kept, e)
			}
		}
		return kept
	}
	u.recentLinks = keep(u.recentLinks, u.inLinks, func(l int32) bool { return ctl.SaysOf(l, u.LinkUp[l]) }, func(s linkstate.Snapshot, l int32) bool { return s.Lists(u.f, l) != u.LinkUp[l] })
	u.recentMetrics = keep(u.recentMetrics, u.inMetrics, func(d int32) bool { return ctl.SaysOfMetric(d, u.Raised[d]) }, func(s linkstate.Snapshot, d int32) bool {
		x, p := u.port(d)
		return s.Lists(u.f, d>>1) && (s.Metric(x, p) == linkstate.Drained) != u.Raised[d]
	})
	u.recentBits = keep(u.recentBits, u.inBits, func(x int32) bool { return ctl.SaysOfItself(x, u.Routes.Overloaded(x)) }, func(s linkstate.Snapshot, x int32) bool { return s.Bit(x) != u.Routes.Overloaded(x) })
}
