package twin

// State names of the SPF families.
const (
	quiet     = "QUIET"
	shortWait = "SHORT_WAIT"
	longWait  = "LONG_WAIT"
	fast      = "FAST"
	backOff   = "BACK_OFF"
	rapid     = "RAPID"
	slow      = "SLOW"
)

// machine is the SPF back-off of one router (S15). It has no clock: every call
// is given the time, and returns timers to set as absolute times; none is -1.
type machine struct {
	spf     *spfTimers
	state   string
	pending bool  // the SPF timer runs
	delay   int64 // doubling a: the next delay in back-off mode
	hold    int64 // doubling b: least spacing from the run before
	lastRun int64 // doubling b; -1: none yet
	runs    int   // two_step: runs in rapid mode
	late    bool  // the quiet time ended while the SPF timer ran
}

// timers a machine wants set; -1 leaves a timer as it is.
type timers struct{ spf, learn, holddown, quiet int64 }

var noTimers = timers{-1, -1, -1, -1}

func newMachine(spf *spfTimers) machine {
	m := machine{spf: spf, lastRun: -1}
	switch {
	case spf.RFC8405 != nil:
		m.state = quiet
	case spf.Doubling != nil:
		m.state = fast
	default:
		m.state = rapid
	}
	return m
}

// startLast puts the machine in its last state at time 0 (S3).
func (m *machine) startLast() timers {
	set := noTimers
	spf := m.spf
	switch {
	case spf.RFC8405 != nil:
		m.state = longWait
		set.holddown = int64(spf.RFC8405.Holddown)
	case spf.Doubling != nil:
		m.state = backOff
		m.delay, m.hold, m.lastRun = int64(spf.Doubling.MaximumDelay), int64(spf.Doubling.MaximumDelay), 0
		set.quiet = int64(spf.Doubling.WaitTime)
	default:
		m.state = slow
		set.quiet = int64(spf.TwoStep.WaitTime)
	}
	return set
}

// igpEvent takes one IGP event at time t.
func (m *machine) igpEvent(t int64) timers {
	spf := m.spf
	switch {
	case spf.RFC8405 != nil:
		return m.eventRFC8405(t)
	case spf.Doubling != nil:
		m.late = false
		set := noTimers
		set.quiet = t + int64(spf.Doubling.WaitTime)
		if !m.pending {
			m.pending = true
			set.spf = m.nextDoubling(t)
		}
		return set
	}
	m.late = false
	set := noTimers
	set.quiet = t + int64(spf.TwoStep.WaitTime)
	if !m.pending {
		m.pending = true
		set.spf = t + int64(spf.TwoStep.RapidDelay)
		if m.state == slow {
			set.spf = t + int64(spf.TwoStep.SlowDelay)
		}
	}
	return set
}

// eventRFC8405 is transitions 1, 2 and 4 of RFC 8405 section 5.4.
func (m *machine) eventRFC8405(t int64) timers {
	p := m.spf.RFC8405
	set := noTimers
	set.holddown = t + int64(p.Holddown)
	delay := map[string]span{quiet: p.InitialDelay, shortWait: p.ShortDelay, longWait: p.LongDelay}[m.state]
	if !m.pending {
		m.pending = true
		set.spf = t + int64(delay)
	}
	if m.state == quiet {
		m.state = shortWait
		set.learn = t + int64(p.TimeToLearn)
	}
	return set
}

func (m *machine) nextDoubling(t int64) int64 {
	p := m.spf.Doubling
	first := t + int64(p.FirstDelay)
	if p.Form == "b" {
		hold := m.hold
		if m.state == fast {
			hold = int64(p.IncrementalDelay)
		}
		if m.lastRun >= 0 && m.lastRun+hold > first {
			return m.lastRun + hold
		}
		return first
	}
	if m.state == fast {
		return first
	}
	return t + m.delay
}

// spfExpires is a run: the modes of the older families change with it.
func (m *machine) spfExpires(t int64) {
	m.pending = false
	spf := m.spf
	switch {
	case spf.Doubling != nil:
		p := spf.Doubling
		if m.state == fast {
			m.state = backOff
			m.delay, m.hold = int64(p.IncrementalDelay), int64(p.IncrementalDelay)
		} else {
			m.delay = min(2*m.delay, int64(p.MaximumDelay))
			m.hold = min(2*m.hold, int64(p.MaximumDelay))
		}
		m.lastRun = t
	case spf.TwoStep != nil && m.state == rapid:
		m.runs++
		if m.runs >= spf.TwoStep.RapidRuns {
			m.state = slow
		}
	}
	if m.late {
		m.quietExpires()
	}
}

func (m *machine) learnExpires() {
	if m.state == shortWait {
		m.state = longWait
	}
}

func (m *machine) holddownExpires() { m.state = quiet }

// quietExpires leads the older families out of their last state, after the run if one is
// waited for.
func (m *machine) quietExpires() {
	if m.late = m.pending; m.late {
		return
	}
	m.runs, m.lastRun = 0, -1
	if m.spf.Doubling != nil {
		m.state = fast
	} else {
		m.state = rapid
	}
}

// stateNames are the states of one family.
func stateNames(spf *spfTimers) []string {
	switch {
	case spf.RFC8405 != nil:
		return []string{quiet, shortWait, longWait}
	case spf.Doubling != nil:
		return []string{fast, backOff}
	}
	return []string{rapid, slow}
}

// generation is the LSP-generation back-off of one router: doubling form A (S9).
type generation struct {
	pending bool
	asked   bool // a change was asked for before
	last    int64
	backOff bool
	delay   int64
}

// change is a change asked for at t. The answer is when the LSP is due, or -1 if
// the wait runs already.
func (g *generation) change(p doubling, t int64) int64 {
	if g.pending {
		g.last = t
		return -1
	}
	if !g.asked || t-g.last >= int64(p.WaitTime) {
		g.backOff = false
	}
	g.asked, g.last, g.pending = true, t, true
	if g.backOff {
		return t + g.delay
	}
	return t + int64(p.FirstDelay)
}

func (g *generation) expires(p doubling) {
	g.pending = false
	if g.backOff {
		g.delay = min(2*g.delay, int64(p.MaximumDelay))
		return
	}
	g.backOff = true
	g.delay = int64(p.IncrementalDelay)
}
