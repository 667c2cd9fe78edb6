package impact

import (
	"math"
	"math/bits"
)

// A star (package forwarding) whose entrances lose in one way, and to one fault,
// has an account of its own, in which a write changes one term of a sum: what a
// point loses depends on the other points by their number alone. Its entrances'
// own accounts hold nothing meanwhile, and what is known of their losses is not
// kept. That ends with anything else that happens to the destination.

// star is the star that is followed write by write for a destination.
type star struct {
	on       bool
	stale    bool // what passes the entrances is as of an earlier write
	isListed bool
	hub      int32
	hops     float64 // next hops of the hub
	fault    int32
	kind     uint8
	account  int32
	told     int64 // the last write
	classes  []starClass
}

// starClass is the points with so many next hops.
type starClass struct {
	hops   int
	points int
	weight int64
}

// loss is what a point with k next hops loses.
func (s *star) loss(k int) float64 {
	sum := 1.0
	for i := range s.classes {
		sum += float64(s.classes[i].points) / float64(s.classes[i].hops)
	}
	return (sum - 1/float64(k)) / s.hops / float64(k)
}

// count adds a point, or takes it off.
func (s *star) count(hops int, weight, sign int64) {
	for i := range s.classes {
		if c := &s.classes[i]; c.hops == hops {
			c.points += int(sign)
			c.weight += sign * weight
			return
		}
	}
	s.classes = append(s.classes, starClass{hops, 1, weight})
}

// StarWrites is how many writes changed but one term of a star so far.
func (l *Ledger) StarWrites() int { return l.line.starred }

// group has a star of d's followed write by write, as of t, if it can be.
func (l *Ledger) group(d int32, t int64) {
	q := &l.line.dests[d]
	hub, points, ok := l.field.Star(d)
	if !ok || l.Plainly || len(q.apart) > 0 || l.deadAt[d] >= 0 {
		return
	}
	s := &q.star
	late := l.field.Converged(d, hub)
	s.classes = s.classes[:0]
	for i, x := range points {
		if l.line.pod[x] < 0 || int(x) < l.f.Leaves || late && l.field.Converged(d, x) {
			return
		}
		k := l.doorAt(d, x)
		if k < 0 {
			return
		}
		o := &q.doors[k]
		if len(o.losses) != 1 || o.losses[0].first >= 0 || o.stale {
			return
		}
		if u := o.losses[0]; i == 0 {
			s.fault, s.kind = u.fault, u.kind
		} else if s.fault != u.fault || s.kind != u.kind {
			return
		}
		s.count(hopsIn(l.ctl.Table.Of(d, x)), l.line.weight[int(d)*len(l.f.Routers)+int(x)], 1)
	}
	if s.kind != cellLoop && s.kind != cellMaintenance {
		return
	}
	s.on, s.stale, s.hub, s.hops, s.told = true, false, hub, float64(hopsIn(l.ctl.Table.Of(d, hub))), t
	s.account = l.open(t)
	for _, x := range points {
		o := &q.doors[l.doorAt(d, x)]
		if o.inStar, o.first = true, x; l.field.Converged(d, x) {
			o.first = hub
		}
		l.emptyDoor(d, o, t)
	}
	l.chargeStar(d, t)
}

// emptyDoor moves what an entrance is charged for elsewhere.
func (l *Ledger) emptyDoor(d int32, o *entrance, t int64) {
	l.keep(o.account, nil, t)
	for p := range l.Apps {
		l.felt(p, d, &l.line.accounts[o.account].hits[p], 0, t)
	}
}

// chargeStar charges for d's star.
func (l *Ledger) chargeStar(d int32, t int64) {
	s := &l.line.dests[d].star
	total := 0.0
	for i := range s.classes {
		c := &s.classes[i]
		total += float64(float64(c.weight) / weightUnit * s.loss(c.hops))
	}
	var room [1]entry
	l.keep(s.account, put(room[:0], entry{fault: s.fault, kind: s.kind, first: -1, amount: l.units(total)}), t)
	for p := range l.Apps {
		l.felt(p, d, &l.line.accounts[s.account].hits[p], int64(math.Round(float64(total*l.Apps[p].unit))), t)
	}
}

// tellStar has leaves know what passes the entrances of d's star since the last
// write.
func (l *Ledger) tellStar(d int32) {
	q := &l.line.dests[d]
	s := &q.star
	if !s.stale {
		return
	}
	s.stale = false
	for i := range q.doors {
		if o := &q.doors[i]; o.inStar {
			l.passStar(d, o, s.told)
		}
	}
}

func (l *Ledger) passStar(d int32, o *entrance, t int64) {
	lack := l.line.dests[d].star.loss(hopsIn(l.ctl.Table.Of(d, o.x)))
	for p := range l.Apps {
		usual := int64(0)
		if l.line.weight[int(d)*len(l.f.Routers)+int(o.x)] > 0 {
			usual = int64(math.Round(float64(lack * l.Apps[p].unit)))
		}
		l.through(p, o.x, &l.line.accounts[o.account].out[p], usual, t)
	}
}

// tellStars does so for all destinations.
func (l *Ledger) tellStars() {
	for _, d := range l.line.staleStars {
		l.line.dests[d].star.isListed = false
		l.tellStar(d)
	}
	l.line.staleStars = l.line.staleStars[:0]
}

