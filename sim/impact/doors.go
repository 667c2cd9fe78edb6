package impact

import (
	"math"
	"slices"

	"halflight/sim/forwarding"
)

// followCore brings the core's deliveries to d up to date, and what entrances
// lose, as of t. All says that charges may have changed though deliveries did
// not.
func (l *Ledger) followCore(d int32, all bool, t int64) {
	l.ungroup(d, t)
	l.field.Settle(d)
	each := all || l.field.Beyond
	if !each {
		l.group(d, t)
	}
	l.followMoved(d, all, t)
	if each {
		l.group(d, t)
	}
}

// followMoved follows what entrances lose after a settlement.
func (l *Ledger) followMoved(d int32, all bool, t int64) {
	l.chargeTogether()
	l.followEach(d, all, t)
	l.told(d, t)
}

// followEach is followMoved, entrance by entrance.
func (l *Ledger) followEach(d int32, all bool, t int64) {
	l.field.Open(d)
	if all || l.field.Beyond || l.deadAt[d] >= 0 {
		l.followAll(d, all || l.deadAt[d] >= 0, t)
		return
	}
	l.line.steps = append(l.line.steps[:0], l.field.Moved...) // charging may settle again
	for _, x := range l.line.steps {
		if l.line.pod[x] < 0 || int(x) < l.f.Leaves {
			continue
		}
		i := l.doorAt(d, x)
		switch {
		case i >= 0 && l.line.dests[d].doors[i].inStar: // it is charged for with others
		case !l.field.Delivers(d, x):
			l.followDoor(d, x, t)
		case i >= 0:
			l.closeDoor(d, i, t)
		}
	}
}

// coreWrites puts the write of a router of the core into force.
func (l *Ledger) coreWrites(d, x, id int32, t int64) {
	set := l.ctl.SetOf(id)
	switch {
	case l.Plainly:
	case l.field.Quiet(d, x, set) && l.blamesHold(d, x, t):
		l.ctl.Enter(id) // nothing is lost before or after
		return
	case l.field.Direct(d, x, set) && l.blamesHold(d, x, t) && (len(l.line.dests[d].stars) == 0 || !l.parts(d, x)):
		l.ctl.Enter(id)
		l.field.SettleDirect(d, x)
		l.followMoved(d, false, t)
		return
	case l.starWrites(d, x, id, t):
		return
	}
	l.ungroup(d, t) // it goes by the entries there were
	l.ctl.Enter(id)
	l.field.EntryChanged(x, d)
	l.followCore(d, false, t)
}

// followAll looks at all entrances of d. Unless each must be, those that nobody
// is charged for, and of which deliveries did not change, can wait until somebody
// is.
func (l *Ledger) followAll(d int32, each bool, t int64) {
	q := &l.line.dests[d]
	l.line.round++
	for _, x := range l.field.Moved {
		l.line.moved[x] = l.line.round
	}
	for i := range q.doors {
		q.doors[i].still = false
	}
	if l.deadAt[d] < 0 {
		for _, x := range l.field.Marred(d) {
			if l.line.pod[x] < 0 || int(x) < l.f.Leaves {
				continue
			}
			if i := l.doorAt(d, x); i >= 0 && l.line.moved[x] != l.line.round {
				o := &q.doors[i]
				if !each && l.weightOf(d, x) == 0 {
					o.still, o.stale = true, true
					continue
				}
				if each && !o.uneasy && !o.stale && !l.field.Beyond && !l.Plainly {
					if o.still = true; o.charged != l.weightAt(d, x) {
						l.chargeDoor(d, o, t)
					}
					continue
				}
			}
			l.followDoor(d, x, t)
		}
	}
	for i := len(q.doors) - 1; i >= 0; i-- {
		if !q.doors[i].still {
			l.closeDoor(d, int32(i), t)
		}
	}
}

// doorAt is the place of entrance x among d's, -1 if it delivers all.
func (l *Ledger) doorAt(d, x int32) int32 {
	q := &l.line.dests[d]
	for _, r := range q.byPod[l.line.pod[x]].doors {
		if r.x == x {
			return r.at
		}
	}
	return -1
}

