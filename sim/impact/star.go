package impact

import (
	"math"
	"math/bits"
	"slices"

	"halflight/sim/forwarding"
	"halflight/sim/paths"
)

// A star (package forwarding) that costs one fault alone, but for what gray directions
// take, has an account of its own, in which a write changes one term of two sums: one
// over the routers that the hub sends to, of what is lost of that or comes back,
// and one over the points by weight. What a point loses follows from the first. Its
// entrances' own accounts hold nothing meanwhile, and what is known of their losses is not
// kept. That ends with anything that happens to the destination but writes of
// routers that only the hub, or nobody, sends to.

// star is one that is followed write by write for a destination.
type star struct {
	hub     int32
	hops    float64 // next hops of the hub
	fault   int32   // behind all that comes back
	account *account
	points  []point
	stale   bool       // what passes the entrances is as of an earlier write
	told    int64      // the last write
	ways    []way      // of losing; by coming back is the first
	classes []starSums // plane by plane, the first is the traffic itself
}

// StarWrites counts the writes that changed but one term of a star's.
type StarWrites struct {
	All     int
	Gray    int // of a router that loses otherwise too
	Beside  int // of a router that changed more than whether it leads to the hub
	Several int // while there was another star
}

// StarWrites tells how many there were so far.
func (l *Ledger) StarWrites() StarWrites { return l.line.starred }

// group has d's stars followed write by write, as of t, if they can be.
func (l *Ledger) group(d int32, t int64) bool {
	q := &l.line.dests[d]
	n := l.field.Stars()
	if n == 0 || l.Plainly || len(q.apart) > 0 || l.deadAt[d] >= 0 {
		return false
	}
	for _, x := range l.field.Moved {
		if !l.field.Delivers(d, x) && l.parts(d, x) {
			return false
		}
	}
	l.field.Open(d)
	q.stars = slices.Grow(q.stars[:0], n)[:n]
	for i := range q.stars {
		if !l.findStar(&q.stars[i], d, i, t) {
			q.stars = q.stars[:0]
			return false
		}
	}
	for i := range q.stars {
		s := &q.stars[i]
		s.account, s.stale, s.told = l.open(t), true, t
		for k := range s.points {
			l.enterStar(d, s, &s.points[k], t)
		}
		l.chargeStar(d, s, t)
		l.tellLater(d)
	}
	return true
}

// findStar finds the sums of a star of d's. It returns false if it cannot be followed.
func (l *Ledger) findStar(s *star, d int32, i int, t int64) bool {
	q := &l.line.dests[d]
	hub, points := l.field.Star(i)
	*s = star{hub: hub, hops: float64(paths.HopsIn(l.ctl.Table.Of(d, hub))), points: s.points[:0], ways: s.ways[:0], classes: s.classes[:0]}
	late := !l.field.Converged(d, hub)
	for range len(l.Apps) + 1 {
		s.classes = append(s.classes, starSums{})
	}
	for k, x := range points {
		if l.line.pod[x] < 0 || int(x) < l.f.Leaves {
			return false
		}
		if at := l.doorAt(d, x); at >= 0 && q.doors[at].stale {
			return false
		}
		p := s.add(x)
		if !l.field.Converged(d, x) {
			p.first = x
		} else if p.first = hub; !late {
			return false
		}
		fault := l.blameAhead(p.first, d, t)
		if fault < 0 || k > 0 && fault != s.fault {
			return false
		}
		if k == 0 {
			kind := uint8(cellLoop)
			if l.Faults[fault].Maintenance {
				kind = cellMaintenance
			}
			s.fault, s.ways = fault, append(s.ways, way{fault: fault, kind: kind})
		}
		if !l.field.Spoke(d, x, hub, l.ctl.Table.Of(d, x), &p.spoke) || !l.followed(&p.spoke) {
			return false
		}
		s.count(&p.spoke, 1)
	}
	var other forwarding.Spoke
	for w, port := range l.f.Ports[hub] {
		x := port.Peer
		if l.ctl.Table.Has(d, hub, int32(w)) && !slices.Contains(points, x) && !l.field.Unharmed(d, hub, int32(w)) {
			if !l.field.Spoke(d, x, hub, l.ctl.Table.Of(d, x), &other) || !l.followed(&other) {
				return false
			}
			s.count(&other, 1)
		}
	}
	return true
}

