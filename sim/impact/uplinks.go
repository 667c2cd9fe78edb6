package impact

import (
	"math"
	"slices"

	"halflight/sim/forwarding"
	"halflight/sim/paths"
)

// uplink is a direction that a leaf sends and that does not pass everything,
// with what it carries: all destinations together.
type uplink struct {
	dir     int32
	port    int32 // of the leaf
	load    int64 // in weightUnit
	account *account
	whole   int64   // since when some flow is lost entirely, -1 if none is
	up      []int64 // by class: units of work hit
}

// SetDirection says what a direction does from now on.
func (l *Ledger) SetDirection(dir int32, state forwarding.Direction, now int64) {
	s := l.f.From(dir)
	if !l.line.on || int(s) >= l.f.Leaves {
		l.bands.SetDirection(dir, state)
		return
	}
	port := l.f.PortOf(s, dir>>1)
	peer := l.f.Ports[s][port].Peer
	was := *l.field.Direction(dir)
	l.field.SetDirection(dir, state)
	load, carried := int64(0), 0
	for d := int32(0); int(d) < l.f.Leaves; d++ {
		if d == s || !l.ctl.Table.Has(d, s, port) {
			continue
		}
		each := l.line.shares[paths.HopsIn(l.ctl.Table.Of(d, s))]
		if l.deadAt[d] < 0 {
			load += each
			carried++
		}
		if l.line.place[int(d)*l.f.Leaves+int(s)] == 0 && len(l.line.dests[d].byPod[l.line.pod[s]].doors) > 0 {
			l.weights(d)[l.line.number[peer]] += l.passed(each, &state) - l.passed(each, &was)
		}
		if len(l.line.dests[d].byPod[l.line.pod[s]].doors) > 0 {
			l.line.dests[d].reweighed = append(l.line.dests[d].reweighed, s)
			l.look(d, false)
		} else {
			l.line.dests[d].byPod[l.line.pod[s]].weighed = false
		}
	}
	i := slices.IndexFunc(l.line.uplinks, func(u uplink) bool { return u.dir == dir })
	good := !state.Dead && !state.Whole
	for _, p := range state.Pass {
		good = good && p == 1
	}
	switch {
	case good && i < 0:
		return
	case good:
		l.closeUplink(int32(i), now)
		return
	case i < 0:
		i = len(l.line.uplinks)
		l.line.uplinks = append(l.line.uplinks, uplink{dir: dir, port: port, account: l.open(now), whole: -1, up: make([]int64, len(l.Apps))})
		l.line.harm[s] = append(l.line.harm[s], int32(i))
		l.line.harmed[l.line.pod[s]]++
		l.line.harmedTo[l.line.number[peer]]++
	}
	l.line.uplinks[i].load = load
	l.refreshUplink(int32(i), carried == l.f.Leaves-1, now)
}

// weighAnew charges anew for leaves of which an uplink passes something else.
func (l *Ledger) weighAnew(d int32, now int64) {
	q := &l.line.dests[d]
	for _, s := range q.reweighed {
		if at := l.line.place[int(d)*l.f.Leaves+int(s)]; at > 0 && !q.again {
			l.chargeLeaf(d, s, &q.apart[at-1], now)
		}
		l.weighed(d, l.line.pod[s], now)
		for _, r := range q.byPod[l.line.pod[s]].doors { // what it passes of a class may be all that changed
			if o := &q.doors[r.at]; !o.inStar && !o.stale {
				l.feelDoor(d, o, now)
			}
		}
		if l.line.place[int(d)*l.f.Leaves+int(s)] == 0 {
			l.strikeNew(d, s, nil, l.ctl.Table.Of(d, s))
		}
	}
	q.reweighed = q.reweighed[:0]
}

