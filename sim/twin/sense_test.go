package twin

// clock is the detection clock of the receiving end of one direction: packets
// leave at multiples of the interval.
type clock struct {
	since int64 // began to pass
	last  int64 // last packet that arrived, as of when it stopped passing
	token int
}

// session is a BFD session: the two ends, and the settle time that runs while
// both directions pass again.
type session struct {
	up       [2]bool
	down     [2]int // counts going down: a teller of an earlier time is void
	settling bool
	from     int64
	token    int
}

// helloEnd is what hellos say at one end (S8).
type helloEnd struct {
	up       bool
	settling bool
	from     int64
	token    int
	downs    int // counts going down
}

// startSenses sets the state of time 0: packets arrived at every multiple of the
// interval before.
func (s *sim) startSenses(l int) {
	line := &s.lines[l]
	line.bfd.up = [2]bool{true, true}
	for e := range 2 {
		line.hello[e].up = true
		every := -int64(s.bfdOf(2*l + e).Interval)
		line.clock[e] = clock{since: every, last: every}
		line.helloClock[e] = clock{since: -int64(s.scn.Detection.Hello.Interval), last: -int64(s.scn.Detection.Hello.Interval)}
	}
}

// stops is called when the direction stops passing at t. It returns the first
// instant at which interval x multiplier has passed since the last packet. A
// packet sent at t is lost.
func (c *clock) stops(p packets, t int64) int64 {
	interval := int64(p.Interval)
	n := t / interval
	if n*interval == t {
		n--
	}
	if n*interval >= c.since {
		c.last = n * interval
	}
	c.token++
	return c.last + interval*p.Multiplier
}

func (c *clock) passesAgain(t int64) {
	c.since = t
	c.token++
}

// bfdPassing is called when direction d begins or stops to pass.
func (s *sim) bfdPassing(d int) {
	l, sender := d/2, d%2
	line := &s.lines[l]
	c := &line.clock[sender]
	if s.pass[d] {
		c.passesAgain(s.now)
		s.bfdMaySettle(l)
		return
	}
	bfd := s.bfdOf(d)
	end := c.stops(bfd, s.now)
	if line.bfd.settling {
		if !s.alive[l] {
			line.bfd.settling = false // a cut starts the count anew (S6)
			line.bfd.token++
		} else if from := line.bfd.from + int64(bfd.Interval)*bfd.Multiplier; from > end && !line.bfd.up[1-sender] {
			end = from
		}
	}
	s.plan(max(end, s.now), event{kind: evBFDExpire, router: s.links[l].ends[1-sender], part: d, token: c.token})
}

// bfdMaySettle starts the settle time of a session that is not up, once both
// directions pass.
func (s *sim) bfdMaySettle(l int) {
	b := &s.lines[l].bfd
	if b.up == [2]bool{true, true} || b.settling || !s.pass[2*l] || !s.pass[2*l+1] {
		return
	}
	b.settling, b.from = true, s.now
	b.token++
	for _, r := range s.links[l].ends {
		s.plan(s.now+int64(s.scn.Detection.Settle), event{kind: evBFDUp, router: r, part: l, token: b.token})
	}
}

// bfdExpires: nothing came through direction e.part for too long.
func (s *sim) bfdExpires(e *event) {
	l, sender := e.part/2, e.part%2
	line := &s.lines[l]
	if line.clock[sender].token != e.token {
		return
	}
	if line.bfd.settling {
		line.bfd.settling = false
		line.bfd.token++
	}
	s.bfdDown(l, 1-sender)
}

func (s *sim) bfdDown(l, end int) {
	b := &s.lines[l].bfd
	if !b.up[end] {
		return
	}
	b.up[end] = false
	b.down[end]++
	s.planTell(l, end)
	s.refresh(l, end)
}

// planTell plans the next packet of an end that is down.
func (s *sim) planTell(l, end int) {
	interval := int64(s.bfdOf(2*l + end).Interval)
	next := (s.now/interval + 1) * interval
	s.plan(next, event{kind: evTell, router: s.links[l].ends[1-end], part: 2*l + end, token: s.lines[l].bfd.down[end]})
}

// bfdTells: a packet of the end that is down tells the other, if it passes.
func (s *sim) bfdTells(e *event) {
	l, end := e.part/2, e.part%2
	b := &s.lines[l].bfd
	if b.up[end] || !b.up[1-end] || b.down[end] != e.token {
		return
	}
	if !s.pass[e.part] {
		s.planTell(l, end)
		return
	}
	b.up[1-end] = false
	b.down[1-end]++
	s.refresh(l, 1-end)
}

func (s *sim) bfdUp(e *event) {
	b := &s.lines[e.part].bfd
	if b.token != e.token {
		return
	}
	end := s.end(e.part, e.router)
	b.up[end] = true
	if b.up[1-end] {
		b.settling = false
	}
	s.refresh(e.part, end)
}

// helloPassing is called when direction d begins or stops to pass hellos.
func (s *sim) helloPassing(d int) {
	l, sender := d/2, d%2
	line := &s.lines[l]
	c, h := &line.helloClock[sender], &line.hello[1-sender]
	if s.helloPass[d] {
		c.passesAgain(s.now)
		s.helloMaySettle(l, 1-sender)
		return
	}
	end := c.stops(s.scn.Detection.Hello, s.now)
	if h.settling {
		if !s.alive[l] {
			h.settling = false
			h.token++
			if s.scn.Detection.Hello.ThreeWay {
				line.hello[sender].settling = false
				line.hello[sender].token++
			}
		} else if from := h.from + int64(s.scn.Detection.Hello.Interval)*s.scn.Detection.Hello.Multiplier; from > end && !h.up {
			end = from
		}
	}
	s.plan(max(end, s.now), event{kind: evHelloExpire, router: s.links[l].ends[1-sender], part: d, token: c.token})
}

func (s *sim) helloMaySettle(l, end int) {
	if s.scn.Detection.Hello.ThreeWay {
		s.bothMaySettle(l)
		return
	}
	h := &s.lines[l].hello[end]
	if h.up || h.settling || !s.helloPass[2*l+1-end] {
		return
	}
	h.settling, h.from = true, s.now
	h.token++
	s.plan(s.now+int64(s.scn.Detection.Settle), event{kind: evHelloUp, router: s.links[l].ends[end], part: l, token: h.token})
}

func (s *sim) helloExpires(e *event) {
	l, sender := e.part/2, e.part%2
	line := &s.lines[l]
	if line.helloClock[sender].token != e.token {
		return
	}
	h := &line.hello[1-sender]
	if h.settling {
		h.settling = false
		h.token++
	}
	if o := &line.hello[sender]; s.scn.Detection.Hello.ThreeWay && o.settling {
		o.settling = false
		o.token++
	}
	if h.up && s.scn.Detection.Hello.ThreeWay {
		h.downs++
		s.planShake(l, 1-sender)
	}
	h.up = false
	s.refresh(l, 1-sender)
}

func (s *sim) helloUp(e *event) {
	end := s.end(e.part, e.router)
	h := &s.lines[e.part].hello[end]
	if h.token != e.token {
		return
	}
	h.up, h.settling = true, false
	s.refresh(e.part, end)
}
