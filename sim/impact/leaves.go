package impact

import (
	"math/bits"
	"slices"

	"halflight/sim/linkstate"
	"halflight/sim/paths"
)

// leafWrites puts a leaf's write for d into force.
func (l *Ledger) leafWrites(d, s int32, due linkstate.Due) {
	table := l.ctl.Table.Of(d, s)
	set := l.ctl.SetOf(due.ID)
	if !changes(table, set) || s == d {
		l.ctl.Enter(due.ID)
		return
	}
	q := &l.line
	pod := &q.dests[d].byPod[q.pod[s]]
	pod.unsure = true
	place := &q.place[int(d)*l.f.Leaves+int(s)]
	if len(q.harm[s]) > 0 {
		l.divert(d, s, table, set, due.At)
	}
	if len(pod.doors) == 0 && *place == 0 && paths.HopsIn(set) > 0 {
		pod.weighed = false
		l.ctl.Enter(due.ID) // nothing is lost beyond its uplinks before or after
		return
	}
	l.ungroup(d, due.At)
	was := table
	if *place == 0 {
		l.turnAway(d, s, table, set, due.At)
	} else {
		was = nil
	}
	q.lostSince = l.leave(d, s, table, due.At)
	l.ctl.Enter(due.ID)
	l.join(d, s, due.At)
	if *place == 0 {
		l.strikeNew(d, s, was, set)
	}
	l.weighed(d, q.pod[s], due.At)
	q.lostSince = linkstate.Never
}

// turnAway books, at t, the time in which some flow was lost entirely at entrances
// that a leaf with others makes no use of from now on.
func (l *Ledger) turnAway(d, s int32, was, is []uint64, t int64) {
	q := &l.line.dests[d]
	for _, r := range q.byPod[l.line.pod[s]].doors {
		o := &q.doors[r.at]
		if o.whole < 0 || !crosses(was, l.line.mask[o.x]) || crosses(is, l.line.mask[o.x]) {
			continue
		}
		l.lostFor(loserOf(o.account.entries), towards(d, l.line.pod[s]), max(o.whole, o.used), t)
	}
}

// leave takes a leaf out of the account that it is in. It returns since when some flow of
// its was lost entirely, as its own account has it.
func (l *Ledger) leave(d, s int32, set []uint64, t int64) (since int64) {
	q := &l.line
	at := &q.place[int(d)*l.f.Leaves+int(s)]
	since = linkstate.Never
	if *at == 0 {
		l.weigh(d, s, set, -1)
		return since
	}
	list := q.dests[d].apart
	if a := list[*at-1].account; a != nil {
		since = l.closeLeaf(d, s, a, t)
	}
	last := len(list) - 1
	if i := int(*at - 1); i != last {
		list[i] = list[last]
		q.place[int(d)*l.f.Leaves+int(list[i].leaf)] = int32(i + 1)
	}
	q.dests[d].apart, *at = list[:last], 0
	return since
}

// join puts a leaf in the account that it belongs in: with the others if its
// entry is the converged one, else apart.
func (l *Ledger) join(d, s int32, t int64) {
	if set := l.ctl.Table.Of(d, s); l.together(d, s, set) {
		l.weigh(d, s, set, 1)
		return
	}
	l.chargeLeaf(d, s, l.apart(d, s), t)
}

// apart puts a leaf apart.
func (l *Ledger) apart(d, s int32) *apartLeaf {
	q := &l.line.dests[d]
	q.apart = append(q.apart, apartLeaf{leaf: s})
	n := len(q.apart)
	l.line.place[int(d)*l.f.Leaves+int(s)] = int32(n)
	return &q.apart[n-1]
}

// together says whether a leaf's traffic for d is put together with that of
// others: its entry is the converged one, or none of its next hops is uneasy; and
// it has some. A dead leaf's always is, as it sends nothing: none of its uplinks passes any.
func (l *Ledger) together(d, s int32, set []uint64) bool {
	if l.deadAt[s] >= 0 {
		return true
	}
	empty := uint64(0)
	for _, w := range set {
		empty |= w
	}
	return empty != 0 && (!l.uses(d, s, set) || l.field.Converged(d, s))
}

// uses says whether a set of a leaf's holds an uneasy entrance.
func (l *Ledger) uses(d, s int32, set []uint64) bool {
	q := &l.line.dests[d]
	if q.uneasy == 0 {
		return false
	}
	for _, r := range q.byPod[l.line.pod[s]].doors {
		if o := &q.doors[r.at]; o.uneasy && crosses(set, l.line.mask[o.x]) {
			return true
		}
	}
	return false
}

