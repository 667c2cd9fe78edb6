package impact

import (
	"math"
	"slices"

	"halflight/sim/forwarding"
	"halflight/sim/linkstate"
	"halflight/sim/pairs"
)

// Settle brings deliveries and charges up to date at the end of an instant.
// counts says whether changes of this instant count for convergence times:
// not if it holds a change from outside.
func (l *Ledger) Settle(now int64, counts bool) {
	l.carry(now)
	if l.line.on {
		l.settleLine(now)
		return
	}
	for i := range l.Apps {
		l.Apps[i].late(l, now)
	}
	l.stamp++
	l.stir = l.stir[:0]
	l.asOf = now
	l.reconsider()
	for l.reweigh(now); ; {
		l.pending = l.bands.Pending(l.pending)
		slices.Sort(l.pending)
		for _, d := range l.pending {
			l.bands.Settle(d)
			for _, s := range l.bands.Sources {
				l.refresh(d, s, now)
			}
			l.note(d)
		}
		if !l.passedOn(now) {
			break
		}
	}
	for i := range l.Apps {
		l.Apps[i].close(l, now, !counts || l.lost == 0)
	}
	for _, i := range l.stir {
		f := &l.Faults[i]
		if change := f.now - f.before; !counts || (change <= l.least && change >= -l.least) {
			continue
		}
		if f.End == math.MaxInt64 || now < f.End {
			f.last = now
		} else {
			f.lastAfter = now
		}
	}
}

// Retry looks again at destinations whose charges depend on tables or on the
// truth, because the truth changed.
func (l *Ledger) Retry() {
	if l.line.on {
		l.retryLine()
		return
	}
	kept := l.restless[:0]
	for _, d := range l.restless {
		if l.entries.unsettled[d] == 0 {
			l.inRest[d] = false
			continue
		}
		kept = append(kept, d)
		l.bands.Review(d)
	}
	l.restless = kept
}

// reconsider looks again at losses that are charged by the database of a router
// whose run, or whose write after a prune, left the entry as it was, and by so doing
// made it its own. Of two runs that end at one instant the first may have done so, and the
// second put another entry on its way; a first whole table changes who is charged for those
// on their way too.
func (l *Ledger) reconsider() {
	slices.Sort(l.ctl.Concluded)
	for i, x := range l.ctl.Concluded {
		twice := i > 0 && l.ctl.Concluded[i-1] == x
		for _, d := range l.restless {
			if l.field.Converged(d, x) {
				continue
			}
			if twice || !l.ctl.Awaits(x, d) {
				l.bands.Review(d)
			}
		}
	}
	l.ctl.Concluded = l.ctl.Concluded[:0]
	for _, c := range l.ctl.Restated {
		if l.inRest[c.Destination] {
			l.bands.Review(c.Destination)
		}
	}
	l.ctl.Restated = l.ctl.Restated[:0]
}

func (l *Ledger) note(d int32) {
	if l.entries.unsettled[d] > 0 && !l.inRest[d] {
		l.inRest[d] = true
		l.restless = append(l.restless, d)
	}
}

// refresh replaces what is charged for traffic from leaf s to leaf d.
func (l *Ledger) refresh(d, s int32, now int64) {
	weight := l.mix.Pair(s, d)
	if weight == 0 {
		return
	}
	l.had = append(l.had[:0], l.entries.of(d, s)...)
	out := l.mix.Outside(s, d) / weight
	for _, e := range l.had {
		l.charge(e, d, -1, now)
		l.lostOut -= share(e.amount, out)
	}
	list := l.entries.begin(d, s)
	if dead := l.deadFault(d, s); l.servers != nil {
		list = l.weighted(list, d, s, dead, now)
	} else if dead >= 0 {
		list = append(list, entry{fault: dead, kind: cellStranded, first: -1, amount: l.units(weight)})
	} else {
		for _, loss := range l.bands.Losses(d, s) {
			loss.Amount = float64(loss.Amount * weight)
			list = append(list, l.entryOf(loss, d, s, now))
		}
	}
	for k, e := range list {
		l.charge(e, d, 1, now)
		l.lostOut += share(e.amount, out)
		l.Faults[e.fault].External = l.Faults[e.fault].External || out > 0
		if isFresh(l.had, list, k) {
			l.strike(e.fault, d, s)
		}
	}
	l.entries.end(d, s, list, l.bands.Whole(s, d))
	l.entire = l.entire[:0]
	for k := range list {
		if list[k].whole {
			l.entire = append(l.entire, list[k].fault)
		}
	}
	lost := l.bands.Whole(s, d) && l.deadAt[d] < 0 && l.deadAt[s] < 0 && l.Truth.Path(d, s)
	l.routes.Set(int(d)*l.f.Leaves+int(s), lost, l.entire, now)
	for i := range l.Apps {
		if l.servers == nil {
			l.Apps[i].set(l, i+1, d, s)
		}
	}
}

