package twin

import "slices"

// blameTables charges a loop or a missing route for leaf d, met after the routers
// of path (S23).
func (s *sim) blameTables(path []int, d int) int {
	for _, r := range path {
		x := &s.routers[r]
		if slices.Equal(x.table[d].hops, s.truth.tables[r][d]) {
			continue
		}
		if e := x.kept[d]; e != nil && !slices.Equal(e.hops, x.table[d].hops) {
			return s.unwritten(r, d)
		}
		if !s.ctl[r] && (x.table[d].from == nil || !x.ready) {
			return s.oldest(-1, func(f *fault) bool { return f.silences(r) })
		}
		if !x.ready {
			return x.back
		}
		if by := s.blameSource(r, x.table[d].from); by >= 0 {
			return by
		}
	}
	return s.blameConverged(path[0], d)
}

// blameSource is the oldest of the faults that changed last what differs between
// the database an entry came from and the truth, or -1.
func (s *sim) blameSource(x int, from *source) int {
	if from == nil {
		return -1
	}
	if from.version != s.truth.version {
		from.version, from.blamed = s.truth.version, s.compare(x, from)
	}
	return from.blamed
}

func (s *sim) compare(x int, from *source) int {
	best := -1
	add := func(by int) {
		if by >= 0 && (best < 0 || s.faults[by].older(s.faults[best])) {
			best = by
		}
	}
	t, u := s.view(from.db), s.truth.topology
	for d := range t.metric {
		switch {
		case (t.metric[d] > 0) != (u.metric[d] > 0):
			add(s.truth.linkBy[d/2])
		case t.metric[d] != u.metric[d]:
			add(s.truth.metricBy[d])
		}
	}
	for r := range s.names {
		if s.fwd[r] && from.db[r] != nil && t.overload[r] != u.overload[r] {
			add(s.truth.bitBy[r])
		}
	}
	if best >= 0 {
		return best
	}
	for _, l := range s.linksOf[x] { // the adjacencies the run used beside the database
		if slices.Contains(from.own, l) != s.truth.listed[l][s.end(l, x)] {
			add(s.truth.linkBy[l])
		}
	}
	return best
}

// blameConverged: every table is as it will be. The oldest fault in force without
// which a route would exist, else the oldest in force, else the last to change.
func (s *sim) blameConverged(src, d int) int {
	by := s.oldest(-1, func(x *fault) bool {
		t, _ := s.truthTopology(x.index)
		return len(s.convergedTable(src, t)[d]) > 0
	})
	if by < 0 {
		by = s.oldest(-1, func(*fault) bool { return true })
	}
	if by < 0 {
		for _, c := range s.changes {
			if c.t <= s.now {
				by = c.fault
			}
		}
	}
	return by
}

// blameDead is the oldest fault that makes link l dead.
func (s *sim) blameDead(l int) int {
	k := s.links[l].ends
	return s.oldest(-1, func(x *fault) bool { return x.cuts(l) || x.stops(k[0]) || x.stops(k[1]) })
}

// blameGray is the oldest fault that makes direction d lossy, holed or too narrow
// for large packets, or -1.
func (s *sim) blameGray(d int) int {
	return s.oldest(-1, func(x *fault) bool { return x.gray(d) })
}

func (x *fault) gray(d int) bool {
	switch x.kind {
	case "lossy", "silent", "blackhole", "oversize":
		return slices.Contains(x.dirs, d)
	}
	return false
}
