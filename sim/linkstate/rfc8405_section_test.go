package linkstate

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"halflight/model/timer"
)

// One test for each sentence of RFC 8405 that a machine can keep or break; the
// section is in the name, the sentence (in our words) above.

// 3, SPF_DELAY: the delay runs from the first event that asks for a
// computation to its start; later events do not extend it.
func TestRFC8405Section3DelayRunsFromTheFirstEvent(t *testing.T) {
	expect(t, section6(), []int64{0, 10, 20, 30, 40, 49}, []int64{50})
}

// 3, INITIAL_SPF_DELAY handles a single isolated failure; example value 0.
func TestRFC8405Section3InitialDelayForAnIsolatedFailure(t *testing.T) {
	expect(t, section6(), []int64{0}, []int64{50})
	expect(t, section3(), []int64{7}, []int64{7})
}

// 3, SHORT_SPF_DELAY: for a failure of one component that leads to several
// events.
func TestRFC8405Section3ShortDelayForOneComponent(t *testing.T) {
	expect(t, section6(), []int64{0, 60}, []int64{50, 260})
	expect(t, section3(), []int64{0, 60}, []int64{0, 160})
}

// 3, LONG_SPF_DELAY: for when the routing is unstable.
func TestRFC8405Section3LongDelayWhenUnstable(t *testing.T) {
	expect(t, section6(), []int64{0, 600}, []int64{50, 5600})
	expect(t, section3(), []int64{0, 1100}, []int64{0, 3100})
}

// 3, TIME_TO_LEARN_INTERVAL: the longest it takes to learn all events of one
// failure: an event up to that counts as of the same failure, the first at it
// does not (timers first).
func TestRFC8405Section3TimeToLearn(t *testing.T) {
	expect(t, section6(), []int64{0, 499}, []int64{50, 699})
	expect(t, section6(), []int64{0, 500}, []int64{50, 5500})
}

// 3, HOLDDOWN_INTERVAL: so long without an event restores the initial delay.
func TestRFC8405Section3Holddown(t *testing.T) {
	expect(t, section6(), []int64{0, 9999}, []int64{50, 14999})
	expect(t, section6(), []int64{0, 10000}, []int64{50, 10050})
	expect(t, section3(), []int64{0, 2999}, []int64{0, 4999})
	expect(t, section3(), []int64{0, 3000}, []int64{0, 3000})
}

// 3 and 6: HOLDDOWN_INTERVAL must exceed TIME_TO_LEARN_INTERVAL.
func TestRFC8405Section3HolddownMustExceedTimeToLearn(t *testing.T) {
	for _, c := range []struct {
		learn, hold int64
		ok          bool
	}{{500, 500, false}, {501, 500, false}, {500, 501, true}} {
		p := section6()
		p.TimeToLearn, p.Holddown = c.learn*ms, c.hold*ms
		if err := p.Check(); (err == nil) != c.ok {
			t.Errorf("learn %d, holddown %d ms: %v", c.learn, c.hold, err)
		}
	}
}

// 5.2 (in the order of its states): QUIET is the state at the beginning, in
// which no event was seen for HOLDDOWN_INTERVAL.
func TestRFC8405Section5QuietAtTheBeginning(t *testing.T) {
	p := section6()
	var b backoff
	b.reset(&p, 0)
	for _, now := range []int64{0, 1, 1e18} {
		if s, until := b.stateAt(&p, now); s != quietState || until != Never || b.spfAt != Never {
			t.Errorf("at %d ns: state %d until %d, timer %d", now, s, until, b.spfAt)
		}
	}
}

// 5.2: SHORT_WAIT is entered when an event is received in QUIET.
func TestRFC8405Section5ShortWaitAfterAnEventInQuiet(t *testing.T) {
	expect(t, section6(), []int64{7}, []int64{57}).stateFrom(t, 7, shortState)
}

// 5.2: LONG_WAIT is reached after TIME_TO_LEARN_INTERVAL in SHORT_WAIT; also
// when one event was all.
func TestRFC8405Section5LongWaitAfterTimeToLearn(t *testing.T) {
	expect(t, section6(), []int64{7}, []int64{57}).stateFrom(t, 507, longState)
}

