package twin

// restartSenses makes the sessions of a router that is back start from nothing:
// an end that was told nothing since must hear for the settle time first.
func (s *sim) restartSenses(r int) {
	for _, l := range s.linksOf[r] {
		line := &s.lines[l]
		own := s.end(l, r)
		ends := []int{own}
		if !s.routers[r].keptBack {
			ends = []int{0, 1}
		}
		for _, e := range ends {
			if s.scn.Detection.BFD.On && !s.routers[r].keptBack {
				line.bfd.up[e] = false
			}
			if s.scn.Detection.Hello.On {
				line.hello[e].up, line.hello[e].settling = false, false
				line.hello[e].token++
			}
		}
		for _, e := range ends {
			if s.scn.Detection.Hello.On {
				s.helloMaySettle(l, e)
			}
		}
		if s.scn.Detection.BFD.On && !s.routers[r].keptBack {
			line.bfd.settling = false
			line.bfd.token++
			s.bfdMaySettle(l)
		}
	}
}

// carrierDown takes an end down: loss of signal, the return of the far router,
// or the end of the grace of its restart.
func (s *sim) carrierDown(e *event) {
	line := &s.lines[e.part]
	end := s.end(e.part, e.router)
	switch {
	case e.kind == evSignal && line.signalToken != e.token:
		return
	case e.kind == evGrace && (s.routers[s.far(e.part, e.router)].epoch != e.token || !s.graceOver(e.part, -1)):
		return
	}
	line.carrier[end] = false
	s.refresh(e.part, end)
}

func (s *sim) carrierUp(e *event) {
	line := &s.lines[e.part]
	if line.settleToken != e.token || !s.ctl[e.router] {
		return
	}
	end := s.end(e.part, e.router)
	if !s.ctl[s.far(e.part, e.router)] && !line.carrier[end] {
		return // nobody to hold the adjacency with
	}
	line.carrier[end] = true
	s.refresh(e.part, end)
}

// refresh works out whether an end holds its adjacency, and acts on a change.
func (s *sim) refresh(l, end int) {
	line := &s.lines[l]
	r := s.links[l].ends[end]
	holds := s.ctl[r] && line.carrier[end] &&
		(!s.scn.Detection.BFD.On || line.bfd.up[end]) &&
		(!s.scn.Detection.Hello.On || line.hello[end].up)
	holds = s.use(l, end, holds)
	if holds == line.held[end] {
		return
	}
	line.held[end] = holds
	if holds {
		delete(s.detours, 2*l+end)
	}
	s.meter.dirty = true
	s.ask(r)
	defer s.noticed(r)
	if !holds {
		if s.scn.FIB.RepairTunnel {
			s.plan(s.now+int64(s.scn.FIB.PruneDelay), event{kind: evDetour, router: r, part: 2*l + end, token: s.routers[r].epoch})
		}
		line.pending = nil
		s.prune(r, l)
	} else if line.held[1-end] {
		s.adjacencyUp(l)
	}
}

// bothHeld: the adjacency is up at both ends.
func (s *sim) bothHeld(l int) bool { return s.lines[l].held[0] && s.lines[l].held[1] }

// heldLinks lists the links whose adjacency r holds.
func (s *sim) heldLinks(r int) []int {
	var out []int
	for _, l := range s.linksOf[r] {
		if s.lines[l].held[s.end(l, r)] {
			out = append(out, l)
		}
	}
	return out
}

// prune drops a dead link from the tables of r: now, or after the delay (S18).
func (s *sim) prune(r, l int) {
	if !s.scn.FIB.LocalPrune {
		return
	}
	if d := int64(s.scn.FIB.PruneDelay); d > 0 {
		s.plan(s.now+d, event{kind: evPrune, router: r, part: l, token: s.routers[r].epoch})
		return
	}
	s.pruneNow(r, l)
}

func (s *sim) delayedPrune(e *event) {
	if s.routers[e.router].epoch == e.token && !s.lines[e.part].held[s.end(e.part, e.router)] {
		s.pruneNow(e.router, e.part)
	}
}

func (s *sim) pruneNow(r, l int) {
	x := &s.routers[r]
	if x.frozen {
		return
	}
	for d := range x.table {
		e := x.table[d]
		if x.kept[d] != nil {
			e = *x.kept[d]
		}
		if hops := without(e.hops, l); len(hops) != len(e.hops) {
			s.enter(r, d, entry{hops, e.from})
		}
	}
	for _, w := range x.pending {
		w.hops = without(w.hops, l)
	}
	for _, run := range x.runs {
		for d := range run.result {
			run.result[d] = without(run.result[d], l)
		}
	}
	s.meter.dirty = true
}

// without leaves next hop l out of a set that keeps at least one other.
func without(hops []int, l int) []int {
	var out []int
	for _, h := range hops {
		if h != l {
			out = append(out, h)
		}
	}
	if len(out) == 0 {
		return hops
	}
	return out
}