// sortOut sees to the leaves of an entrance that becomes uneasy: those whose entries
// are not the converged ones are apart from then on. What they lose is charged when
// they are told of it.
func (l *Ledger) sortOut(d, x int32, t int64) {
	pod := &l.line.dests[d].byPod[l.line.pod[x]]
	if !pod.unsure {
		return
	}
	any, late := false, false
	for _, s := range l.line.pods[l.line.pod[x]] {
		set := l.ctl.Table.Of(d, s)
		if s == d || l.deadAt[s] >= 0 || l.field.Converged(d, s) {
			continue
		}
		late = true
		if crosses(set, l.line.mask[x]) && l.line.place[int(d)*l.f.Leaves+int(s)] == 0 {
			l.weigh(d, s, set, -1)
			l.apart(d, s)
			any = true
		}
	}
	pod.unsure = late
	if any { // they used other entrances too
		l.weighed(d, l.line.pod[x], t)
	}
}

// weighed charges anew at the entrances of a pod, of which other leaves may
// make use now.
func (l *Ledger) weighed(d, pod int32, t int64) {
	q := &l.line.dests[d]
	l.chargeTogether()
	for _, r := range q.byPod[pod].doors {
		if o := &q.doors[r.at]; o.charged != l.weightAt(d, o.x) {
			l.chargeDoor(d, o, t)
		}
	}
	l.told(d, t)
}

// asStranded completes a charge for a pair: a loss without a culprit is stranded.
func (l *Ledger) asStranded(d, s int32, e entry) entry {
	if e.fault < 0 {
		e.fault, e.kind = l.strandedBy(d, s), cellStranded
	}
	e.kind = l.upkeep(e.fault, e.kind)
	if e.kind != transit {
		e.first = -1
	}
	return e
}

// partOf is the share of a leaf's traffic that reaches an entrance, whose ports
// are given, in a plane.
func (l *Ledger) partOf(s int32, set, mask []uint64, k, plane int) float64 {
	n := 0
	for w, word := range set {
		n += bits.OnesCount64(word & mask[w])
	}
	if len(l.line.harm[s]) == 0 || n == 0 {
		return float64(n) / float64(k)
	}
	part := 0.0
	for w := range set {
		for word := set[w] & mask[w]; word != 0; word &= word - 1 {
			part += passOf(l.field.Direction(l.f.Ports[s][w*64+bits.TrailingZeros64(word)].Out()), plane)
		}
	}
	return part / float64(k)
}

// closeLeaf ends the account of a leaf. It returns since when some flow was lost entirely.
func (l *Ledger) closeLeaf(d, s int32, c *account, t int64) (since int64) {
	since = l.routeBack(d, s, c, t)
	l.keep(c, nil, t)
	for p := range l.Apps {
		l.felt(p, d, &c.hits[p], 0, t)
		l.sent(p, s, &c.out[p], 0, t)
	}
	l.shut(c)
	return since
}

// routeBack books, at t, the time in which some flow of a leaf was lost
// entirely though there was a way. It returns since when.
func (l *Ledger) routeBack(d, s int32, c *account, t int64) (since int64) {
	loser := loserOf(c.entries)
	if c.gone || loser < 0 {
		return linkstate.Never
	}
	l.lostFor(loser, towards(d, l.line.pod[s]), c.born, t)
	return c.born
}

// regroup sees to the leaves of d of which the converged entry changed.
func (l *Ledger) regroup(d int32, t int64) {
	q := &l.line.dests[d]
	slices.Sort(q.changed)
	var pods uint64
	for i, s := range q.changed {
		if s == d || i > 0 && q.changed[i-1] == s {
			continue
		}
		set := l.ctl.Table.Of(d, s)
		was := l.line.place[int(d)*l.f.Leaves+int(s)] == 0
		if is := l.together(d, s, set); is != was {
			l.leave(d, s, set, t)
			if l.join(d, s, t); is {
				l.strikeNew(d, s, nil, set)
			}
			pods |= 1 << (uint(l.line.pod[s]) & 63)
		}
	}
	q.changed = q.changed[:0]
	l.chargeTogether()
	for i := range q.doors {
		o := &q.doors[i]
		if o.stale { // the core may be about to be followed
			q.again = true
		} else if pods>>(uint(l.line.pod[o.x])&63)&1 != 0 {
			l.chargeDoor(d, o, t)
		}
	}
	l.told(d, t)
}