// refreshUplink charges anew for an uplink; all says that it is known to carry something for every
// other leaf.
func (l *Ledger) refreshUplink(i int32, all bool, now int64) {
	u := &l.line.uplinks[i]
	state := l.field.Direction(u.dir)
	s := l.f.From(u.dir)
	pairs := float64(u.load) / weightUnit
	if l.deadAt[s] >= 0 {
		pairs = 0
	}
	var room [1]entry
	list := put(room[:0], l.entryOfUplink(u.dir, s, state, float64(pairs*(1-passOf(state, 0)))))
	if len(list) > 0 && !holds(u.account.entries, list[0].fault) {
		l.strikeUp(list[0].fault, s, u.port, all)
	}
	lost := (state.Dead || state.Whole) && pairs > 0 && l.hasWay(s)
	if was := u.account.entries; !lost || len(was) > 0 && len(list) > 0 && was[0].fault != list[0].fault {
		l.endUplink(u, now)
	}
	if lost && u.whole < 0 {
		u.whole = now
	}
	l.keep(u.account, list, now)
	l.feltUplink(u, state, pairs, now)
}

// hasWay says whether a leaf has a link that will be listed, to a router that may be passed.
func (l *Ledger) hasWay(s int32) bool {
	for _, p := range l.f.Ports[s] {
		if l.Truth.LinkUp[p.Link] && !l.Truth.Routes.Overloaded(p.Peer) {
			return true
		}
	}
	return false
}

// entryOfUplink is what is charged for an uplink that loses so many leaf pairs'
// traffic.
func (l *Ledger) entryOfUplink(dir, s int32, state *forwarding.Direction, lost float64) entry {
	e := entry{fault: state.Cause, kind: cellGray, whole: state.Dead || state.Whole, first: -1, amount: l.units(lost)}
	if state.Full {
		e.kind = cellFull
	}
	if state.Dead && !l.Truth.LinkUp[dir>>1] {
		e.kind, e.first = transit, s
		if l.Faults[state.Cause].Maintenance {
			e.kind, e.first = cellMaintenance, -1
		}
	}
	return e
}

// endUplink books the time in which an uplink lost some flow entirely.
func (l *Ledger) endUplink(u *uplink, t int64) {
	if u.whole < 0 {
		return
	}
	fault := loserOf(u.account.entries)
	if len(u.account.entries) == 0 {
		fault = l.field.Direction(u.dir).Cause
	}
	l.lostFor(fault, outOf(l.f.From(u.dir)), u.whole, t)
	u.whole = -1
}

// closeUplink ends the account of an uplink that passes everything again.
func (l *Ledger) closeUplink(i int32, now int64) {
	u := &l.line.uplinks[i]
	l.endUplink(u, now)
	l.keep(u.account, nil, now)
	for p := range l.Apps {
		l.hitUp(p, u.dir, &u.up[p], 0, now)
	}
	l.shut(u.account)
	last := int32(len(l.line.uplinks) - 1)
	s := l.f.From(u.dir)
	l.line.harm[s] = slices.DeleteFunc(l.line.harm[s], func(k int32) bool { return k == i })
	l.line.harmed[l.line.pod[s]]--
	l.line.harmedTo[l.line.number[l.f.To(u.dir)]]--
	if i != last {
		l.line.uplinks[i] = l.line.uplinks[last]
		harm := l.line.harm[l.f.From(l.line.uplinks[i].dir)]
		harm[slices.Index(harm, last)] = i
	}
	l.line.uplinks = l.line.uplinks[:last]
}

// divert follows, at t, a leaf's entry for d from one set to another on the
// leaf's uplinks. The leaf's next write must be the one.
func (l *Ledger) divert(d, s int32, was, is []uint64, t int64) {
	if l.deadAt[d] >= 0 || l.deadAt[s] >= 0 {
		l.reload(d, s, was, is)
		return
	}
	for _, i := range l.line.harm[s] {
		u := &l.line.uplinks[i]
		change := l.shareOf(is, u.port) - l.shareOf(was, u.port)
		if change == 0 {
			continue
		}
		u.load += change
		state := l.field.Direction(u.dir)
		pairs := float64(u.load) / weightUnit
		a := u.account
		e := l.entryOfUplink(u.dir, s, state, float64(pairs*(1-passOf(state, 0))))
		before := int64(0)
		if len(a.entries) > 0 {
			before = a.entries[0].amount
			e.fault, e.kind, e.first = a.entries[0].fault, a.entries[0].kind, a.entries[0].first
		}
		if e.kind == transit {
			l.owe(&e, before-e.amount, a.since, t)
		}
		l.level(&e, e.amount-before, t)
		if a.entries = a.entries[:0]; e.amount != 0 {
			if a.entries = append(a.entries, e); l.shareOf(was, u.port) == 0 {
				l.strike(e.fault, d, s)
			}
		}
		l.feltUplink(u, state, pairs, t)
		switch {
		case u.load == 0:
			l.endUplink(u, t)
		case u.whole < 0 && (state.Dead || state.Whole) && l.hasWay(s):
			u.whole = t
		}
	}
}

