package impact

import (
	"math"
	"math/bits"

	"halflight/sim/forwarding"
	"halflight/sim/linkstate"
)

// A star (package forwarding) that costs one fault alone has an account of its own,
// in which a write changes one term of a sum: what a point loses depends on the
// other points by their number alone. Its entrances' own accounts hold nothing of
// it meanwhile, only what gray directions take besides, and what is known of their
// losses is not kept. That ends with anything else that happens to the destination.

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
	gray     []entryOfUnit // what a point with one next hop, which loses nothing else, loses of what the hub sends on
	rest     []float64     // by class: what it lacks so
	told     int64         // the last write
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
	hub, points, ok := l.field.Star()
	if !ok || l.Plainly || len(q.apart) > 0 || l.deadAt[d] >= 0 {
		return
	}
	s := &q.star
	late := l.field.Converged(d, hub)
	s.classes = s.classes[:0]
	gray := false
	for i, x := range points {
		if l.line.pod[x] < 0 || int(x) < l.f.Leaves || late && l.field.Converged(d, x) {
			return
		}
		k := l.doorAt(d, x)
		if k < 0 {
			return
		}
		o := &q.doors[k]
		if !o.findLoop() {
			return
		}
		gray = gray || len(o.losses) > 1
		if u := o.losses[o.loop]; i == 0 {
			s.fault, s.kind = u.fault, u.kind
		} else if s.fault != u.fault || s.kind != u.kind {
			return
		}
		s.count(linkstate.HopsIn(l.ctl.Table.Of(d, x)), l.weightAt(d, x), 1)
	}
	if s.kind != cellLoop && s.kind != cellMaintenance {
		return
	}
	s.on, s.stale, s.hub, s.hops, s.told = true, false, hub, float64(linkstate.HopsIn(l.ctl.Table.Of(d, hub))), t
	s.account = l.open(t)
	if s.gray, s.rest = s.gray[:0], s.rest[:0]; gray {
		l.beyondHub(d)
	}
	for _, x := range points {
		o := &q.doors[l.doorAt(d, x)]
		if o.inStar, o.first = true, x; l.field.Converged(d, x) {
			o.first = hub
		}
		o.losses[o.loop].amount, o.view[o.loop].amount = 0, 0
		o.rest = o.rest[:0]
		for p := range o.lacks {
			if len(o.losses) > 1 {
				o.rest = append(o.rest, o.lacks[p]-s.loss(linkstate.HopsIn(l.ctl.Table.Of(d, x))))
			}
		}
		l.chargePoint(d, o, o.rest, t)
	}
	l.chargeStar(d, t)
}

// findLoop finds what an entrance loses by coming back, if all else that it loses
// is taken by gray directions.
func (o *entrance) findLoop() bool {
	if o.loop = -1; o.stale || len(o.losses) != len(o.view) {
		return false
	}
	for i := range o.losses {
		switch {
		case o.losses[i].kind == cellGray && o.view[i].kind == cellGray:
		case o.loop >= 0 || o.losses[i].first >= 0 || o.view[i].kind != o.losses[i].kind:
			return false
		default:
			o.loop = i
		}
	}
	return o.loop >= 0
}

// beyondHub finds what gray directions take of what the hub of d's star sends on.
func (l *Ledger) beyondHub(d int32) {
	s := &l.line.dests[d].star
	for _, loss := range l.field.LossesFrom(d, s.hub) {
		if loss.Kind == forwarding.GrayDirection {
			s.gray = putUnit(s.gray, entryOfUnit{fault: loss.Cause, first: -1, kind: cellGray, amount: loss.Amount})
		}
	}
	back := 0.0
	for i := range s.classes {
		back += float64(s.classes[i].points) / float64(s.classes[i].hops)
	}
	for p := range l.Apps {
		s.rest = append(s.rest, l.field.Lacks(p+1, d, s.hub)-back/s.hops)
	}
}

