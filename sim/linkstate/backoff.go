package linkstate

import (
	"math"

	"halflight/model/timer"
	"halflight/sim/hearing"
)

// Never is a time that does not come.
const Never = int64(math.MaxInt64)

// backoff is the SPF back-off machine of one router: input an IGP event or the
// expiry of its SPF timer, output the instant at which the timer expires. It
// has no clock. At equal instants timers come first.
//
// LEARN and HOLDDOWN (RFC 8405) and the quiet time of the other families need
// no events of their own: the state at t follows from the first and the last
// event of the busy stretch.
type backoff struct {
	first int64 // RFC 8405: first event of the present busy stretch
	last  int64 // last event; far in the past at start
	spfAt int64 // expiry of the SPF timer, Never when off
	armed int64 // when the SPF timer was started
	next  int64 // doubling: the wait of the next run in back-off; form B: the spacing
	ran   int64 // form B: instant of the last run, Never without one
	runs  int32 // doubling, two-step: runs since the last quiet time
	fault int32 // behind the event that started the timer, -1 for none
	since int64 // accounts are settled up to here
	state [3]int64
}

// longAgo lies before every quiet time of every run that can be simulated.
const longAgo = hearing.LongAgo

func (b *backoff) reset(p *timer.SPF, now int64) {
	*b = backoff{first: longAgo, last: longAgo, spfAt: Never, next: p.Incremental, ran: Never, fault: -1, since: now, state: b.state}
}

// wind puts the machine into its last state at time 0, the timers that lead
// out of it started then and no run pending.
func (b *backoff) wind(p *timer.SPF) {
	b.last = 0
	switch p.Family {
	case timer.RFC8405:
		b.first = -p.TimeToLearn
	case timer.DoublingA:
		b.runs, b.next = 1, p.Maximum
	case timer.DoublingB:
		b.runs, b.next, b.ran = 1, p.Maximum, 0
	case timer.TwoStep:
		b.runs = int32(p.RapidRuns)
	}
}

// stateAt returns the state (index into Family.States) at t, and until when it
// lasts if no event comes. Accounts must not be older than the last event.
func (b *backoff) stateAt(p *timer.SPF, t int64) (state int, until int64) {
	if p.Family == timer.RFC8405 {
		switch {
		case t >= b.last+p.Holddown:
			return 0, Never
		case t >= b.first+p.TimeToLearn:
			return 2, b.last + p.Holddown
		}
		return 1, b.first + p.TimeToLearn
	}
	wound := b.runs > 0
	if p.Family == timer.TwoStep {
		wound = int(b.runs) >= p.RapidRuns
	}
	// The quiet time counts from the last event, but a pending run is waited for.
	quiet := b.spfAt == Never && t >= b.last+p.Wait
	if !wound || quiet {
		return 0, Never
	}
	if b.spfAt != Never {
		return 1, Never
	}
	return 1, b.last + p.Wait
}

// AtRest says whether the SPF back-off of every live router is in its first state.
func (c *Control) AtRest(now int64) bool {
	for x := range c.backs {
		if s, _ := c.backs[x].stateAt(c.spf(int32(x)), now); s != 0 && !c.dead[x] {
			return false
		}
	}
	return true
}

// settle books the time since the last settlement on the states it was spent in.
func (b *backoff) settle(p *timer.SPF, t int64, waits *waitBook) {
	for b.since < t {
		s, until := b.stateAt(p, b.since)
		until = min(until, t)
		b.state[s] += until - b.since
		if waits != nil && b.spfAt == Never {
			waits.stand(b, p, s, b.since, until)
		}
		b.since = until
	}
}

// event is an IGP event at t. It returns the expiry of the SPF timer if this
// event started it, else Never.
func (b *backoff) event(p *timer.SPF, t int64) int64 {
	var wait int64
	if p.Family == timer.RFC8405 {
		switch {
		case t >= b.last+p.Holddown: // transition 1
			b.first, wait = t, p.Initial
		case t >= b.first+p.TimeToLearn: // transition 4
			wait = p.Long
		default: // transition 2
			wait = p.Short
		}
		b.last = t
		if b.spfAt != Never {
			return Never
		}
		b.armed, b.spfAt = t, t+wait
		return b.spfAt
	}
	if b.spfAt != Never {
		b.last = t
		return Never
	}
	if t-b.last >= p.Wait {
		b.runs, b.next, b.ran = 0, p.Incremental, Never
	}
	b.last = t
	b.armed, b.spfAt = t, t+b.waitOther(p, t)
	if p.Family == timer.DoublingB && b.ran != Never {
		b.next = min(2*b.next, p.Maximum)
	}
	return b.spfAt
}

// waitOther is the wait that an event at t meets in the families other than
// RFC 8405, with no run pending and quiet time already considered.
func (b *backoff) waitOther(p *timer.SPF, t int64) int64 {
	switch {
	case p.Family == timer.TwoStep && int(b.runs) < p.RapidRuns:
		return p.Rapid
	case p.Family == timer.TwoStep:
		return p.Slow
	case p.Family == timer.DoublingB && b.ran != Never:
		return max(p.First, b.ran+b.next-t)
	case b.runs == 0 || p.Family == timer.DoublingB:
		return p.First
	}
	return min(b.next, p.Maximum)
}

// expire is the expiry of the SPF timer at t.
func (b *backoff) expire(p *timer.SPF, t int64, waits *waitBook) {
	if waits != nil {
		waits.ramp(t-b.armed, 0)
	}
	b.spfAt = Never
	switch p.Family {
	case timer.DoublingA:
		if b.runs > 0 {
			b.next = min(2*b.next, p.Maximum)
		}
	case timer.DoublingB:
		b.ran = t
	}
	if b.runs < math.MaxInt32 {
		b.runs++
	}
}

// restWait is the wait that timers at rest give.
func restWait(p *timer.SPF) int64 {
	switch p.Family {
	case timer.RFC8405:
		return p.Initial
	case timer.TwoStep:
		return p.Rapid
	}
	return p.First
}

// generation is the LSP-generation back-off of one router: doubling per run
// (RFC 8541, section 4.2), quiet time counted from the last change asked for.
type generation struct {
	last int64
	next int64 // wait in back-off
	fast bool
	at   int64 // expiry of the wait that runs, Never without one
}

func newGeneration(p *timer.Doubling) generation {
	return generation{last: longAgo, next: p.Incremental, fast: true, at: Never}
}

// ask is a change at t that asks for a new LSP. It returns the instant of
// origination if this change started the wait, else Never.
func (g *generation) ask(p *timer.Doubling, t int64) int64 {
	if g.at == Never && t-g.last >= p.Wait {
		g.fast, g.next = true, p.Incremental
	}
	g.last = t
	if g.at != Never {
		return Never
	}
	wait := p.First
	if !g.fast {
		wait = min(g.next, p.Maximum)
	}
	g.at = t + wait
	return g.at
}

// expire ends the wait: the LSP is originated now.
func (g *generation) expire(p *timer.Doubling) {
	g.at = Never
	if g.fast {
		g.fast = false
	} else {
		g.next = min(2*g.next, p.Maximum)
	}
}