// 5.3, SPF_TIMER: on expiry the computation is done, once.
func TestRFC8405Section5SPFTimerExpiryComputesOnce(t *testing.T) {
	if got := watch(section6(), at(0)); len(got.Runs) != 1 {
		t.Errorf("%v", got.Runs)
	}
}

// 5.3, HOLDDOWN_TIMER is started again by every event; on expiry: QUIET.
func TestRFC8405Section5HolddownTimerRestartsWithEveryEvent(t *testing.T) {
	got := expect(t, section6(), []int64{0, 3000, 9000, 12345}, []int64{50, 8000, 14000})
	got.stateFrom(t, 22345, quietState)
	if len(got.States) != 3 {
		t.Errorf("%v", got.States)
	}
}

// 5.3, LEARN_TIMER is started by an event in QUIET and by no other; on expiry:
// LONG_WAIT.
func TestRFC8405Section5LearnTimerDoesNotRestart(t *testing.T) {
	expect(t, section6(), []int64{0, 100, 200, 300, 400, 499}, []int64{50, 300, 500}).stateFrom(t, 500, longState)
}

// 5.4, transitions one by one: number, what leads to it, what it does.
func TestRFC8405Section5Transitions(t *testing.T) {
	for _, c := range []struct {
		number       int64
		at           int64
		events, runs []int64
		name         string
	}{
		{1, 0, []int64{0}, []int64{50}, "event in QUIET: SPF_TIMER, LEARN_TIMER, HOLDDOWN_TIMER start"},
		{1, 10050, []int64{0, 50, 10050}, []int64{50, 250, 10100}, "event in QUIET again"},
		{2, 60, []int64{0, 60}, []int64{50, 260}, "event in SHORT_WAIT: SPF_TIMER with the short delay"},
		{2, 20, []int64{0, 20}, []int64{50}, "event in SHORT_WAIT while SPF_TIMER runs: it is left"},
		{3, 500, []int64{0}, []int64{50}, "LEARN_TIMER expires"},
		{4, 700, []int64{0, 700}, []int64{50, 5700}, "event in LONG_WAIT: SPF_TIMER with the long delay"},
		{4, 900, []int64{0, 700, 900}, []int64{50, 5700}, "event in LONG_WAIT while SPF_TIMER runs: it is left"},
		{5, 10700, []int64{0, 700}, []int64{50, 5700}, "HOLDDOWN_TIMER expires in LONG_WAIT"},
		{8, 50, []int64{0}, []int64{50}, "SPF_TIMER expires in SHORT_WAIT"},
		{9, 5700, []int64{0, 700}, []int64{50, 5700}, "SPF_TIMER expires in LONG_WAIT"},
	} {
		got := expect(t, section6(), c.events, c.runs)
		if !slices.Contains(got.Transitions, [2]int64{c.at * ms, c.number}) {
			t.Errorf("%s: no transition %d at %d ms in %v", c.name, c.number, c.at, got.Transitions)
		}
	}
}

// 5.4, transition 7: with a long delay above the hold-down SPF_TIMER runs on
// into QUIET and expires there, and an event in QUIET leaves it as it is.
func TestRFC8405Section5SPFTimerRunsOnIntoQuiet(t *testing.T) {
	p := section6()
	p.Long, p.TimeToLearn, p.Holddown = 5000*ms, 1000*ms, 3000*ms
	got := expect(t, p, []int64{0, 1500}, []int64{50, 6500})
	got.stateFrom(t, 4500, quietState)
	if !slices.Contains(got.Transitions, [2]int64{6500 * ms, 7}) {
		t.Errorf("%v", got.Transitions)
	}
	got = expect(t, p, []int64{0, 1500, 5000}, []int64{50, 6500})
	got.stateFrom(t, 5000, shortState)
	got.stateFrom(t, 6000, longState)
}

// 5.4, transition 6 (HOLDDOWN_TIMER expires in SHORT_WAIT) cannot happen while
// the hold-down exceeds the time to learn. By arithmetic; here on random events.
func TestRFC8405Section5TransitionSixNeverHappens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, events := drawMachine(t)
		for _, c := range watch(p, events).Transitions {
			if c[1] == 6 || c[1] == 0 {
				t.Fatalf("transition %d at %d ns", c[1], c[0])
			}
		}
	})
}

