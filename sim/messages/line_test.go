package messages

// line is a link as it is, and as the instruments at its two ends see it. End 0
// is the lower one and sends in direction 0; what end e hears is direction 1-e.
type line struct {
	lit, alive bool
	darkSince  int64
	dark, up   int     // numbers of what is planned for the loss and return of light
	passes     [2]bool // packets of BFD and hellos, by direction
	stopped    [2]int64
	carrier    [2]bool
	bfd        session
	hello      [2]session // by end
	held       [2]bool    // the adjacency, as the routers know it
	both       bool
}

// session hears packets. That of BFD has two ends and needs both directions; one
// of hellos has one end, number 0.
type session struct {
	up     [2]bool
	heard  [2]int64 // the last packet
	since  int64    // settling counts from here; -1: not all directions pass
	serial int
}

func (s *session) stop() {
	s.since = -1
	s.serial++
}

func (p *play) startLines() {
	p.lines = make([]line, len(p.f.Links))
	t := &p.world.Timers
	yes := [2]bool{true, true}
	for l := range p.lines {
		k := &p.lines[l]
		*k = line{lit: true, alive: true, passes: yes, stopped: [2]int64{-1, -1}, carrier: yes, held: yes, both: true}
		k.bfd = session{up: yes, heard: [2]int64{-t.BFDInterval, -t.BFDInterval}}
		for e := range k.hello {
			k.hello[e] = session{up: yes, heard: [2]int64{-t.HelloInterval}}
		}
	}
}

func (p *play) endsOf(r int32, do func(l int32, e int)) {
	for _, port := range p.f.Ports[r] {
		e := 1
		if port.Lower {
			e = 0
		}
		do(port.Link, e)
	}
}

func (p *play) routerAt(l int32, e int) int32 { return p.f.From(2*l + int32(e)) }

// detect plans something for one end of a line, at the place of detections.
func (p *play) detect(at int64, step int, l int32, e int, do func()) {
	p.plan(event{at: at, stage: detections, step: step, part: [2]int32{p.routerAt(l, e), l}, do: func() {
		do()
		p.review(l, e)
	}})
}

// silence takes an end down with its router, without a word.
func (p *play) silence(l int32, e int) {
	k := &p.lines[l]
	k.carrier[e], k.bfd.up[e], k.hello[e].up[0] = false, false, false
	p.review(l, e)
}

// restart is a router's return: its ends begin anew, and so do those of its
// neighbours, in the next round.
func (p *play) restart(l int32, e int) {
	p.silence(l, e)
	o := 1 - e
	p.detect(p.now, goDown, l, o, func() {
		k := &p.lines[l]
		k.carrier[o], k.bfd.up, k.hello[o].up[0] = false, [2]bool{}, false
	})
}

// review compares what an end's instruments say with what its router knows.
func (p *play) review(l int32, e int) {
	k, t, r := &p.lines[l], &p.world.Timers, p.routerAt(l, e)
	holds := p.routers[r].alive && k.carrier[e] && (!t.BFD || k.bfd.up[e]) && (!t.Hello || k.hello[e].up[0])
	if holds == k.held[e] {
		return
	}
	k.held[e] = holds
	if p.routers[r].alive {
		p.noticed()
	}
	p.tell(r, input{kind: adjacency, circuit: p.circuitOf(l, e), on: holds})
	if both := k.held[0] && k.held[1]; both != k.both {
		k.both = both
		p.meets()
		for end := range 2 {
			p.tell(p.routerAt(l, end), input{kind: bothWays, circuit: p.circuitOf(l, end), on: both, asked: p.routers[p.routerAt(l, 1-end)].temporary})
		}
	}
}

func (p *play) circuitOf(l int32, e int) int {
	for c, port := range p.f.Ports[p.routerAt(l, e)] {
		if port.Link == l {
			return c
		}
	}
	panic("messages: a link without ports")
}