// door finds the entrance x of d, or opens one.
func (l *Ledger) door(d, x int32, t int64) *entrance {
	q := &l.line.dests[d]
	if i := l.doorAt(d, x); i >= 0 {
		return &q.doors[i]
	}
	list := &q.byPod[l.line.pod[x]].doors
	*list = append(*list, doorRef{x, int32(len(q.doors))})
	n := len(q.doors)
	if n < cap(q.doors) {
		q.doors = q.doors[:n+1]
	} else {
		q.doors = append(q.doors, entrance{})
	}
	o := &q.doors[n]
	if cap(o.losses) == 0 { // what is looked at together lies together
		room := make([]entryOfUnit, 4)
		o.losses, o.view, o.lacks = room[:0:2], room[2:2], make([]float64, 0, len(l.Apps))
	}
	*o = entrance{x: x, account: l.open(t), losses: o.losses[:0], view: o.view[:0], lacks: o.lacks[:0], whole: -1}
	for range l.Apps {
		o.lacks = append(o.lacks, 0)
	}
	return o
}

// followDoor finds what is lost at an entrance now.
func (l *Ledger) followDoor(d, x int32, t int64) {
	isNew := l.doorAt(d, x) < 0
	o := l.door(d, x, t)
	o.still, o.stale = true, false
	losses := o.losses
	var room [8]entryOfUnit
	was := append(room[:0], o.view...)
	o.losses, o.view = losses[:0], o.view[:0]
	for _, loss := range l.field.LossesFrom(d, x) {
		e := entryOfUnit{fault: loss.Cause, first: loss.First, kind: cellGray, whole: loss.Whole, amount: loss.Amount}
		v := entryOfUnit{fault: loss.Cause, first: -1, kind: cellGray, whole: loss.Whole, amount: loss.Amount}
		switch loss.Kind {
		case forwarding.GrayDirection:
		case forwarding.FullDirection:
			e.kind, v.kind = cellFull, cellFull
		case forwarding.DeadDirection:
			if v.kind = transit; loss.First >= 0 {
				e.kind = transit
			}
		default:
			kind := uint8(transit)
			if loss.Kind == forwarding.Loop {
				kind = cellLoop
			}
			e.fault, e.kind, v.kind, v.first = -1, kind, kind, byEntry
			if loss.First >= 0 {
				e.fault = l.blameAhead(loss.First, d, t)
				v.fault = e.fault
			} else {
				v.fault = inherited(was, kind, loss.Amount)
			}
			if e.fault < 0 {
				e.fault, e.kind, e.first = l.strandedBy(d, x), cellStranded, -1
			}
		}
		e.kind = l.upkeep(e.fault, e.kind)
		if e.kind != transit {
			e.first = -1
		}
		if v.fault >= 0 {
			v.kind = l.upkeep(v.fault, v.kind)
		}
		o.losses = putUnit(o.losses, e)
		o.view = putUnit(o.view, v)
	}
	uneasy := false
	for i := range o.view {
		uneasy = uneasy || o.view[i].kind != cellGray && o.view[i].kind != cellFull
	}
	turned := uneasy && !o.uneasy
	l.markUneasy(d, o, uneasy)
	for p := range l.Apps {
		o.lacks[p] = l.field.Lacks(p+1, d, x)
	}
	if isNew && len(l.line.dests[d].byPod[l.line.pod[x]].doors) == 1 {
		l.weighPod(d, x, turned)
	} else if turned {
		l.sortOut(d, x, t)
		o = l.door(d, x, t)
	}
	if whole := l.field.WholeAt(d, x); whole && o.whole < 0 {
		o.whole = t
	} else if !whole && o.whole >= 0 {
		l.openAgain(d, o, t)
	}
	l.chargeTogether()
	l.chargeDoor(d, o, t)
	if turned || isNew || !slices.Equal(was, o.view) {
		l.viewChanged(d, o.x, t)
	}
	l.told(d, t)
}

// markUneasy says whether charges at an entrance may depend on tables or on the
// truth.
func (l *Ledger) markUneasy(d int32, o *entrance, uneasy bool) {
	if o.uneasy == uneasy {
		return
	}
	if o.uneasy = uneasy; uneasy {
		l.line.dests[d].uneasy++
	} else {
		l.line.dests[d].uneasy--
	}
}

// inherited is the fault that what is lost in the same measure was charged to:
// a router that takes out a dead next hop, and has no other, loses no more.
func inherited(was []entryOfUnit, kind uint8, amount float64) int32 {
	for i := range was {
		if was[i].kind == kind && was[i].amount == amount {
			return was[i].fault
		}
	}
	return -1
}