// 6: delays from 0 to at least 6,000 ms in whole milliseconds.
func TestRFC8405Section6RangeAndGranularity(t *testing.T) {
	for v := int64(0); v <= 6000; v++ {
		p := timer.SPF{Family: timer.RFC8405, Initial: v * ms, Short: v * ms, Long: v * ms, TimeToLearn: v * ms, Holddown: (v + 1) * ms}
		if err := p.Check(); err != nil {
			t.Fatal(v, err)
		}
		if got := watch(p, at(3)); got.Runs[0] != (3+v)*ms {
			t.Fatalf("delay of %d ms: run at %d ns", v, got.Runs[0])
		}
	}
}

// 6: INITIAL <= SHORT <= LONG is recommended, not required.
func TestRFC8405Section6OrderOfDelaysIsOnlyRecommended(t *testing.T) {
	p := section6()
	p.Initial, p.Short, p.Long = 300*ms, 200*ms, 100*ms
	if err := p.Check(); err != nil {
		t.Fatal(err)
	}
	expect(t, p, []int64{0, 310, 700}, []int64{300, 510, 800})
}

// drawMachine draws parameters and events on a coarse grid, so that instants
// meet.
func drawMachine(t *rapid.T) (timer.SPF, []int64) {
	grid := rapid.SampledFrom([]int64{ms, 50 * ms}).Draw(t, "grid")
	delay := func(name string, high int64) int64 { return grid * rapid.Int64Range(0, high).Draw(t, name) }
	p := timer.SPF{Family: timer.RFC8405, Initial: delay("initial", 4), Short: delay("short", 10), Long: delay("long", 60), TimeToLearn: delay("learn", 20)}
	p.Holddown = p.TimeToLearn + grid + delay("holddown above learn", 40)
	var events []int64
	now := int64(0)
	for range rapid.IntRange(0, 40).Draw(t, "events") {
		now += delay("gap", 30)
		events = append(events, now)
	}
	return p, events
}

// The machine keeps no LEARN and HOLDDOWN timers. Its twin does, and codes the
// transition table of section 5.4 row by row.
func TestRFC8405AgainstTheTransitionTable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, events := drawMachine(t)
		got, want := watch(p, events), table{p: p, spf: Never, learn: Never, hold: Never}.watch(events)
		same := slices.Equal(got.Runs, want.Runs) && slices.Equal(got.Delays, want.Delays)
		if p.TimeToLearn > 0 { // or SHORT_WAIT lasts no time, and has no name
			same = same && slices.Equal(got.States, want.States) && slices.Equal(got.Transitions, want.Transitions)
		}
		if !same {
			t.Fatalf("%+v, events %v:\n got %+v\nwant %+v", p, events, got, want)
		}
	})
}

// table is the machine of section 5.4 with all its timers.
type table struct {
	p                timer.SPF
	state            int
	spf, learn, hold int64
	out              seen
}

func (m *table) enter(now int64, state int, number int64) {
	m.out.Transitions = append(m.out.Transitions, [2]int64{now, number})
	if m.state != state {
		m.state = state
		m.out.States = append(m.out.States, [2]int64{now, int64(state)})
	}
}

func (m *table) start(now, delay int64) {
	if m.spf == Never {
		m.spf = now + delay
	}
}

func (m *table) event(now int64) {
	m.hold = now + m.p.Holddown
	switch m.state {
	case quietState:
		m.start(now, m.p.Initial)
		m.learn = now + m.p.TimeToLearn
		m.enter(now, shortState, 1)
	case shortState:
		m.start(now, m.p.Short)
		m.enter(now, shortState, 2)
	default:
		m.start(now, m.p.Long)
		m.enter(now, longState, 4)
	}
	m.out.Delays = append(m.out.Delays, m.spf-now)
}

func (m table) watch(events []int64) seen {
	for {
		next := min(m.spf, m.learn, m.hold)
		if len(events) > 0 && events[0] < next {
			m.event(events[0])
			events = events[1:]
			continue
		}
		switch next {
		case Never:
			return m.out
		case m.spf:
			m.spf = Never
			m.out.Runs = append(m.out.Runs, next)
			m.enter(next, m.state, int64(7+m.state))
		case m.learn:
			m.learn = Never
			m.enter(next, longState, 3)
		default:
			m.hold, m.learn = Never, Never
			m.enter(next, quietState, map[int]int64{longState: 5, shortState: 6}[m.state])
		}
	}
}
