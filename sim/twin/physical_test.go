package twin

import "slices"

// look reads the physical state off the faults in force.
func (s *sim) look() {
	s.fwd, s.ctl = make([]bool, len(s.names)), make([]bool, len(s.names))
	s.lit, s.alive = make([]bool, len(s.links)), make([]bool, len(s.links))
	s.pass, s.helloPass = make([]bool, 2*len(s.links)), make([]bool, 2*len(s.links))
	for r := range s.names {
		s.fwd[r], s.ctl[r] = s.isFwd(r, -1), s.isCtl(r, -1)
	}
	for l := range s.links {
		s.lit[l], s.alive[l] = s.isLit(l, -1), s.isAlive(l, -1)
	}
	for d := range s.pass {
		s.pass[d], s.helloPass[d] = s.passes(d, -1), s.passesHello(d, -1)
	}
}

// applyChanges makes the changes of this instant true: those of drains with the
// operator, all others together as physical changes (S4).
func (s *sim) applyChanges(drains bool) {
	for _, c := range s.changes {
		x := s.faults[c.fault]
		if c.t == s.now && (x.kind == "drain") == drains {
			x.apply(c.what)
		}
	}
	s.meter.dirty = true
}

// physical takes all physical changes of an instant together and compares before
// with after: what stops and starts at one instant was never alive between.
func (s *sim) physical() {
	fwd, ctl, lit, alive, pass, hello := s.fwd, s.ctl, s.lit, s.alive, s.pass, s.helloPass
	s.applyChanges(false)
	s.look()
	s.release()
	for r := range s.names {
		s.routerChanged(r, fwd[r], ctl[r])
		s.await(r)
	}
	for l := range s.links {
		s.lightChanged(l, lit[l])
		s.aliveChanged(l, alive[l])
	}
	for d := range s.pass {
		s.passChanged(d, pass[d], hello[d])
	}
	for r := range s.names {
		if s.ctl[r] && !ctl[r] {
			s.restartSenses(r)
		}
	}
}

func (s *sim) routerChanged(r int, fwd, ctl bool) {
	x := &s.routers[r]
	if ctl && !s.ctl[r] {
		s.loseControl(r)
	}
	if fwd && !s.fwd[r] {
		x.table, x.kept = make([]entry, s.leaves), nil
		s.dropDetours(r)
		x.ranFrom = nil
	}
	if !s.ctl[r] && s.outageIsHard(r) {
		x.hardOut = true
	}
	if !ctl && s.ctl[r] {
		s.regainControl(r)
	}
}

// outageIsHard says whether more than a kept restart goes on at r.
func (s *sim) outageIsHard(r int) bool {
	return s.any(-1, func(x *fault) bool { return x.stops(r) || x.kind == "hard" && x.silences(r) })
}

// loseControl stops all that the control plane of r does. Of a router that still
// forwards the tables stay as they are.
func (s *sim) loseControl(r int) {
	x := &s.routers[r]
	s.machineStop(r)
	x.epoch++
	x.hardOut = false
	x.frozen = true
	x.pending, x.runs, x.waiting, x.completing = nil, nil, 0, nil
	x.held = 0
	x.gen = generation{}
	x.db = map[int]*lsp{}
	s.bucket.forget(r)
	for _, l := range s.linksOf[r] {
		e := s.end(l, r)
		s.lines[l].carrier[e], s.lines[l].held[e] = false, false
		s.lines[l].damped[e] = damped{token: s.lines[l].damped[e].token + 1}
		s.lines[l].pending = nil
	}
}

// await has neighbours wait for a router that begins to restart with its tables kept,
// whether it had a control plane or not (S29).
func (s *sim) await(r int) {
	if !s.any(-1, func(f *fault) bool { return f.kind == "restart" && f.silences(r) && f.at == s.now }) {
		return
	}
	for _, l := range s.linksOf[r] {
		s.plan(s.now+int64(s.scn.Restart.Grace), event{kind: evGrace, router: s.far(l, r), part: l, token: s.routers[r].epoch})
	}
}