// newRoutes returns the books of route loss between so many leaves: of each fault the longest that a pair had.
func (l *Ledger) newRoutes(leaves int) *pairs.Routes {
	return pairs.NewRoutes(leaves*leaves, func(pair int, fault int32, since, to int64) {
		f := &l.Faults[fault]
		f.RouteLoss = max(f.RouteLoss, f.spells.Add(uint64(pair), since, to))
	})
}

// RouteLoss returns, as flushed, the total time in ns at which some flow from
// leaf s to leaf d was lost entirely although there was a path.
func (l *Ledger) RouteLoss(d, s int32) int64 { return l.routes.Total(int(d)*l.f.Leaves + int(s)) }

// share is a part of an amount.
func share(amount int64, of float64) int64 { return int64(math.Round(float64(float64(amount) * of))) }

// deadFault is the fault to charge for a pair with a dead leaf, -1 for none.
func (l *Ledger) deadFault(d, s int32) int32 {
	a, b := l.deadAt[d], l.deadAt[s]
	if a < 0 || (b >= 0 && l.Older(b, a)) {
		return b
	}
	return a
}

// entryOf charges one loss.
func (l *Ledger) entryOf(loss forwarding.Loss, d, s int32, now int64) entry {
	e := entry{first: loss.First, amount: l.units(loss.Amount), whole: loss.Whole}
	switch loss.Kind {
	case forwarding.GrayDirection:
		e.fault, e.kind = loss.Cause, cellGray
		return e
	case forwarding.FullDirection:
		e.fault, e.kind, e.first = loss.Cause, cellFull, -1
		return e
	case forwarding.DeadDirection:
		e.fault, e.kind = loss.Cause, transit
		if loss.First < 0 {
			e.kind = cellGray // nobody will ever notice
		}
	default:
		e.kind = transit
		if loss.Kind == forwarding.Loop {
			e.kind = cellLoop
		}
		e.fault = -1
		if loss.First >= 0 {
			if by := l.ctl.StuckBy(loss.First, d); by >= 0 {
				return entry{fault: by, kind: cellGray, whole: true, first: -1, amount: e.amount}
			}
			e.fault = l.blameOn(loss.First, d, now)
		}
		if e.fault < 0 {
			e.fault, e.kind = l.strandedBy(d, s), cellStranded
		}
	}
	e.kind = l.upkeep(e.fault, e.kind)
	return e
}

// upkeep is the kind of a loss that is charged to a fault: maintenance if that is planned
// work, unless links are full, or a box that is worked on leaves no path.
func (l *Ledger) upkeep(fault int32, kind uint8) uint8 {
	f := &l.Faults[fault]
	if !f.Maintenance || kind == cellFull || kind == cellStranded && f.Upgrade {
		return kind
	}
	return cellMaintenance
}

// blameless says whether no fault is behind a router's entry that is not the converged
// one.
func (l *Ledger) blameless(d, x int32) bool {
	if l.ctl.StuckBy(x, d) >= 0 || l.blameOn(x, d, l.asOf) >= 0 {
		return false
	}
	if !l.asked[x] { // who is charged changes with its next run
		l.asked[x] = true
		l.ctl.Owing[x]++
	}
	return true
}