func putUnit(list []entryOfUnit, e entryOfUnit) []entryOfUnit {
	for i := range list {
		if o := &list[i]; o.fault == e.fault && o.kind == e.kind && o.first == e.first {
			o.amount, o.whole = o.amount+e.amount, o.whole || e.whole
			return list
		}
	}
	return append(list, e)
}

// chargeDoor charges what leaves whose entries are converged lose at an
// entrance.
func (l *Ledger) chargeDoor(d int32, o *entrance, t int64) {
	l.noteWeight(d, o, t)
	w := l.weightOf(d, o.x)
	if o.stale && w > 0 {
		l.field.Settle(d)
		l.field.Open(d)
		l.followDoor(d, o.x, t)
		return
	}
	a := o.account
	if amount := l.units(float64(w * o.onlyLoss(a))); amount > 0 {
		l.become(a, amount, t)
	} else {
		list := l.line.list[:0]
		for i := range o.losses {
			u := &o.losses[i]
			list = put(list, u.weighing(l.units(float64(w*u.amount))))
		}
		l.line.list = list
		for i := range list {
			if isFresh(a.entries, list, i) {
				l.strikeAt(list[i].fault, d, o.x)
			}
		}
		l.handOver(d, o, loserOf(list), t)
		l.keep(a, list, t)
	}
	if l.feelDoor(d, o, t) { // what leaves that are apart have more than usual is something else now
		l.usualChanged(d, o.x, t)
	}
}

// feelDoor has units of work hit by what an entrance lacks. It says whether what is usual changed.
func (l *Ledger) feelDoor(d int32, o *entrance, t int64) (told bool) {
	a, some := o.account, l.weightAt(d, o.x) > 0
	l.arriving(d, o.x)
	for p := range l.Apps {
		lack := float64(o.lacks[p] * l.Apps[p].unit)
		l.felt(p, d, &a.hits[p], int64(math.Round(float64(l.line.arrives[p]*lack))), t)
		usual := int64(0)
		if some {
			usual = int64(math.Round(lack))
		}
		told = told || usual != a.out[p]
		l.through(p, o.x, &a.out[p], usual, t)
	}
	return told
}

// noteWeight notes the weight that is charged for at an entrance from t on.
func (l *Ledger) noteWeight(d int32, o *entrance, t int64) {
	w := l.weightAt(d, o.x)
	switch since := min(t, l.line.lostSince); {
	case w <= o.charged:
	case o.charged == 0:
		o.used = since
	default:
		o.used = min(o.used, since)
	}
	o.charged = w
}

// onlyLoss is what an entrance loses in the only way that its account is charged for,
// 0 if there are others.
func (o *entrance) onlyLoss(a *account) float64 {
	if len(o.losses) != 1 || len(a.entries) != 1 {
		return 0
	}
	u, e := &o.losses[0], &a.entries[0]
	if u.fault != e.fault || u.kind != e.kind || u.first != e.first || u.whole != e.whole {
		return 0
	}
	return u.amount
}

// openAgain is the end, at t, of a time in which some flow was lost entirely.
func (l *Ledger) openAgain(d int32, o *entrance, t int64) {
	if l.weightOf(d, o.x) > 0 {
		l.lostFor(loserOf(o.account.entries), towards(d, l.line.pod[o.x]), max(o.whole, o.used), t)
	}
	o.whole = -1
}

// handOver books what an entrance lost entirely up to t, to the fault that had it, when another is
// about to have it, or none.
func (l *Ledger) handOver(d int32, o *entrance, to int32, t int64) {
	was := loserOf(o.account.entries)
	if o.whole < 0 || was < 0 || was == to {
		return
	}
	l.lostFor(was, towards(d, l.line.pod[o.x]), max(o.whole, o.used), t)
	o.used = t
}

// towards and outOf say whose flows were lost entirely: those of a pod to a leaf, or all that a leaf sends.
func towards(d, pod int32) uint64 { return uint64(d)<<32 | uint64(pod) }
func outOf(s int32) uint64        { return 1<<63 | uint64(s) }

