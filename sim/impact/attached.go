package impact

import "halflight/sim/homing"

// attached is what the ledger keeps of servers that may have two leaves. The
// traffic between two leaves then counts by a weight, which changes with what
// servers and leaves believe of their attachments, and what is lost at these is
// charged beside.
type attached struct {
	*homing.Servers
	weight []float64 // by destination and source, in pairs of leaves
	extra  [][]entry // by block
	passes []passing // pairs of leaves that were looked at
	moved  bool      // weights changed since that was asked last
	old    []int32   // blocks of which units of work are to be counted anew
	isOld  []bool
	pairs  int32
}

// passing is whether nothing passes from s to d.
type passing struct {
	d, s int32
	dark bool
}

// nothing is up to which share delivered is rounding.
const nothing = 1e-12

// Attach has the ledger count by the groups of servers.
func (l *Ledger) Attach(s *homing.Servers) {
	n := l.f.Leaves
	_, each := s.Leaves(0)
	pairs := n / each
	l.servers = &attached{Servers: s, weight: make([]float64, n*n), extra: make([][]entry, pairs*pairs),
		isOld: make([]bool, pairs*pairs), pairs: int32(pairs)}
	l.reweigh(0)
	for _, b := range l.servers.old {
		l.servers.isOld[b] = false
	}
	l.servers.old = l.servers.old[:0]
}

// reweigh works out the blocks that may have changed: charges what is lost at
// their servers, and has those pairs of leaves looked at that lose something and
// weigh more or less than before.
func (l *Ledger) reweigh(now int64) bool {
	a := l.servers
	if a == nil || len(a.Stale) == 0 {
		return false
	}
	for _, b := range a.Stale {
		p, q := a.Block(b)
		scale := l.blockWeight(p, q)
		if scale == 0 {
			continue // of two fabrics
		}
		flow := a.Flow(p, q)
		flow.Scale(scale)
		for _, e := range a.extra[b] {
			l.charge(e, -1, -1, now)
		}
		list := a.extra[b][:0]
		for _, x := range flow.Extra {
			list = put(list, l.atServers(x))
		}
		for _, e := range list {
			l.charge(e, -1, 1, now)
		}
		a.extra[b] = list
		first, n := a.Leaves(p)
		last, _ := a.Leaves(q)
		for i := range n {
			for j := range n {
				s, d := first+int32(i), last+int32(j)
				at := int(d)*l.f.Leaves + int(s)
				same := a.weight[at] == flow.Weight[i][j]
				if s == d || same && len(l.entries.of(d, s)) == 0 {
					continue
				}
				a.weight[at], a.moved = flow.Weight[i][j], a.moved || !same
				if l.deadAt[s] < 0 && l.deadAt[d] < 0 {
					l.bands.Review(d)
				}
			}
		}
		a.countAnew(p, q)
	}
	a.Stale = a.Stale[:0]
	return true
}

// PairWeight is what is sent from a leaf to another, in mean pairs.
func (l *Ledger) PairWeight(s, d int32) float64 {
	if l.servers != nil {
		return l.servers.weight[int(d)*l.f.Leaves+int(s)]
	}
	return l.mix.Pair(s, d)
}

// Reweighed says whether weights changed since it was asked last.
func (l *Ledger) Reweighed() bool {
	if l.servers == nil || !l.servers.moved {
		return false
	}
	l.servers.moved = false
	return true
}

// blockWeight is what a pair of leaves of a block counts, in mean pairs: the same
// for all of one fabric, 0 for leaves of two.
func (l *Ledger) blockWeight(p, q int32) float64 {
	s, n := l.servers.Leaves(p)
	d, _ := l.servers.Leaves(q)
	switch {
	case l.mix == nil:
		return 1
	case s != d:
		return l.mix.Pair(s, d)
	case n > 1:
		return l.mix.Pair(s, s+1)
	}
	return 1 // a leaf by itself sends nothing to itself
}

