package twin

import "slices"

// truth is what tables and databases will be once every fault in force is
// detected (S23), and which fault changed each part of it last.
type truth struct {
	version  int
	topology topology
	listed   [][2]bool // by link and end: the end's LSP will list it
	tables   [][][]int // converged, by router and destination
	metric   []int64   // by direction: what its sender holds, listed or not

	linkBy   []int // by link; -1: as at time 0
	metricBy []int // by direction
	bitBy    []int // by router
}

// truthEnd: whether end e of link l will list it.
func (s *sim) truthEnd(l, e, without int) bool {
	d := s.scn.Detection
	switch {
	case !s.isLit(l, without):
		return false
	case (s.lines[l].damped[0].out || s.lines[l].damped[1].out) && (without < 0 || !s.canCut(s.faults[without], l)):
		return false
	case !s.isAlive(l, without):
		return !d.BFD.On && !d.Hello.On && s.staysHeld(l, e)
	case d.BFD.On && !(s.passes(2*l, without) && s.passes(2*l+1, without)):
		return false
	case d.Hello.On && !s.passesHello(2*l+1-e, without):
		return false
	}
	for _, r := range s.links[l].ends {
		if !s.isCtl(r, without) {
			return !s.graceOver(l, without) && s.staysHeld(l, e)
		}
	}
	return true
}

// canCut: x is of a kind that can make link l go, on it, on one of its directions or on a
// router at an end. Gray faults can where a clock sees them.
func (s *sim) canCut(x *fault, l int) bool {
	k, clocked := s.links[l], s.scn.Detection.BFD.On || s.scn.Detection.Hello.On
	return slices.Contains(x.links, l) && (x.kind == "hard" || x.kind == "flapping") ||
		x.ofRouter(k.ends[0]) || x.ofRouter(k.ends[1]) || clocked && (x.blocks(2*l) || x.blocks(2*l+1))
}

// staysHeld: what nobody sees stays as it is. Of a router without a control plane
// the LSP that others have stays, so the far end decides; if that has none either and r
// is dead, it is what the LSP says.
func (s *sim) staysHeld(l, e int) bool {
	k := s.links[l]
	if r := k.ends[e]; !s.ctl[r] {
		if !s.fwd[r] && !s.ctl[k.ends[1-e]] {
			return s.lastSaid(r, l)
		}
		e = 1 - e
	}
	return s.lines[l].held[e]
}

// lastSaid: the newest LSP of r that anybody has lists link l.
func (s *sim) lastSaid(r, l int) bool {
	var last *lsp
	for x := range s.routers {
		if p := s.routers[x].db[r]; p != nil && (last == nil || p.seq > last.seq) {
			last = p
		}
	}
	return last != nil && last.links[l] > 0
}

// graceOver: a router at an end of l restarts with its tables for longer than its
// neighbours wait (S29).
func (s *sim) graceOver(l, without int) bool {
	k := s.links[l].ends
	return s.any(without, func(x *fault) bool {
		return x.kind == "restart" && (x.silences(k[0]) || x.silences(k[1])) && s.now >= x.at+int64(s.scn.Restart.Grace)
	})
}

func (s *sim) truthTopology(without int) (topology, [][2]bool) {
	t := topology{make([]int64, 2*len(s.links)), map[int]bool{}}
	listed := make([][2]bool, len(s.links))
	for l, k := range s.links {
		listed[l] = [2]bool{s.truthEnd(l, 0, without), s.truthEnd(l, 1, without)}
		if listed[l][0] && listed[l][1] {
			t.metric[2*l], t.metric[2*l+1] = s.heldMetric(k.ends[0], l, without), s.heldMetric(k.ends[1], l, without)
		}
	}
	for r := range s.names {
		if s.settledBit(r, without) {
			t.overload[r] = true
		}
	}
	return t, listed
}

// convergedTable is the table of x under topology t.
func (s *sim) convergedTable(x int, t topology) [][]int {
	first := map[int]int64{}
	for _, l := range s.linksOf[x] {
		if m := t.metric[2*l+s.end(l, x)]; m > 0 {
			first[l] = m
		}
	}
	return s.dijkstra(x, first, t)
}

// truthNow brings the truth up to date at the end of an instant and says whether
// it changed: which links both ends list, their metrics, or bits.
func (s *sim) truthNow() bool {
	old := s.truth
	s.truth.topology, s.truth.listed = s.truthTopology(-1)
	s.truth.metric = nil
	for l, k := range s.links {
		s.truth.metric = append(s.truth.metric, s.heldMetric(k.ends[0], l, -1), s.heldMetric(k.ends[1], l, -1))
	}
	now := &s.truth
	now.version++
	if old.listed == nil {
		now.linkBy, now.metricBy, now.bitBy = unchanged(len(s.links)), unchanged(2*len(s.links)), unchanged(len(s.names))
	}
	changed := old.listed == nil || !old.topology.equal(now.topology) || !slices.Equal(old.listed, now.listed)
	if changed {
		now.tables = make([][][]int, len(s.names))
		for x := range s.names {
			now.tables[x] = s.convergedTable(x, now.topology)
		}
	}
	if old.listed != nil {
		s.attribute(&old)
	}
	return old.listed == nil || !old.topology.equal(now.topology)
}

func unchanged(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = -1
	}
	return out
}

// attribute notes which fault changed each part of the truth that differs from
// the old one.
func (s *sim) attribute(old *truth) {
	now := &s.truth
	for l, k := range s.links {
		was, is := old.topology.metric[2*l] > 0, now.topology.metric[2*l] > 0
		if was != is {
			if by := s.linkChangedBy(l, k, is); by >= 0 { // else as before: an end that was damped may be used
				now.linkBy[l] = by
			}
		}
		for d := 2 * l; d <= 2*l+1; d++ {
			if old.metric[d] != now.metric[d] {
				now.metricBy[d] = s.changedBy(func(x *fault) bool { return x.kind == "drain" && slices.Contains(x.dirs, d) })
			}
		}
	}
	for r := range s.names {
		x := &s.routers[r]
		if old.topology.overload[r] != now.topology.overload[r] {
			now.bitBy[r] = s.changedBy(func(x *fault) bool { return x.kind == "drain" && slices.Contains(x.routers, r) })
		} else if s.scn.Overload.UntilReady && s.now > 0 && x.resumed == s.now && s.ctl[r] && !x.keptBack {
			now.bitBy[r] = x.back // the bit of a router that is back (S19), though it be ready at once
		}
	}
}

// linkChangedBy is the oldest fault whose change at this instant can make link l
// come or go: of those that change for the better if it came, for the worse if it
// went, else of all.
func (s *sim) linkChangedBy(l int, k link, came bool) int {
	can := func(x *fault) bool { return s.canCut(x, l) }
	idle := func(x *fault, what int) bool { return x.kind == "flapping" && what == begins } // its first cut may come later
	by := s.steppedBy(func(x *fault, what int) bool {
		return can(x) && !idle(x, what) && (what == ends || what == turnsOn) == came
	})
	if by < 0 {
		by = s.changedBy(can)
	}
	if by < 0 { // the grace of a restart ran out
		by = s.oldest(-1, func(x *fault) bool { return x.silences(k.ends[0]) || x.silences(k.ends[1]) })
	}
	return by
}