// followed says whether what is lost next to a hub is of a kind that is.
func (l *Ledger) followed(k *forwarding.Spoke) bool {
	if !l.isGray(&k.Way) {
		return false
	}
	for i := range k.Losses {
		if !l.isGray(&k.Losses[i]) {
			return false
		}
	}
	return true
}

func (l *Ledger) isGray(loss *forwarding.Loss) bool {
	return loss.Amount == 0 || loss.Kind == forwarding.GrayDirection && !l.Faults[loss.Cause].Maintenance
}

// chargePoint charges at an entrance for what it loses and lacks.
func (l *Ledger) chargePoint(d int32, o *entrance, t int64) {
	w := l.weightOf(d, o.x)
	list := l.line.list[:0]
	for i := range o.losses {
		u := &o.losses[i]
		list = put(list, u.weighing(l.units(float64(w*u.amount))))
	}
	l.line.list = list
	l.keep(o.account, list, t)
	l.feelDoor(d, o, t)
}

// chargeNone charges at an entrance for nothing: its star does.
func (l *Ledger) chargeNone(d int32, o *entrance, t int64) {
	l.keep(o.account, nil, t)
	for p := range l.Apps {
		l.felt(p, d, &o.account.hits[p], 0, t)
	}
}

// chargeStar charges for a star of d's.
func (l *Ledger) chargeStar(d int32, s *star, t int64) {
	list := l.line.list[:0]
	for i := range s.ways {
		w := &s.ways[i]
		list = put(list, entry{fault: w.fault, kind: w.kind, first: -1, amount: l.units(w.own + float64(w.lost*s.classes[0].back))})
	}
	l.line.list = list
	l.keep(s.account, list, t)
	for p := range l.Apps {
		c := &s.classes[p+1]
		total := c.own + float64(c.lost*c.back)
		l.felt(p, d, &s.account.hits[p], int64(math.Round(float64(total*l.Apps[p].unit))), t)
	}
}

// tellStar has leaves know what passes the entrances of a star since the last write.
func (l *Ledger) tellStar(d int32, s *star) {
	if !s.stale {
		return
	}
	s.stale = false
	for i := range s.points {
		l.passPoint(d, s, &s.points[i], s.told)
	}
}

// tellLater has leaves know of d's stars when an instant is closed.
func (l *Ledger) tellLater(d int32) {
	if q := &l.line.dests[d]; !q.isListed {
		q.isListed = true
		l.line.staleStars = append(l.line.staleStars, d)
	}
}

func (l *Ledger) passPoint(d int32, s *star, at *point, t int64) {
	o := &l.line.dests[d].doors[l.doorAt(d, at.x)]
	for p := range l.Apps {
		usual := int64(0)
		lack := float64(s.lack(at, p+1) * l.Apps[p].unit)
		if at.arrives[0] > 0 {
			usual = int64(math.Round(lack))
		}
		l.through(p, at.x, &o.account.out[p], usual, t)
	}
}

// tellStars does so for all destinations.
func (l *Ledger) tellStars() {
	for _, d := range l.line.staleStars {
		q := &l.line.dests[d]
		q.isListed = false
		for i := range q.stars {
			l.tellStar(d, &q.stars[i])
		}
	}
	l.line.staleStars = l.line.staleStars[:0]
}

// ungroup has the entrances of d's stars keep accounts of their own again, as of t.
func (l *Ledger) ungroup(d int32, t int64) {
	q := &l.line.dests[d]
	for i := range q.stars {
		s := &q.stars[i]
		l.tellStar(d, s)
		for k := range s.points {
			l.putOut(d, s, &s.points[k], t)
		}
		l.endStar(s, d, t)
	}
	q.stars = q.stars[:0]
}