// blameOn is the fault behind a router's entry that is not the converged one.
func (l *Ledger) blameOn(x, d int32, now int64) int32 {
	if !l.ctl.Complete(x) {
		return l.ctl.ReturnFault(x)
	}
	had, ok := l.ctl.Source(x, d, now)
	if !ok {
		return l.ctl.ReturnFault(x)
	}
	return l.blameOf(had, x)
}

// blameOf is the oldest fault in which a database of x's differs from the truth,
// or x's own adjacencies do; -1 for none.
func (l *Ledger) blameOf(had linkstate.Snapshot, x int32) int32 {
	for int(had.Slot) >= len(l.blames) {
		l.blames = append(l.blames, blame{})
	}
	b := &l.blames[had.Slot]
	area := 0
	if l.f.Fabrics > 1 {
		area = l.f.Of(x)
	}
	if b.serial != had.Serial || b.version != l.Truth.Version+1 || b.area != area {
		*b = blame{had.Serial, l.Truth.Version + 1, area, l.Truth.Oldest(had, area, l.Older)}
	}
	if b.fault < 0 {
		return l.ownLinks(had, x)
	}
	return b.fault
}

// ownLinks is the oldest fault behind a router's own adjacencies that were not what they
// will be when the run began that had a database, -1 for none. Where writes are known
// ahead they are compared as they are now.
func (l *Ledger) ownLinks(had linkstate.Snapshot, x int32) int32 {
	best := int32(-1)
	for p, port := range l.f.Ports[x] {
		held := l.ctl.Held(x, int32(p))
		if !l.line.on {
			held = l.ctl.HeldFor(had, x, int32(p))
		}
		if held == l.Truth.LinkUp[port.Link] {
			continue
		}
		if f := l.Truth.LinkFault[port.Link]; f >= 0 && (best < 0 || l.Older(f, best)) {
			best = f
		}
	}
	return best
}

// strandedBy is the fault behind a loss that convergence does not cure: the
// oldest in force without which a route would exist, else the oldest in force,
// else the one that changed last.
func (l *Ledger) strandedBy(d, s int32) int32 {
	if f := l.culprit(s, d); f >= 0 {
		return f
	}
	if inForce := l.forceful(); len(inForce) > 0 {
		return inForce[0]
	}
	if l.last >= 0 {
		return l.last
	}
	panic("impact: traffic is lost although there never was a fault")
}

// oldestCut is the oldest fault in force that takes something out: enough where
// pairs are not told apart.
func (l *Ledger) oldestCut(inForce []int32) int32 {
	if l.cutAt != l.Truth.Version+1 {
		l.cutAt, l.cut = l.Truth.Version+1, l.last
		for _, f := range inForce {
			if x := &l.Faults[f]; x.Converges && (!x.Maintenance || x.Mistake) {
				l.cut = f
				break
			}
		}
	}
	if l.cut < 0 && len(inForce) > 0 {
		l.cut = inForce[0] // a gray one whose sessions fell
	}
	if l.cut < 0 {
		panic("impact: traffic is lost although there never was a fault")
	}
	return l.cut
}

// Convergence returns the Full Convergence Time of a fault, from its onset and
// from its end; -1 where none is measured.
func (l *Ledger) Convergence(fault int32) (onset, repair int64) {
	f := &l.Faults[fault]
	if !f.Converges {
		return -1, -1
	}
	onset, repair = f.last-f.Onset, -1
	if f.End != math.MaxInt64 {
		repair = max(0, f.lastAfter-f.End)
	}
	return onset, repair
}

// Tidy forgets recent changes that every router knows of, and what no longer needs to be told
// apart.
func (l *Ledger) Tidy(now int64) {
	l.closeStruck(now)
	if l.f.Fabrics > 1 {
		return // no router knows of another fabric's
	}
	if l.Truth.Recent() > 64 {
		l.held = l.ctl.Snapshots(l.held)
		l.Truth.Forget(l.held, l.ctl)
	}
}