// look has a destination looked at when the instant is closed; again also has
// its losses listed anew.
func (l *Ledger) look(d int32, again bool) {
	q := &l.line.dests[d]
	q.again = q.again || again
	if !q.isDirty {
		q.isDirty = true
		l.line.dirty = append(l.line.dirty, d)
	}
}

// Reconsider says that the converged entry of a leaf for d changed.
func (l *Ledger) Reconsider(d, s int32) {
	q := &l.line.dests[d]
	q.byPod[l.line.pod[s]].unsure = true
	if len(q.doors) > 0 {
		q.changed = append(q.changed, s)
		l.look(d, false)
	}
}

// settleLine closes an instant that holds a change from outside, or of the
// truth. All that was due before has been caught up with.
func (l *Ledger) settleLine(now int64) {
	q := &l.line
	q.outside = now
	l.CatchUp(now)
	l.pending = l.field.Pending(l.pending)
	for _, d := range l.pending {
		q.dests[d].moved = true
		l.look(d, false)
	}
	slices.Sort(q.dirty)
	l.stamp++
	l.stir = l.stir[:0]
	for _, d := range q.dirty {
		s := &q.dests[d]
		s.isDirty = false
		l.ungroup(d, now)
		l.foresee(nil, s.due)
		if len(s.changed) > 0 {
			q.hush = s.again || s.retried || s.moved
			l.regroup(d, now)
			q.hush = false
		}
		if s.again || s.retried || s.moved {
			l.followCore(d, s.again || s.retried, now)
			l.strikeHushed(d)
		}
		l.weighAnew(d, now)
		if s.again || s.retried {
			l.chargeThose(d, now, func(a *apartLeaf) bool {
				a.asked = false
				return s.again || a.uneasy
			})
		}
		s.again, s.retried, s.moved = false, false, false
		for _, due := range s.due {
			q.upcoming[l.ctl.Writing(due.ID).Router] = 0
		}
		l.rest(d)
	}
	q.dirty = q.dirty[:0]
	for i := 0; i < len(q.uplinks) && q.retried; i++ {
		l.refreshUplink(int32(i), false, now)
	}
	q.retried = false
	l.stirred(now)
	l.tellStars()
	l.runMoves(now)
	for i := range l.Apps {
		l.Apps[i].close(l, now, true)
	}
}

// rest notes whether d has losses that depend on tables or on the truth.
func (l *Ledger) rest(d int32) {
	q := &l.line.dests[d]
	if l.inRest[d] || !l.isRestless(q) {
		return
	}
	l.inRest[d] = true
	l.restless = append(l.restless, d)
}

func (l *Ledger) isRestless(q *destination) bool {
	if q.uneasy > 0 {
		return true
	}
	for i := range q.apart {
		if q.apart[i].uneasy {
			return true
		}
	}
	return false
}

// retryLine has destinations looked at whose charges depend on tables or on the
// truth.
func (l *Ledger) retryLine() {
	kept := l.restless[:0]
	for _, d := range l.restless {
		if !l.isRestless(&l.line.dests[d]) {
			l.inRest[d] = false
			continue
		}
		kept = append(kept, d)
		l.line.dests[d].retried = true
		l.look(d, false)
	}
	l.restless = kept
	l.line.retried = true
}

// flushLine charges everything up to now, which must be the horizon.
func (l *Ledger) flushLine(now int64) {
	q := &l.line
	l.CatchUp(now - 1)
	for d := range q.dests {
		s := &q.dests[d]
		l.ungroup(int32(d), now)
		l.foresee(nil, s.due)
		for i := range s.doors {
			o := &s.doors[i]
			if o.whole >= 0 {
				since := o.whole
				l.openAgain(int32(d), o, now)
				o.whole = since
			}
			l.settleAccount(o.account, now)
		}
		for i := range s.apart {
			if c := s.apart[i].account; c != nil {
				l.routeBack(int32(d), s.apart[i].leaf, c, now)
				l.settleAccount(c, now)
			}
		}
		for _, due := range s.due {
			q.upcoming[l.ctl.Writing(due.ID).Router] = 0
		}
	}
	for i := range q.uplinks {
		u := &q.uplinks[i]
		if u.whole >= 0 {
			since := u.whole
			l.endUplink(u, now)
			u.whole = since
		}
		l.settleAccount(u.account, now)
	}
	l.runMoves(now)
}
