package twin

// clocks are the timers of a router's machine, as tokens of the events planned,
// and what the machine's states have lasted.
type clocks struct {
	token  map[int]int // by kind of event
	lasted map[string]int64
	since  int64
}

func (s *sim) startMachines() {
	for r := range s.routers {
		s.routers[r].machine = newMachine(s.spfOf(r))
		s.meter.clocks[r] = clocks{map[int]int{}, map[string]int64{}, 0}
		if s.scn.Start.Backoff == "last" {
			s.setTimers(r, s.routers[r].machine.startLast())
		}
	}
}

// machineStart gives a returning router a machine in its first state.
func (s *sim) machineStart(r int) {
	s.routers[r].machine = newMachine(s.spfOf(r))
	s.meter.clocks[r].since = s.now
}

// machineStop ends the machine; no timer of it is current any more.
func (s *sim) machineStop(r int) {
	s.machineAccount(r)
	for _, kind := range []int{evSPF, evLearn, evHolddown, evQuiet} {
		s.meter.clocks[r].token[kind]++
	}
	s.routers[r].machine = machine{spf: s.spfOf(r)}
}

// machineAccount adds the time since the last change of state.
func (s *sim) machineAccount(r int) {
	c := &s.meter.clocks[r]
	if state := s.routers[r].machine.state; state != "" {
		c.lasted[state] += s.now - c.since
	}
	c.since = s.now
}

func (s *sim) setTimers(r int, set timers) {
	for kind, t := range map[int]int64{evSPF: set.spf, evLearn: set.learn, evHolddown: set.holddown, evQuiet: set.quiet} {
		if t >= 0 {
			c := &s.meter.clocks[r]
			c.token[kind]++
			s.plan(t, event{kind: kind, router: r, token: c.token[kind]})
		}
	}
}

// igpEvent is an IGP event at r, now.
func (s *sim) igpEvent(r int) {
	s.machineAccount(r)
	set := s.routers[r].machine.igpEvent(s.now)
	if set.spf >= 0 {
		s.routers[r].armed = s.now
	}
	s.setTimers(r, set)
}

func (s *sim) machineTimer(e *event) {
	r := e.router
	if s.meter.clocks[r].token[e.kind] != e.token {
		return
	}
	s.machineAccount(r)
	m := &s.routers[r].machine
	switch e.kind {
	case evSPF:
		m.spfExpires(s.now)
		s.routers[r].asked = s.routers[r].armed
		s.wantRun(r)
	case evLearn:
		m.learnExpires()
	case evHolddown:
		m.holddownExpires()
		s.meter.clocks[r].token[evLearn]++ // transition 6 of RFC 8405
	case evQuiet:
		m.quietExpires()
	}
}