// loserOf is a fault that entries charge with flows that are lost entirely: one that is not gray,
// if there is one; -1 for none.
func loserOf(list []entry) int32 {
	fault := int32(-1)
	for i := range list {
		if e := &list[i]; e.whole && (fault < 0 || e.kind != cellGray) {
			fault = e.fault
		}
	}
	return fault
}

// lostFor books that one of somebody's flows was lost entirely since an instant, to a fault, if
// it is one, from its onset on. Of a fault that comes and goes such times are added up.
func (l *Ledger) lostFor(fault int32, whose uint64, since, t int64) {
	if fault < 0 {
		return
	}
	f := &l.Faults[fault]
	span := t - max(since, f.Onset)
	if f.Repeats && span > 0 {
		span = f.spells.Add(whose, t-span, t)
	}
	f.RouteLoss = max(f.RouteLoss, span)
}

// closeDoor ends the account of an entrance that delivers all again.
func (l *Ledger) closeDoor(d, i int32, t int64) {
	q := &l.line.dests[d]
	o := &q.doors[i]
	if o.whole >= 0 {
		l.openAgain(d, o, t)
	}
	x := o.x
	l.keep(o.account, nil, t)
	for p := range l.Apps {
		l.felt(p, d, &o.account.hits[p], 0, t)
		l.through(p, x, &o.account.out[p], 0, t)
	}
	l.shut(o.account)
	l.markUneasy(d, o, false)
	last := int32(len(q.doors) - 1)
	list := &q.byPod[l.line.pod[x]].doors
	*list = slices.DeleteFunc(*list, func(r doorRef) bool { return r.at == i })
	if i != last {
		moved := q.byPod[l.line.pod[q.doors[last].x]].doors
		moved[slices.IndexFunc(moved, func(r doorRef) bool { return r.at == last })].at = i
		q.doors[i], q.doors[last] = q.doors[last], q.doors[i]
	}
	q.doors = q.doors[:last]
	l.usualChanged(d, x, t)
}

// usualChanged has leaves that are apart, below an entrance, look at what they lose.
func (l *Ledger) usualChanged(d, x int32, t int64) {
	q := &l.line
	if len(q.dests[d].apart) > 0 && !slices.Contains(q.latePods, q.pod[x]) {
		q.latePods = append(q.latePods, q.pod[x])
	}
	l.tellApart(d, t)
}

// viewChanged has leaves that are apart and use an entrance look at what they
// lose.
func (l *Ledger) viewChanged(d, x int32, t int64) {
	q := &l.line
	if len(q.dests[d].apart) > 0 && !slices.Contains(q.latePods, q.pod[x]) && !slices.Contains(q.lateDoors, x) {
		q.lateDoors = append(q.lateDoors, x)
	}
	l.tellApart(d, t)
}

// chargeTogether has leaves that are apart wait until entrances have been charged for
// that change together; told is the end of that.
func (l *Ledger) chargeTogether() { l.line.waitFor++ }

func (l *Ledger) told(d int32, t int64) {
	l.line.waitFor--
	l.tellApart(d, t)
}

func crosses(a, b []uint64) bool {
	for i, w := range a {
		if w&b[i] != 0 {
			return true
		}
	}
	return false
}

// blameAhead is the fault behind the entry for d of a router of the core that
// was not the converged one at t.
func (l *Ledger) blameAhead(x, d int32, t int64) int32 {
	if b := l.blameOfEntry(x, d, t); b >= 0 {
		return b
	}
	return l.Truth.Latest // it has caught up since
}

// blameOfEntry is blameAhead, -1 if the router knows all by now.
func (l *Ledger) blameOfEntry(x, d int32, t int64) int32 {
	if u := l.line.upcoming[x]; u > 0 {
		if w := l.ctl.Writing(u - 1); w.Run >= 0 && l.ctl.Complete(x) {
			if b := l.ctl.Note(w.Run).Blame; b >= 0 {
				return b
			}
		}
	}
	return l.blameOn(x, d, t)
}

// blameNow is the fault behind the entries of a router that a run which starts
// now will replace, -1 for none.
func (l *Ledger) blameNow(x, run int32) int32 {
	if !l.ctl.Complete(x) {
		return l.ctl.ReturnFault(x)
	}
	had, ok := l.ctl.NoteSource(run)
	if !ok {
		return l.ctl.ReturnFault(x)
	}
	return l.blameOf(had, x)
}
