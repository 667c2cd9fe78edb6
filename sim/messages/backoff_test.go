package messages

import "halflight/model/timer"

// backoff decides when a router computes: S15. It works through the router's
// timers alone.
type backoff interface {
	event(x *router, now int64)    // an IGP event
	ran(x *router, now int64)      // the SPF timer expired
	timer(x *router, slot int)     // another of its timers expired
	startLast(x *router, at int64) // S3: begin in the last state
}

func newBackoff(s timer.SPF) backoff {
	switch s.Family {
	case timer.DoublingA, timer.DoublingB:
		return &doublingSPF{doubling: doubling{first: s.First, incremental: s.Incremental, maximum: s.Maximum}, quiet: s.Wait,
			spacing: s.Family == timer.DoublingB, last: -1 << 60}
	case timer.TwoStep:
		return &twoStep{SPF: s}
	}
	return &rfc8405{SPF: s}
}

// rfc8405 is the machine of section 5 of RFC 8405.
type rfc8405 struct {
	timer.SPF
	state int // 0 QUIET, 1 SHORT_WAIT, 2 LONG_WAIT
}

func (m *rfc8405) event(x *router, now int64) {
	delay := [...]int64{m.Initial, m.Short, m.Long}[m.state]
	if !x.armed[slotSPF] {
		x.arm(slotSPF, now+delay)
	}
	x.arm(slotHolddown, now+m.Holddown)
	if m.state == 0 {
		x.arm(slotLearn, now+m.TimeToLearn)
		m.state = 1
	}
}

func (m *rfc8405) ran(*router, int64) {}

func (m *rfc8405) timer(x *router, slot int) {
	switch {
	case slot == slotLearn && m.state == 1:
		m.state = 2
	case slot == slotHolddown:
		x.armed[slotLearn] = false
		m.state = 0
	}
}

func (m *rfc8405) startLast(x *router, at int64) {
	m.state = 2
	x.arm(slotHolddown, at+m.Holddown)
}

// doubling is the wait that doubles with each use (RFC 8541, section 4.2).
type doubling struct {
	first, incremental, maximum int64
	next                        int64 // 0: at rest
}

func (d *doubling) wait() int64 {
	if d.next == 0 {
		return d.first
	}
	return d.next
}

func (d *doubling) rest() { d.next = 0 }

func (d *doubling) fired() {
	if d.next == 0 {
		d.next = d.incremental
	} else {
		d.next = min(2*d.next, d.maximum)
	}
}

// doublingSPF is the family: form a waits, form b spaces runs.
type doublingSPF struct {
	doubling
	quiet   int64
	spacing bool
	last    int64 // run
}

func (m *doublingSPF) event(x *router, now int64) {
	x.arm(slotQuiet, now+m.quiet)
	if x.armed[slotSPF] {
		return
	}
	if !m.spacing {
		x.arm(slotSPF, now+m.wait())
		return
	}
	gap := m.next
	if gap == 0 {
		gap = m.incremental
	}
	x.arm(slotSPF, max(now+m.first, m.last+gap))
}

func (m *doublingSPF) ran(_ *router, now int64) {
	m.last = now
	m.fired()
}

func (m *doublingSPF) timer(*router, int) { m.rest() }

func (m *doublingSPF) startLast(x *router, at int64) {
	m.next, m.last = m.maximum, at
	x.arm(slotQuiet, at+m.quiet)
}

// twoStep gives some rapid runs before slow ones (RFC 8541, section 4.1).
type twoStep struct {
	timer.SPF
	done int
}

func (m *twoStep) event(x *router, now int64) {
	x.arm(slotQuiet, now+m.Wait)
	if x.armed[slotSPF] {
		return
	}
	delay := m.Rapid
	if m.done >= m.RapidRuns {
		delay = m.Slow
	}
	x.arm(slotSPF, now+delay)
}

func (m *twoStep) ran(*router, int64) { m.done++ }

func (m *twoStep) timer(*router, int) { m.done = 0 }

func (m *twoStep) startLast(x *router, at int64) {
	m.done = m.RapidRuns
	x.arm(slotQuiet, at+m.Wait)
}