// ungroup has the entrances of d's star keep accounts of their own again, as of
// t.
func (l *Ledger) ungroup(d int32, t int64) {
	q := &l.line.dests[d]
	s := &q.star
	if !s.on {
		return
	}
	l.tellStar(d)
	for i := range q.doors {
		o := &q.doors[i]
		if !o.inStar {
			continue
		}
		o.inStar = false
		lack := s.loss(hopsIn(l.ctl.Table.Of(d, o.x)))
		o.losses[0].amount, o.view[0].amount = lack, lack
		o.charged = l.line.weight[int(d)*len(l.f.Routers)+int(o.x)]
		total := float64(l.weightOf(d, o.x) * lack)
		var room [1]entry
		l.keep(o.account, put(room[:0], entry{fault: s.fault, kind: s.kind, first: -1, amount: l.units(total)}), t)
		for p := range l.Apps {
			o.lacks[p] = lack
			l.felt(p, d, &l.line.accounts[o.account].hits[p], int64(math.Round(float64(total*l.Apps[p].unit))), t)
		}
		l.passStar(d, o, t)
	}
	l.endStar(s, d, t)
}

func (l *Ledger) endStar(s *star, d int32, t int64) {
	s.on, s.stale = false, false
	l.keep(s.account, nil, t)
	for p := range l.Apps {
		l.felt(p, d, &l.line.accounts[s.account].hits[p], 0, t)
	}
	l.shut(s.account)
}

// starWrites puts into force the write of a router of the core that leaves or
// joins d's star, and does nothing else. It returns false, and nothing is
// changed, if it is another.
func (l *Ledger) starWrites(d, x, id int32, t int64) bool {
	q := &l.line.dests[d]
	s := &q.star
	if !s.on || q.isDirty || l.field.Waits(d) {
		return false
	}
	table, set := l.ctl.Table.Of(d, x), l.ctl.Writing(id).Set()
	port := int32(-1)
	for i, w := range set {
		switch odd := w ^ table[i]; {
		case odd == 0:
		case port >= 0 || odd&(odd-1) != 0:
			return false
		default:
			port = int32(i*64 + bits.TrailingZeros64(odd))
		}
	}
	if l.f.Ports[x][port].Peer != s.hub || l.line.pod[x] < 0 {
		return false
	}
	for i := range q.doors {
		if o := &q.doors[i]; o.inStar && o.x != x && l.blameAhead(o.first, d, t) != s.fault {
			return false // a run has ended meanwhile
		}
	}
	hops := hopsIn(table)
	if s.stale && stepOf(t) != stepOf(s.told) {
		l.tellStar(d)
	}
	if at := l.doorAt(d, x); at >= 0 {
		if !q.doors[at].inStar || hops < 2 || table[port>>6]>>(port&63)&1 == 0 {
			return false
		}
		l.ctl.Enter(id)
		l.field.LeaveStar(d, x, s.hub)
		s.count(hops, l.line.weight[int(d)*len(l.f.Routers)+int(x)], -1)
		l.leaveStar(d, at, t)
	} else if !l.joinStar(d, x, id, t) {
		return false
	}
	l.line.starred++
	if !s.on {
		return true
	}
	s.told, s.stale = t, true
	if !s.isListed {
		s.isListed = true
		l.line.staleStars = append(l.line.staleStars, d)
	}
	return true
}

// leaveStar closes the entrance of a point that was counted out.
func (l *Ledger) leaveStar(d, at int32, t int64) {
	q := &l.line.dests[d]
	s := &q.star
	o := &q.doors[at]
	if list := l.line.accounts[s.account].entries; o.whole >= 0 && len(list) > 0 && l.weightOf(d, o.x) > 0 {
		l.lostEntirely(list, o.whole, t) // as in openAgain
	}
	o.whole = -1
	l.closeDoor(d, at, t)
	l.chargeStar(d, t)
	for i := range s.classes {
		if s.classes[i].points > 0 {
			return
		}
	}
	l.endStar(s, d, t)
}

// joinStar has a router that delivers all write an entry with the hub of d's star
// beside what it had. It returns false, and nothing is changed, if it must not be
// followed so.
func (l *Ledger) joinStar(d, x, id int32, t int64) bool {
	q := &l.line.dests[d]
	s := &q.star
	set := l.ctl.Writing(id).Set()
	first := s.hub
	if changes(set, l.field.Truth(d, x)) {
		first = x
	} else if l.field.Converged(d, s.hub) {
		return false
	}
	for _, leaf := range l.line.pods[l.line.pod[x]] { // none must be apart
		if q.unsure>>(uint(l.line.pod[x])&63)&1 == 0 {
			break
		}
		if own := l.ctl.Table.Of(d, leaf); leaf != d && crosses(own, l.line.mask[x]) && changes(own, l.field.Truth(d, leaf)) {
			return false
		}
	}
	if l.blameAhead(first, d, t) != s.fault || !l.field.JoinStar(d, x, s.hub) {
		return false
	}
	l.ctl.Enter(id)
	o := l.door(d, x, t)
	if len(q.byPod[l.line.pod[x]]) == 1 {
		l.weighPod(d, x)
	}
	weight := l.line.weight[int(d)*len(l.f.Routers)+int(x)]
	s.count(hopsIn(l.ctl.Table.Of(d, x)), weight, 1)
	u := entryOfUnit{fault: s.fault, first: -1, kind: s.kind}
	o.losses, o.view = append(o.losses[:0], u), append(o.view[:0], u)
	l.markUneasy(d, o, true)
	o.inStar, o.first, o.still, o.whole, o.charged = true, first, true, t, weight
	l.Faults[s.fault].Pairs += l.pairsAt(d, x)
	l.chargeStar(d, t)
	return true
}