// regainControl brings r back: S6, or S29 after a restart with tables kept.
func (s *sim) regainControl(r int) {
	x := &s.routers[r]
	x.epoch++
	x.keptBack, x.hardOut = !x.hardOut, false
	x.db = map[int]*lsp{}
	x.frozen = x.keptBack
	x.ready, x.firstAdj, x.exchanged, x.completing = false, false, false, nil
	x.bit = s.scn.Overload.UntilReady && !x.keptBack
	x.writing, x.runEnd, x.resumed = s.now, s.now, s.now
	x.back = s.changedBy(func(f *fault) bool { return f.ofRouter(r) })
	if !x.keptBack {
		x.table, x.kept = make([]entry, s.leaves), nil
		s.dropDetours(r)
		x.ranFrom = nil
	}
	s.machineStart(r)
	s.helpItself(r)
	for _, l := range s.linksOf[r] {
		if n := s.far(l, r); !x.keptBack && s.ctl[n] {
			s.plan(s.now, event{kind: evForced, router: n, part: l})
		}
		s.settleAnew(l)
	}
}

// ofRouter: f is a fault of router r of the kinds that stop a router or its
// control plane, in force or not.
func (f *fault) ofRouter(r int) bool {
	return (f.kind == "hard" || f.kind == "restart") && slices.Contains(f.routers, r)
}

// changedBy is the oldest fault with a change at this instant of which something
// holds, or -1.
func (s *sim) changedBy(holds func(*fault) bool) int {
	return s.steppedBy(func(x *fault, _ int) bool { return holds(x) })
}

// steppedBy is changedBy for some of what a change does to its fault.
func (s *sim) steppedBy(holds func(x *fault, what int) bool) int {
	best := -1
	for _, c := range s.changes {
		x := s.faults[c.fault]
		if c.t == s.now && holds(x, c.what) && (best < 0 || x.older(s.faults[best])) {
			best = x.index
		}
	}
	return best
}

func (s *sim) lightChanged(l int, lit bool) {
	line := &s.lines[l]
	switch {
	case lit && !s.lit[l]:
		line.signalToken++
		line.darkSince = s.now
		for _, r := range s.links[l].ends {
			s.plan(s.now+int64(s.scn.Detection.Signal), event{kind: evSignal, router: r, part: l, token: line.signalToken})
		}
	case !lit && s.lit[l] && s.now < line.darkSince+int64(s.scn.Detection.Signal):
		line.signalToken++ // light again before; at that very instant is not before (S5)
	}
}

func (s *sim) aliveChanged(l int, alive bool) {
	switch {
	case alive && !s.alive[l]:
		s.lines[l].settleToken++ // a new cut starts the count anew (S6)
	case !alive && s.alive[l]:
		s.settleAnew(l)
		s.crossPending(l)
	}
}

// settleAnew starts the settle time of a link that is alive.
func (s *sim) settleAnew(l int) {
	line := &s.lines[l]
	line.settleToken++
	if !s.alive[l] {
		return
	}
	for _, r := range s.links[l].ends {
		s.plan(s.now+int64(s.scn.Detection.Settle), event{kind: evSettle, router: r, part: l, token: line.settleToken})
	}
}

func (s *sim) passChanged(d int, pass, hello bool) {
	if s.scn.Flooding.Lossy && s.pass[d] && !pass {
		s.crossPending(d / 2)
	}
	if s.scn.Detection.BFD.On && pass != s.pass[d] {
		s.bfdPassing(d)
	}
	if s.scn.Detection.Hello.On && hello != s.helloPass[d] {
		s.helloPassing(d)
	}
}

// operator takes the drains of an instant: whoever holds another metric or
// overload bit than before asks for a new LSP (S26).
func (s *sim) operator() {
	before := make([][]int64, len(s.names))
	for r := range s.names {
		before[r] = s.held(r)
	}
	s.applyChanges(true)
	for r := range s.names {
		for i, v := range s.held(r) {
			if v != before[r][i] {
				s.ask(r)
				break
			}
		}
	}
}

// held lists the metrics and the overload bit r holds.
func (s *sim) held(r int) []int64 {
	var out []int64
	for _, l := range s.linksOf[r] {
		out = append(out, s.heldMetric(r, l, -1))
	}
	if s.heldBit(r) {
		return append(out, 1)
	}
	return append(out, 0)
}