// atServers is the charge for what is lost at servers, or for want of them.
func (l *Ledger) atServers(x homing.Loss) entry {
	e := entry{fault: x.Fault, kind: cellOverlay, first: -1, amount: l.units(x.Amount)}
	if x.Stranded {
		e.kind = cellStranded
	}
	if e.fault < 0 {
		e.fault = l.oldestCut(l.forceful())
	}
	e.kind = l.upkeep(e.fault, e.kind)
	return e
}

// weighted appends what is lost between two leaves, by the weight of the pair.
// What has no path between them is stranded only for servers that have none by other
// attachments. What a leaf that is dead would get or send is lost at servers.
func (l *Ledger) weighted(list []entry, d, s, dead int32, now int64) []entry {
	a := l.servers
	a.countAnew(a.PairOf(s), a.PairOf(d))
	if dead >= 0 {
		a.passes = append(a.passes, passing{d, s, true})
		l.strike(dead, d, s)
		return list
	}
	a.passes = append(a.passes, passing{d, s, l.bands.Delivered(0, s, d) <= nothing})
	at := int(d)*l.f.Leaves + int(s)
	weight := a.weight[at]
	if weight == 0 {
		return list
	}
	for _, loss := range l.bands.Losses(d, s) {
		e := l.entryOf(loss, d, s, now)
		e.amount = l.units(float64(loss.Amount * weight))
		if e.kind == cellStranded {
			o, spare := e, float64(a.Spare(s, d)*l.blockWeight(a.PairOf(s), a.PairOf(d)))
			o.kind, o.amount = cellOverlay, l.units(float64(loss.Amount*spare))
			e.amount -= o.amount
			list = put(list, o)
		}
		list = put(list, e)
	}
	return list
}

// passedOn tells servers between which leaves nothing passes. It says whether
// anything must be looked at again because of it.
func (l *Ledger) passedOn(now int64) bool {
	a := l.servers
	if a == nil {
		return false
	}
	for _, p := range a.passes {
		back := l.deadAt[p.d] >= 0 || l.deadAt[p.s] >= 0 || l.bands.Delivered(0, p.d, p.s) <= nothing
		a.Dark(p.s, p.d, p.dark || back, now)
	}
	a.passes = a.passes[:0]
	if l.reweigh(now) {
		return true
	}
	l.countUnits()
	return false
}

// countAnew has the units of work of a block counted when the instant is closed.
func (a *attached) countAnew(p, q int32) {
	b := min(p, q)*a.pairs + max(p, q)
	if !a.isOld[b] {
		a.isOld[b] = true
		a.old = append(a.old, b)
	}
}

// countUnits counts how many units of work are hit, between the leaves that
// servers have as their first.
func (l *Ledger) countUnits() {
	a := l.servers
	for _, b := range a.old {
		a.isOld[b] = false
		p, q := b/a.pairs, b%a.pairs
		first, n := a.Leaves(p)
		last, _ := a.Leaves(q)
		for k := range l.Apps {
			delivered := func(from, to int32) float64 { return l.bands.Delivered(k+1, from, to) }
			for i := range n {
				for j := range n {
					if s, d := first+int32(i), last+int32(j); s < d {
						hit := a.Hit(p, q, i, j, delivered)
						l.Apps[k].put(l, d, s, hit)
					}
				}
			}
		}
	}
	a.old = a.old[:0]
}

// Blame is the fault because of which leaf s gets nothing of what leaf d has: that
// of a dead leaf, else one that traffic between them is lost to, else one on an
// uplink of either.
func (l *Ledger) Blame(s, d int32) int32 {
	if dead := l.deadFault(d, s); dead >= 0 {
		return dead
	}
	best := int32(-1)
	for _, list := range [2][]entry{l.entries.of(d, s), l.entries.of(s, d)} {
		for i := range list {
			if f := list[i].fault; best < 0 || l.Older(f, best) {
				best = f
			}
		}
		if best >= 0 {
			return best
		}
	}
	for _, x := range [2]int32{d, s} {
		for _, p := range l.f.Ports[x] {
			if f := l.Truth.LinkFault[p.Link]; f >= 0 && !l.Truth.LinkUp[p.Link] && (best < 0 || l.Older(f, best)) {
				best = f
			}
		}
	}
	return best
}
