package linkstate

import (
	"encoding/json"
	"os"
	"slices"
	"testing"

	"halflight/model/timer"
)

const ms = int64(1e6)

// section6 are the default values of RFC 8405, section 6.
func section6() timer.SPF {
	return timer.SPF{Family: timer.RFC8405, Initial: 50 * ms, Short: 200 * ms, Long: 5000 * ms, TimeToLearn: 500 * ms, Holddown: 10000 * ms}
}

// section3 are the example values of RFC 8405, section 3; of the short delay's
// 50 to 100 ms the larger.
func section3() timer.SPF {
	return timer.SPF{Family: timer.RFC8405, Initial: 0, Short: 100 * ms, Long: 2000 * ms, TimeToLearn: 1000 * ms, Holddown: 3000 * ms}
}

// history of one machine: what the standard lets an observer see.
type seen struct {
	Runs        []int64    // instants of routing table computations
	States      [][2]int64 // instant, state entered
	Transitions [][2]int64 // instant, number in RFC 8405, section 5.4
	Delays      []int64    // of each event, to the run that takes it in
}

// watch drives one machine through events (ns, in order) and on until all its
// timers have expired. Timers come before events of the same instant.
func watch(p timer.SPF, events []int64) seen {
	var b backoff
	b.reset(&p, 0)
	var out seen
	now, state, pending := int64(0), 0, 0
	for {
		_, until := b.stateAt(&p, now)
		event := Never
		if pending < len(events) {
			event = events[pending]
		}
		next := min(b.spfAt, until, event)
		if next == Never {
			return out
		}
		switch {
		case b.spfAt == next:
			out.Runs = append(out.Runs, next)
			out.Transitions = append(out.Transitions, [2]int64{next, int64(7 + state)})
			b.expire(&p, next, nil)
			if until > next {
				now = next
			}
			continue
		case until == next:
			now = next
			was := state
			state, _ = b.stateAt(&p, now)
			out.States = append(out.States, [2]int64{now, int64(state)})
			out.Transitions = append(out.Transitions, [2]int64{now, map[[2]int]int64{{1, 2}: 3, {2, 0}: 5, {1, 0}: 6}[[2]int{was, state}]})
			continue
		}
		now = event
		pending++
		out.Transitions = append(out.Transitions, [2]int64{now, [3]int64{1, 2, 4}[state]})
		b.event(&p, now)
		out.Delays = append(out.Delays, b.spfAt-now)
		if is, _ := b.stateAt(&p, now); is != state {
			state = is
			out.States = append(out.States, [2]int64{now, int64(state)})
		}
	}
}

// at makes instants of milliseconds.
func at(instants ...int64) []int64 {
	out := make([]int64, len(instants))
	for i, t := range instants {
		out[i] = t * ms
	}
	return out
}

// every returns events at from, from+step, ... not after to, in ms.
func every(from, step, to int64) []int64 {
	var out []int64
	for t := from; t <= to; t += step {
		out = append(out, t*ms)
	}
	return out
}

const quietState, shortState, longState = 0, 1, 2

// expect plays events (ms) and compares the instants (ms) of the runs.
func expect(t *testing.T, p timer.SPF, events, runs []int64) seen {
	t.Helper()
	got := watch(p, at(events...))
	if !slices.Equal(got.Runs, at(runs...)) {
		t.Errorf("events at %v ms: runs at %v ns, want %v ms", events, got.Runs, runs)
	}
	return got
}

func (s seen) stateFrom(t *testing.T, instant int64, state int) {
	t.Helper()
	if !slices.Contains(s.States, [2]int64{instant * ms, int64(state)}) {
		t.Errorf("state %d is not entered at %d ms: %v", state, instant, s.States)
	}
}

// Every worked timeline of testdata/rfc8405.json: runs, states, transitions by
// number, and the delay that each event meets.
func TestRFC8405Vectors(t *testing.T) {
	var file struct {
		Source  string
		Vectors []struct {
			Name        string
			Params      struct{ Initial, Short, Long, Learn, Hold int64 }
			Events      []int64    `json:"events_ms"`
			Runs        []int64    `json:"spf_runs_ms"`
			States      [][2]any   `json:"state_changes"`
			Transitions [][2]int64 `json:"transitions"`
			Delays      [][2]int64 `json:"delays_ms"`
		}
	}
	text, err := os.ReadFile("testdata/rfc8405.json")
	if err == nil {
		err = json.Unmarshal(text, &file)
	}
	if err != nil || len(file.Vectors) != 11 || file.Source == "" {
		t.Fatal(err, len(file.Vectors))
	}
	for _, v := range file.Vectors {
		p := timer.SPF{Family: timer.RFC8405, Initial: v.Params.Initial * ms, Short: v.Params.Short * ms, Long: v.Params.Long * ms,
			TimeToLearn: v.Params.Learn * ms, Holddown: v.Params.Hold * ms}
		got := watch(p, at(v.Events...))
		var want seen
		want.Runs = at(v.Runs...)
		for _, c := range v.States {
			s := slices.Index(p.Family.States(), c[1].(string))
			want.States = append(want.States, [2]int64{int64(c[0].(float64)) * ms, int64(s)})
		}
		for _, c := range v.Transitions {
			want.Transitions = append(want.Transitions, [2]int64{c[0] * ms, c[1]})
		}
		for i, d := range v.Delays {
			if d[0] != v.Events[i] {
				t.Fatalf("%s: delay %v is of another event", v.Name, d)
			}
			want.Delays = append(want.Delays, d[1]*ms)
		}
		if !slices.Equal(got.Runs, want.Runs) || !slices.Equal(got.States, want.States) || !slices.Equal(got.Delays, want.Delays) {
			t.Errorf("%s:\n got %+v\nwant %+v", v.Name, got, want)
		}
		if !slices.Equal(got.Transitions, want.Transitions) {
			t.Errorf("%s: transitions\n got %v\nwant %v", v.Name, got.Transitions, want.Transitions)
		}
	}
}
