package impact

// routeBook measures, for each ordered leaf pair, the time during which some
// flow was lost entirely although there was a path (RFC 6412, section 3.6.5).
type routeBook struct {
	leaves int
	since  []int64 // by destination and source: lost since, -1 when not
	total  []int64
	fault  []int32 // the fault that the pair lost traffic to last
	spell  []int64 // time lost since fault became that
}

func (r *routeBook) init(leaves int) {
	r.leaves = leaves
	n := leaves * leaves
	r.since, r.total, r.fault, r.spell = make([]int64, n), make([]int64, n), make([]int32, n), make([]int64, n)
	for i := range r.since {
		r.since[i], r.fault[i] = -1, -1
	}
}

// blame notes the fault that a pair loses traffic to.
func (r *routeBook) blame(l *Ledger, d, s, fault int32, now int64) {
	if i := int(d)*r.leaves + int(s); r.fault[i] != fault {
		r.turn(l, i, fault, now)
	}
}

// remain sees to it that the fault that a pair loses traffic to is one of those that it is
// charged to, if there are any.
func (r *routeBook) remain(l *Ledger, d, s int32, list []entry, now int64) {
	i, other := int(d)*r.leaves+int(s), int32(-1)
	for _, e := range list {
		switch {
		case e.kind == cellFull:
		case e.fault == r.fault[i]:
			return
		default:
			other = e.fault
		}
	}
	if other >= 0 {
		r.turn(l, i, other, now)
	}
}

// turn makes another fault the one that a pair loses traffic to.
func (r *routeBook) turn(l *Ledger, i int, fault int32, now int64) {
	if r.since[i] >= 0 { // so far it was lost to the fault before
		r.close(l, i, now)
		r.since[i] = now
	}
	r.fault[i], r.spell[i] = fault, 0
}

// set updates a pair at now.
func (r *routeBook) set(l *Ledger, d, s int32, now int64) {
	i := int(d)*r.leaves + int(s)
	lost := l.bands.Whole(s, d) && l.deadAt[d] < 0 && l.deadAt[s] < 0 && l.Truth.Path(d, s)
	r.close(l, i, now)
	if lost {
		r.since[i] = now
	}
}

func (r *routeBook) close(l *Ledger, i int, now int64) {
	if r.since[i] < 0 {
		return
	}
	span := now - r.since[i]
	r.since[i] = -1
	r.total[i] += span
	r.spell[i] += span
	if f := r.fault[i]; f >= 0 {
		l.Faults[f].RouteLoss = max(l.Faults[f].RouteLoss, r.spell[i])
	}
}

// flush books open times up to now.
func (r *routeBook) flush(l *Ledger, now int64) {
	for i := range r.since {
		if r.since[i] >= 0 {
			r.close(l, i, now)
			r.since[i] = now
		}
	}
}

// RouteLoss returns, as flushed, the total time in ns at which some flow from
// leaf s to leaf d was lost entirely although there was a path.
func (l *Ledger) RouteLoss(d, s int32) int64 { return l.routes.total[int(d)*l.f.Leaves+int(s)] }