// reload follows the load of a leaf's uplinks where nothing is charged for it.
func (l *Ledger) reload(d, s int32, was, is []uint64) {
	if l.deadAt[d] >= 0 {
		return
	}
	for _, i := range l.line.harm[s] {
		u := &l.line.uplinks[i]
		u.load += l.shareOf(is, u.port) - l.shareOf(was, u.port)
	}
}

// shareOf is how much of a leaf's traffic a set sends over one of its ports.
func (l *Ledger) shareOf(set []uint64, port int32) int64 {
	if set[port>>6]>>(port&63)&1 == 0 {
		return 0
	}
	return l.line.shares[paths.HopsIn(set)]
}

// SetDead says which fault to charge for a dead leaf; -1 when it lives.
func (l *Ledger) SetDead(leaf, fault int32, now int64) {
	was := l.deadAt[leaf]
	l.deadAt[leaf] = fault
	if !l.line.on || was == fault {
		return
	}
	if (was < 0) != (fault < 0) {
		sign := int64(1)
		if fault >= 0 {
			sign = -1
		}
		for i := range l.line.uplinks { // what it gets counts while it lives
			u := &l.line.uplinks[i]
			if s := l.f.From(u.dir); s != leaf {
				u.load += sign * l.shareOf(l.ctl.Table.Of(leaf, s), u.port)
				l.refreshUplink(int32(i), false, now)
				if fault < 0 && l.shareOf(l.ctl.Table.Of(leaf, s), u.port) > 0 {
					for _, e := range u.account.entries {
						l.strike(e.fault, leaf, s)
					}
				}
			}
		}
		for p := range l.Apps {
			l.Apps[p].touch(leaf)
		}
		for d := range int32(l.f.Leaves) { // for which of them it is apart changes
			q := &l.line.dests[d]
			q.byPod[l.line.pod[leaf]].unsure = true
			q.changed = append(q.changed, leaf)
			l.look(d, true)
		}
	}
	l.refreshDead(now)
}

// refreshDead charges for pairs of leaves of which one is dead, each to the
// older of the faults.
func (l *Ledger) refreshDead(now int64) {
	var dead []int32
	for s, f := range l.deadAt {
		if f >= 0 {
			dead = append(dead, int32(s))
		}
	}
	slices.SortStableFunc(dead, func(a, b int32) int {
		switch x, y := l.deadAt[a], l.deadAt[b]; {
		case l.Older(x, y):
			return -1
		case l.Older(y, x):
			return 1
		}
		return 0
	})
	if l.line.deadAccount == nil {
		l.line.deadAccount = l.open(now)
	}
	list := l.line.list[:0]
	for i, s := range dead {
		pairs := 2 * (l.f.Leaves - 1 - i)
		e := entry{fault: l.deadAt[s], kind: cellStranded, first: -1, amount: int64(pairs) * int64(l.unit)}
		l.strikeDead(e.fault, s, dead[:i])
		list = put(list, e)
	}
	l.line.list = list
	l.keep(l.line.deadAccount, list, now)
}

// feltUplink follows what an uplink does to units of work.
func (l *Ledger) feltUplink(u *uplink, state *forwarding.Direction, pairs float64, t int64) {
	for p := range l.Apps {
		l.hitUp(p, u.dir, &u.up[p], int64(math.Round(float64(pairs*(1-passOf(state, p+1)))*l.Apps[p].unit)), t)
	}
}