// lineChanges brings what a line is up to date and starts and stops the clocks of
// its instruments: S5 to S8.
func (p *play) lineChanges(l int32, c *condition) {
	k, f, t := &p.lines[l], &p.f.Links[l], &p.world.Timers
	lit := !c.unlit[l] && !c.dark[f.Lower] && !c.dark[f.Upper]
	alive := !c.cut[l] && !c.dead[f.Lower] && !c.dead[f.Upper]
	if lit && !k.lit && p.now < k.darkSince+t.Signal {
		k.dark++ // never seen
	}
	if !lit && k.lit {
		k.darkSince = p.now
		k.dark++
		for e := range 2 {
			this := k.dark
			p.detect(p.now+t.Signal, goDown, l, e, func() { k.carrier[e] = k.carrier[e] && k.dark != this })
		}
	}
	if alive != k.alive {
		p.meets()
		if alive && p.owes(l) {
			p.meetings++ // an LSP that could not cross waits for it
		}
		k.up++
		for e := range 2 {
			if this := k.up; alive {
				p.detect(p.now+t.Settle, comeUp, l, e, func() { k.carrier[e] = k.carrier[e] || k.up == this })
			}
		}
	}
	k.lit, k.alive = lit, alive
	stops := [2]bool{}
	for d := range k.passes {
		passes := alive && !c.stopped[2*l+int32(d)]
		if stops[d] = k.passes[d] && !passes; stops[d] {
			k.stopped[d] = p.now
		}
		k.passes[d] = passes
	}
	p.settle(l, &k.bfd, []int{0, 1}, k.passes[0] && k.passes[1])
	for e := range 2 {
		// A session of hellos keeps its one end under number 0.
		p.settle(l, &k.hello[e], []int{e}, k.passes[1-e])
		if stops[1-e] {
			p.late(l, e, &k.bfd, e, t.BFD, t.BFDInterval*int64(t.BFDMultiplier))
			p.late(l, e, &k.hello[e], 0, t.Hello, t.HelloInterval*int64(t.HelloMultiplier))
		}
	}
}

// late looks at a direction that stops. An end for which nothing has been heard
// for too long already goes down at once, in the second round: it settled between
// two packets. A settling that goes on ends when the time has passed since the
// last packet or its start.
func (p *play) late(l int32, e int, s *session, i int, on bool, patience int64) {
	if !on {
		return
	}
	if s.up[i] {
		if p.now-s.heard[i] >= patience {
			s.stop()
			p.detect(p.now, goDown, l, e, func() { s.up[i] = false })
		}
		return
	}
	k, stopped := &p.lines[l], p.now
	if s.since >= 0 {
		s.heard[i] = max(s.heard[i], s.since)
	}
	p.detect(max(p.now, s.heard[i]+patience), goDown, l, e, func() {
		if !k.passes[1-e] && k.stopped[1-e] == stopped {
			s.stop()
			s.up[i] = false // should it have come up meanwhile
		}
	})
}

// settle starts the count after which a session is up again.
func (p *play) settle(l int32, s *session, ends []int, passes bool) {
	if !p.lines[l].alive {
		s.stop()
		return
	}
	if !passes || s.since >= 0 {
		return
	}
	s.since = p.now
	for i, e := range ends {
		this := s.serial
		p.detect(p.now+p.world.Timers.Settle, comeUp, l, e, func() { s.up[i] = s.up[i] || s.serial == this })
	}
}

// owes says whether an LSP waits at either end of a line in use.
func (p *play) owes(l int32) bool {
	for e := range 2 {
		k := &p.routers[p.routerAt(l, e)].circuits[p.circuitOf(l, e)]
		if k.on && len(k.owed) > 0 {
			return true
		}
	}
	return false
}

// planTicks has packets of BFD and hellos leave at multiples of their intervals.
func (p *play) planTicks() {
	t := &p.world.Timers
	if t.BFD {
		p.tick(0, t.BFDInterval, func(l int32) { p.hearBFD(l, t.BFDInterval*int64(t.BFDMultiplier)) })
	}
	if t.Hello {
		p.tick(0, t.HelloInterval, func(l int32) { p.hearHellos(l, t.HelloInterval*int64(t.HelloMultiplier)) })
	}
}

func (p *play) tick(at, interval int64, hear func(l int32)) {
	p.planExactly(event{at: at, stage: detections, step: goDown, part: [2]int32{-1, -1}, do: func() {
		for l := range p.lines {
			hear(int32(l))
		}
		p.tick(at+interval, interval, hear)
	}})
}

// hearBFD is one packet in each direction that passes. An end that is down says
// so in its packet.
func (p *play) hearBFD(l int32, patience int64) {
	k := &p.lines[l]
	s, was := &k.bfd, k.bfd.up
	for e := range 2 {
		switch {
		case k.passes[1-e]:
			s.heard[e] = p.now
			s.up[e] = s.up[e] && was[1-e]
		case s.up[e] && p.now-s.heard[e] >= patience && p.now > k.stopped[1-e]:
			s.up[e] = false
			s.stop()
		}
	}
	for e := range 2 {
		p.review(l, e)
	}
}

func (p *play) hearHellos(l int32, patience int64) {
	k := &p.lines[l]
	for e := range 2 {
		s := &k.hello[e]
		switch {
		case k.passes[1-e]:
			s.heard[0] = p.now
		case s.up[0] && p.now-s.heard[0] >= patience && p.now > k.stopped[1-e]:
			s.up[0] = false
			s.stop()
		}
		p.review(l, e)
	}
}
