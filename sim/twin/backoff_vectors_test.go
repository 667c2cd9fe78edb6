package twin

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// drive feeds a machine triggers (ms) and returns the instants of its runs (ms).
// At one instant timers come first: SPF, LEARN, HOLDDOWN, quiet, then the trigger.
func drive(m machine, triggers []int64) (runs []int64, states []string) {
	set := noTimers
	take := func(next timers) {
		for i, p := range []*int64{&set.spf, &set.learn, &set.holddown, &set.quiet} {
			if v := []int64{next.spf, next.learn, next.holddown, next.quiet}[i]; v >= 0 {
				*p = v
			}
		}
	}
	note := func(t int64) {
		if n := len(states); n == 0 || !strings.HasPrefix(states[n-1], m.state+" ") {
			states = append(states, fmt.Sprint(m.state, " ", t/1e6))
		}
	}
	expire := func(now int64) {
		if set.spf == now {
			m.spfExpires(now)
			runs = append(runs, now/1e6)
			set.spf = -1
		}
	}
	for now := int64(0); now <= 80000e6; now += 1e6 {
		expire(now)
		if set.learn == now {
			m.learnExpires()
		}
		if set.holddown == now {
			m.holddownExpires()
		}
		if set.quiet == now {
			m.quietExpires()
		}
		note(now)
		for _, t := range triggers {
			if t*1e6 == now {
				take(m.igpEvent(now))
				note(now)
			}
		}
		expire(now) // a delay of 0: the next round
	}
	return runs, states
}

func machineOf(spf string) machine {
	scn, err := parseScenario([]byte(`{"timers": {"spf": ` + spf + `}}`))
	if err != nil {
		panic(err)
	}
	return newMachine(&scn.Timers.SPF)
}

func every(step, last int64) []int64 {
	var out []int64
	for t := int64(0); t <= last; t += step {
		out = append(out, t)
	}
	return out
}

// TestMachines holds the SPF machines against worked timelines.
func TestMachines(t *testing.T) {
	const (
		// Parameters of RFC 8405 section 6, timelines worked by hand from its section 5.
		section6 = `{"rfc8405": {"initial_delay": "50ms", "short_delay": "200ms", "long_delay": "5s", "time_to_learn": "500ms", "holddown": "10s"}}`
		long     = `{"rfc8405": {"initial_delay": "50ms", "short_delay": "200ms", "long_delay": "5s", "time_to_learn": "1s", "holddown": "3s"}}`
		// The example values of RFC 8405 section 3.
		section3 = `{"rfc8405": {"initial_delay": "0s", "short_delay": "100ms", "long_delay": "2s", "time_to_learn": "1s", "holddown": "3s"}}`
		// RFC 8541 Table 2, routers E and S.
		routerE = `{"doubling": {"form": "a", "first_delay": "150ms", "incremental_delay": "150ms", "maximum_delay": "1s", "wait_time": "2s"}}`
		routerS = `{"two_step": {"rapid_delay": "150ms", "rapid_runs": 3, "slow_delay": "1s", "wait_time": "2s"}}`
		formA   = `{"doubling": {"form": "a", "first_delay": "50ms", "incremental_delay": "200ms", "maximum_delay": "5s", "wait_time": "10s"}}`
		formB   = `{"doubling": {"form": "b", "first_delay": "50ms", "incremental_delay": "200ms", "maximum_delay": "5s", "wait_time": "10s"}}`
	)
	for _, c := range []struct {
		name, spf string
		triggers  []int64
		runs      []int64
	}{
		{"T1", section6, []int64{0}, []int64{50}},
		{"T2", section6, []int64{0, 30, 120, 180, 400}, []int64{50, 320, 600}},
		{"T3", section6, []int64{0, 2000}, []int64{50, 7000}},
		{"T4", section6, []int64{0, 9000, 18000, 20000, 27000}, []int64{50, 14000, 23000, 32000}},
		{"T5", section6, []int64{0, 9000, 18000, 24000, 27000}, []int64{50, 14000, 23000, 29000}},
		{"T6", section6, []int64{0, 11000, 22000}, []int64{50, 11050, 22050}},
		{"T7", section6, []int64{0, 11000, 16000, 22000}, []int64{50, 11050, 21000, 27000}},
		{"T8", section6, every(200, 2000), []int64{50, 400, 600, 5600}},
		{"T9", long, []int64{0, 1500, 5000}, []int64{50, 6500}},
		{"T10", section3, []int64{0, 40, 1500}, []int64{0, 140, 3500}},
		{"T11", section6, []int64{0, 10000}, []int64{50, 10050}},
		{"RFC 8541 Table 2 E", routerE, []int64{10, 214, 410, 1010}, []int64{160, 364, 710, 1610}},
		{"RFC 8541 Table 2 S", routerS, []int64{10, 212, 410, 1010}, []int64{160, 362, 560, 2010}},
		{"A1", formA, []int64{0}, []int64{50}},
		{"A2", formA, every(100, 13000), []int64{50, 300, 700, 1500, 3100, 6300, 11300, 16300}},
		{"A3", formA, every(9000, 72000), []int64{50, 9200, 18400, 27800, 37600, 48200, 59000, 68000, 77000}},
		{"A4", formA, every(10000, 70000), []int64{50, 10050, 20050, 30050, 40050, 50050, 60050, 70050}},
		{"B1", formB, every(9000, 72000), []int64{50, 9050, 18050, 27050, 36050, 45050, 54050, 63050, 72050}},
		{"B2", formB, every(100, 13000), []int64{50, 250, 650, 1450, 3050, 6250, 11250, 16250}},
		{"B3", formB, []int64{0, 60, 300, 700, 1000}, []int64{50, 250, 650, 1450}},
	} {
		if runs, _ := drive(machineOf(c.spf), c.triggers); !slices.Equal(runs, c.runs) {
			t.Errorf("%s: runs at %v ms, want %v", c.name, runs, c.runs)
		}
	}
	for _, c := range []struct {
		name, spf string
		triggers  []int64
		states    []string
	}{
		{"T1", section6, []int64{0}, []string{"QUIET 0", "SHORT_WAIT 0", "LONG_WAIT 500", "QUIET 10000"}},
		{"T2", section6, []int64{0, 30, 120, 180, 400}, []string{"QUIET 0", "SHORT_WAIT 0", "LONG_WAIT 500", "QUIET 10400"}},
		{"T7", section6, []int64{0, 11000, 16000, 22000}, []string{"QUIET 0", "SHORT_WAIT 0", "LONG_WAIT 500", "QUIET 10000", "SHORT_WAIT 11000", "LONG_WAIT 11500", "QUIET 32000"}},
		{"T10", section3, []int64{0, 40, 1500}, []string{"QUIET 0", "SHORT_WAIT 0", "LONG_WAIT 1000", "QUIET 4500"}},
	} {
		if _, states := drive(machineOf(c.spf), c.triggers); !slices.Equal(states, c.states) {
			t.Errorf("%s: states %v, want %v", c.name, states, c.states)
		}
	}
}
