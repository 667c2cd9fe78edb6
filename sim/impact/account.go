package impact

import "math"

// open returns a new account that begins at t.
func (l *Ledger) open(t int64) *account {
	q := &l.line
	if n := len(q.spare); n > 0 {
		a := q.spare[n-1]
		q.spare = q.spare[:n-1]
		a.since, a.born, a.gone = t, t, false
		return a
	}
	a := &account{since: t, born: t}
	k := len(l.Apps)
	classes := a.counts[:]
	if 2*k > len(classes) {
		classes = make([]int64, 2*k)
	}
	a.entries, a.hits, a.out = a.room[:0], classes[:k:k], classes[k:2*k]
	return a
}

// shut gives an account back; nothing may be charged to it.
func (l *Ledger) shut(a *account) { l.line.spare = append(l.line.spare, a) }

// level changes what is lost at present by an amount, which may be negative, as
// of t. Instants of different destinations may come in any order.
func (l *Ledger) level(e *entry, amount, t int64) {
	f := &l.Faults[e.fault]
	l.carry(t)
	l.lost += amount
	if !l.beside(e.kind) {
		if f.stamp != l.stamp {
			f.stamp, f.before = l.stamp, f.now
			l.stir = append(l.stir, e.fault)
		}
		f.now += amount
	}
	if e.kind != transit {
		l.flushCell(f, e.kind, t)
		f.cells[e.kind].now += amount
	}
}

// owe charges what waits for a router's table over [from, to) to phases.
func (l *Ledger) owe(e *entry, amount, from, to int64) {
	from = max(from, l.from)
	if to <= from || amount == 0 {
		return
	}
	l.split(e.fault, e.first, behind{ahead: true}, amount, from, to)
}

// keep replaces what is charged to an account from t on by list. It returns
// whether that is something else.
func (l *Ledger) keep(a *account, list []entry, t int64) bool {
	if sameEntries(a.entries, list) {
		return false
	}
	if len(list) == 1 && len(a.entries) == 1 {
		if e := &a.entries[0]; e.fault == list[0].fault && e.kind == list[0].kind && e.first == list[0].first {
			e.whole = list[0].whole
			l.become(a, list[0].amount, t)
			return true
		}
	}
	for k := range a.entries {
		e := &a.entries[k]
		if e.kind == transit {
			l.owe(e, e.amount, a.since, t)
		}
		l.level(e, -e.amount, t)
	}
	for k := range list {
		l.level(&list[k], list[k].amount, t)
	}
	a.entries = append(a.entries[:0], list...)
	a.since = t
	return true
}

// become has the only entry of an account be of another amount from t on.
func (l *Ledger) become(a *account, amount, t int64) {
	e := &a.entries[0]
	if e.amount == amount {
		return
	}
	if e.kind == transit {
		l.owe(e, e.amount, a.since, t)
	}
	l.level(e, amount-e.amount, t)
	e.amount, a.since = amount, t
}

func sameEntries(a, b []entry) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// settleAccount charges to phases what is owed up to t.
func (l *Ledger) settleAccount(a *account, t int64) {
	for k := range a.entries {
		if e := &a.entries[k]; e.kind == transit {
			l.owe(e, e.amount, a.since, t)
		}
	}
	a.since = t
}

// holds says whether a fault is among the entries.
func holds(list []entry, fault int32) bool {
	for i := range list {
		if list[i].fault == fault {
			return true
		}
	}
	return false
}

// isFresh says whether the fault of an entry of a list is not among those before, nor of the
// list that it replaces.
func isFresh(was, list []entry, i int) bool {
	return !holds(was, list[i].fault) && !holds(list[:i], list[i].fault)
}

// put adds to a list, together with what is charged in the same way.
func put(list []entry, e entry) []entry {
	if e.amount == 0 {
		return list
	}
	for i := range list {
		if o := &list[i]; o.fault == e.fault && o.kind == e.kind && o.first == e.first {
			o.amount, o.whole = o.amount+e.amount, o.whole || e.whole
			return list
		}
	}
	return append(list, e)
}

// stirred closes a step at t: faults to which another amount is charged now have
// changed last then, unless the instant holds a change from outside.
func (l *Ledger) stirred(t int64) {
	for _, i := range l.stir {
		f := &l.Faults[i]
		if change := f.now - f.before; t == l.line.outside || (change <= l.least && change >= -l.least) {
			continue
		}
		if f.End == math.MaxInt64 || t < f.End {
			f.last = max(f.last, t)
		} else {
			f.lastAfter = max(f.lastAfter, t)
		}
	}
	l.stir = l.stir[:0]
}

// units turns a share of one pair's traffic into units.
func (l *Ledger) units(share float64) int64 { return int64(math.Round(float64(share * l.unit))) }
