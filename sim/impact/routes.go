package impact

import "slices"

// routeBook measures, for each ordered leaf pair, the time during which some
// flow was lost entirely although there was a path (RFC 6412, section 3.6.5), and
// how much of it was so because of which fault.
type routeBook struct {
	leaves int
	since  []int64 // by destination and source: lost since, -1 when not
	total  []int64
	losers [][]loser // by destination and source: to whom some flow is lost entirely
}

// loser is a fault that some flow of a pair has been lost to since an instant.
type loser struct {
	fault int32
	since int64
}

func (r *routeBook) init(leaves int) {
	r.leaves = leaves
	n := leaves * leaves
	r.since, r.total, r.losers = make([]int64, n), make([]int64, n), make([][]loser, n)
	for i := range r.since {
		r.since[i] = -1
	}
}

// set updates a pair at now, to which a list of losses is charged from then on.
func (r *routeBook) set(l *Ledger, d, s int32, list []entry, now int64) {
	i := int(d)*r.leaves + int(s)
	lost := l.bands.Whole(s, d) && l.deadAt[d] < 0 && l.deadAt[s] < 0 && l.Truth.Path(d, s)
	if !lost {
		r.close(l, i, now)
		r.since[i], r.losers[i] = -1, r.losers[i][:0]
		return
	}
	if r.since[i] < 0 {
		r.since[i] = now
	}
	was := r.losers[i]
	r.losers[i] = slices.DeleteFunc(was, func(o loser) bool {
		if holdsWhole(list, o.fault) {
			return false
		}
		r.book(l, i, o, now)
		return true
	})
	for k := range list {
		f := list[k].fault
		if list[k].whole && !slices.ContainsFunc(r.losers[i], func(o loser) bool { return o.fault == f }) {
			r.losers[i] = append(r.losers[i], loser{f, now})
		}
	}
}

// holdsWhole says whether entries charge a fault with flows that are lost entirely.
func holdsWhole(list []entry, fault int32) bool {
	return slices.ContainsFunc(list, func(e entry) bool { return e.whole && e.fault == fault })
}

// close books the times of a pair that end at now.
func (r *routeBook) close(l *Ledger, i int, now int64) {
	if r.since[i] < 0 {
		return
	}
	r.total[i] += now - r.since[i]
	for _, o := range r.losers[i] {
		r.book(l, i, o, now)
	}
}

// book adds to what a pair lost to a fault.
func (r *routeBook) book(l *Ledger, i int, o loser, now int64) {
	f := &l.Faults[o.fault]
	f.RouteLoss = max(f.RouteLoss, f.spells.Add(uint64(i), o.since, now))
}

// flush books open times up to now.
func (r *routeBook) flush(l *Ledger, now int64) {
	for i := range r.since {
		if r.since[i] < 0 {
			continue
		}
		r.close(l, i, now)
		r.since[i] = now
		for k := range r.losers[i] {
			r.losers[i][k].since = now
		}
	}
}

// RouteLoss returns, as flushed, the total time in ns at which some flow from
// leaf s to leaf d was lost entirely although there was a path.
func (l *Ledger) RouteLoss(d, s int32) int64 { return l.routes.total[int(d)*l.f.Leaves+int(s)] }