// putOut has an entrance of a star keep an account of its own.
func (l *Ledger) putOut(d int32, s *star, p *point, t int64) {
	o := &l.line.dests[d].doors[l.doorAt(d, p.x)]
	o.inStar = false
	o.losses = s.losses(p, o.losses[:0])
	o.view = append(o.view[:0], o.losses...)
	if len(o.view) > 0 && o.view[0].kind != cellGray { // what goes round comes first
		o.view[0].first = byEntry
	}
	l.noteWeight(d, o, t)
	for i := range o.lacks {
		o.lacks[i] = s.lack(p, i+1)
	}
	l.chargePoint(d, o, t)
}

func (l *Ledger) endStar(s *star, d int32, t int64) {
	l.keep(s.account, nil, t)
	for p := range l.Apps {
		l.felt(p, d, &s.account.hits[p], 0, t)
	}
	l.shut(s.account)
}

// starOf is the place of the star with a hub among d's, -1 if there is none.
func (q *destination) starOf(hub int32) int {
	for i := range q.stars {
		if q.stars[i].hub == hub {
			return i
		}
	}
	return -1
}

// starWrites puts into force the write of a router of the core that a hub of d's
// stars and nobody else sends to, and that changes nothing but what it does itself.
// It returns false, and nothing is changed, if it is another.
func (l *Ledger) starWrites(d, x, id int32, t int64) bool {
	q := &l.line.dests[d]
	if len(q.stars) == 0 || q.isDirty || l.field.Waits(d) || l.line.pod[x] < 0 {
		return false
	}
	hub := l.field.Sender(d, x)
	place := q.starOf(hub)
	if hub < 0 || place < 0 {
		return false
	}
	s, set := &q.stars[place], l.ctl.SetOf(id)
	joins, ok := l.field.Aside(d, x, hub, set)
	if at := l.doorAt(d, x); !ok || joins == (at >= 0 && q.doors[at].inStar) {
		return false
	}
	odd, was := 0, l.ctl.Table.Of(d, x)
	for i, w := range set {
		odd += bits.OnesCount64(w ^ was[i])
	}
	l.field.Open(d)
	after, first := &l.line.after, hub
	if !l.field.Spoke(d, x, hub, set, after) || !l.followed(after) || l.parts(d, x) {
		return false
	}
	if joins {
		if changes(set, l.field.Truth(d, x)) {
			first = x
		} else if l.field.Converged(d, hub) {
			return false
		}
		if l.blameAhead(first, d, t) != s.fault {
			return false
		}
	}
	if !l.blamesHold(d, x, t) {
		return false
	}
	if s.stale && (stepOf(t) != stepOf(s.told) || t == l.line.outside && s.told < t) {
		l.tellStar(d, s)
	}
	l.line.hops = l.line.hops[:0]
	for i := range s.ways {
		l.line.hops = append(l.line.hops, s.ways[i].hops)
	}
	l.partFrom(d, s, x, t)
	l.ctl.Enter(id)
	l.countStarWrite(len(q.stars), odd > 1)
	if joins {
		l.joinStar(d, s, x, first, t)
	} else if !l.stayOut(d, s, x, t) {
		l.endStar(s, d, t)
		q.stars[place], q.stars[len(q.stars)-1] = q.stars[len(q.stars)-1], q.stars[place]
		q.stars = q.stars[:len(q.stars)-1]
		return true
	}
	l.chargeStar(d, s, t)
	s.told, s.stale = t, true
	l.tellLater(d)
	return true
}

// parts says whether a leaf below x, that is not apart, would be if x were uneasy.
func (l *Ledger) parts(d, x int32) bool {
	q := &l.line.dests[d]
	if l.line.pod[x] < 0 || !q.byPod[l.line.pod[x]].unsure {
		return false
	}
	if at := l.doorAt(d, x); at >= 0 && q.doors[at].uneasy {
		return false
	}
	for _, leaf := range l.line.pods[l.line.pod[x]] {
		if own := l.ctl.Table.Of(d, leaf); leaf != d && l.deadAt[leaf] < 0 && crosses(own, l.line.mask[x]) && !l.field.Converged(d, leaf) {
			return true
		}
	}
	return false
}