// chargePoint charges at an entrance of a star for what is among its losses; lacks
// is what it lacks for, by class, or nothing.
func (l *Ledger) chargePoint(d int32, o *entrance, lacks []float64, t int64) {
	w := l.weightOf(d, o.x)
	list := l.line.list[:0]
	for i := range o.losses {
		u := &o.losses[i]
		list = put(list, entry{fault: u.fault, kind: u.kind, first: u.first, amount: l.units(float64(w * u.amount))})
	}
	l.line.list = list
	l.keep(o.account, list, t)
	for p := range l.Apps {
		hit := int64(0)
		if len(lacks) > 0 {
			hit = int64(math.Round(float64(float64(w*lacks[p]) * l.Apps[p].unit)))
		}
		l.felt(p, d, &l.line.accounts[o.account].hits[p], hit, t)
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
	lack := l.line.dests[d].star.loss(linkstate.HopsIn(l.ctl.Table.Of(d, o.x)))
	for p := range l.Apps {
		usual := int64(0)
		if l.weightAt(d, o.x) > 0 {
			usual = int64(math.Round(float64(o.lack(p, lack) * l.Apps[p].unit)))
		}
		l.through(p, o.x, &l.line.accounts[o.account].out[p], usual, t)
	}
}

// lack is what a point lacks whose loss to its star is given.
func (o *entrance) lack(p int, loss float64) float64 {
	if len(o.rest) > 0 {
		return loss + o.rest[p]
	}
	return loss
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
		lack := s.loss(linkstate.HopsIn(l.ctl.Table.Of(d, o.x)))
		o.losses[o.loop].amount, o.view[o.loop].amount = lack, lack
		o.charged = l.weightAt(d, o.x)
		for p := range o.lacks {
			o.lacks[p] = o.lack(p, lack)
		}
		l.chargePoint(d, o, o.lacks, t)
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
	if !l.blamesHold(d, x, t) {
		return false
	}
	hops := linkstate.HopsIn(table)
	if s.stale && (stepOf(t) != stepOf(s.told) || t == l.line.outside && s.told < t) {
		l.tellStar(d)
	}
	if at := l.doorAt(d, x); at >= 0 {
		if !q.doors[at].inStar || hops < 2 || table[port>>6]>>(port&63)&1 == 0 {
			return false
		}
		if !l.field.LeaveStar(d, x, s.hub, set) {
			return false
		}
		l.ctl.Enter(id)
		s.count(hops, l.weightAt(d, x), -1)
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

// blamesHold says whether the same fault is behind all circles of d as when they
// were last looked at, but for x's: no run has ended meanwhile that changes that.
func (l *Ledger) blamesHold(d, x int32, t int64) bool {
	q := &l.line.dests[d]
	if !q.star.on {
		return !l.field.Circles(d)
	}
	for i := range q.doors {
		if o := &q.doors[i]; o.inStar && o.x != x && l.blameAhead(o.first, d, t) != q.star.fault {
			return false
		}
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
		l.weighPod(d, x, true)
	}
	weight := l.weightAt(d, x)
	s.count(linkstate.HopsIn(l.ctl.Table.Of(d, x)), weight, 1)
	o.losses, o.loop, o.rest = append(o.losses[:0], entryOfUnit{fault: s.fault, first: -1, kind: s.kind}), 0, o.rest[:0]
	hops := float64(linkstate.HopsIn(l.ctl.Table.Of(d, x)))
	for _, u := range s.gray {
		u.amount /= hops
		o.losses = append(o.losses, u)
	}
	for _, lack := range s.rest {
		o.rest = append(o.rest, lack/hops)
	}
	o.view = append(o.view[:0], o.losses...)
	l.markUneasy(d, o, true)
	o.inStar, o.first, o.still, o.whole, o.charged = true, first, true, t, weight
	for i := range o.losses {
		l.Faults[o.losses[i].fault].Pairs += l.pairsAt(d, x)
	}
	if len(o.rest) > 0 {
		l.chargePoint(d, o, o.rest, t)
	}
	l.chargeStar(d, t)
	return true
}