func (l *Ledger) countStarWrite(stars int, beside bool) {
	c := &l.line.starred
	c.All++
	if !l.line.after.Sound {
		c.Gray++
	}
	if beside {
		c.Beside++
	}
	if stars > 1 {
		c.Several++
	}
}

// blamesHold says whether the same faults are behind all circles of d as when they
// were last looked at, but for x's: no run has ended meanwhile that changes that.
func (l *Ledger) blamesHold(d, x int32, t int64) bool {
	q := &l.line.dests[d]
	if len(q.stars) == 0 {
		return !l.field.Circles(d)
	}
	for i := range q.stars {
		s := &q.stars[i]
		for k := range s.points {
			if p := &s.points[k]; p.x != x && l.blameAhead(p.first, d, t) != s.fault {
				return false
			}
		}
	}
	return true
}

// partFrom takes off a star's sums what router x, whose entry is about to change, does.
func (l *Ledger) partFrom(d int32, s *star, x int32, t int64) {
	for i := range s.points {
		if p := &s.points[i]; p.x == x {
			l.putOut(d, s, p, t)
			s.count(&p.spoke, -1)
			s.weigh(p, -1)
			last := len(s.points) - 1
			s.points[i], s.points[last] = s.points[last], s.points[i]
			s.points = s.points[:last]
			return
		}
	}
	if k := &l.line.before; l.field.Spoke(d, x, s.hub, l.ctl.Table.Of(d, x), k) && !k.Sound {
		s.count(k, -1)
	}
}

// stayOut follows what router x, which is no point now, loses. It returns false if the star
// has no points any more.
func (l *Ledger) stayOut(d int32, s *star, x int32, t int64) bool {
	hub := int32(-1)
	if len(s.points) == 0 {
		hub = s.hub
	}
	l.field.StaysOut(d, x, hub)
	l.field.Open(d)
	if !l.field.Delivers(d, x) {
		l.followDoor(d, x, t)
	} else if i := l.doorAt(d, x); i >= 0 {
		l.closeDoor(d, i, t)
	}
	l.counted(d, s, x, &l.line.after)
	return hub < 0
}

// counted adds to the sums what router x does now. Points that lose in a way in which
// none did before its write lose to another fault.
func (l *Ledger) counted(d int32, s *star, x int32, k *forwarding.Spoke) {
	was := l.line.hops
	s.count(k, 1)
	for i := range s.ways {
		if w := &s.ways[i]; i == 0 || w.hops == 0 || i < len(was) && was[i] > 0 || w.fault == s.fault {
			continue
		}
		for j := range s.points {
			if y := s.points[j].x; y != x {
				l.strikeAt(s.ways[i].fault, d, y)
			}
		}
	}
}

// joinStar makes router x a point of a star.
func (l *Ledger) joinStar(d int32, s *star, x, first int32, t int64) {
	l.field.Joins(d, x)
	p := s.add(x)
	p.first = first
	p.spoke, l.line.after = l.line.after, p.spoke
	l.counted(d, s, x, &p.spoke)
	l.enterStar(d, s, p, t)
}

// enterStar has the entrance of a point, which is counted, be charged for with its star.
func (l *Ledger) enterStar(d int32, s *star, p *point, t int64) {
	q := &l.line.dests[d]
	isNew := l.doorAt(d, p.x) < 0
	o := l.door(d, p.x, t)
	if isNew && len(q.byPod[l.line.pod[p.x]].doors) == 1 {
		l.weighPod(d, p.x, true)
	}
	l.arriving(d, p.x)
	p.arrives = append(append(p.arrives[:0], l.weightOf(d, p.x)), l.line.arrives...)
	s.weigh(p, 1)
	o.losses = s.losses(p, o.losses[:0])
	held := o.account.entries
	for i := range o.losses {
		if u := &o.losses[i]; !holds(held, u.fault) && (i == 0 || u.fault != s.fault) {
			l.strikeAt(u.fault, d, p.x)
		}
	}
	l.handOver(d, o, s.fault, t)
	l.chargeNone(d, o, t)
	l.markUneasy(d, o, true)
	l.noteWeight(d, o, t)
	if o.inStar, o.still = true, true; o.whole < 0 {
		o.whole = t
	}
}
