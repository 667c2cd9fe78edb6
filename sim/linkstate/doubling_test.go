package linkstate

import (
	"encoding/json"
	"os"
	"slices"
	"testing"

	"halflight/model/timer"
)

// climb drives one machine of another family than RFC 8405 through triggers
// (ns) and returns, for each, the instant of the run that takes it in, the delay
// it started (-1 if it joined one) and the state it found.
func climb(p timer.SPF, triggers []int64) (runs, delays []int64, states []int) {
	var b backoff
	b.reset(&p, 0)
	for _, t := range triggers {
		for b.spfAt <= t {
			b.expire(&p, b.spfAt, nil)
		}
		state, _ := b.stateAt(&p, t)
		delay := int64(-1)
		if at := b.event(&p, t); at != Never {
			delay = at - t
		}
		runs, delays, states = append(runs, b.spfAt), append(delays, delay), append(states, state)
	}
	return runs, delays, states
}

// Every vector of testdata/doubling.json, of which two are RFC 8541, Table 2.
// The delay of a trigger in the first state is the one that the state gives.
func TestDoublingVectors(t *testing.T) {
	var file struct {
		Source  string
		Vectors []struct {
			Name, Form string
			Params     struct{ First, Inc, Maxd, Wait, Rapid, Runs, Slow int64 }
			Triggers   []int64 `json:"triggers_ms"`
			Result     []struct {
				T     int64
				Delay *int64
				Run   int64
				Mode  string
			}
		}
	}
	text, err := os.ReadFile("testdata/doubling.json")
	if err == nil {
		err = json.Unmarshal(text, &file)
	}
	if err != nil || len(file.Vectors) != 10 || file.Source == "" {
		t.Fatal(err, len(file.Vectors))
	}
	modes := map[string]int{"fast": 0, "back-off": 1, "rapid": 0, "slow": 1}
	for _, v := range file.Vectors {
		q := v.Params
		p := timer.SPF{Family: map[string]timer.Family{"doubling_A": timer.DoublingA, "doubling_B": timer.DoublingB, "two_step": timer.TwoStep}[v.Form],
			First: q.First * ms, Incremental: q.Inc * ms, Maximum: q.Maxd * ms, Rapid: q.Rapid * ms, RapidRuns: int(q.Runs), Slow: q.Slow * ms, Wait: q.Wait * ms}
		if p.Family == timer.RFC8405 || len(v.Result) != len(v.Triggers) {
			t.Fatalf("%s: %q, %d results of %d triggers", v.Name, v.Form, len(v.Result), len(v.Triggers))
		}
		runs, delays, states := climb(p, at(v.Triggers...))
		for i, want := range v.Result {
			delay := int64(-1)
			if want.Delay != nil {
				delay = *want.Delay * ms
			}
			if want.T != v.Triggers[i] || runs[i] != want.Run*ms || delays[i] != delay {
				t.Errorf("%s: trigger at %d ms: run %d, delay %d ns; want %d and %d", v.Name, v.Triggers[i], runs[i], delays[i], want.Run*ms, delay)
			}
			if mode, known := modes[want.Mode]; known && states[i] != mode {
				t.Errorf("%s: trigger at %d ms finds state %d, want %s", v.Name, want.T, states[i], want.Mode)
			} else if !known && want.Mode != "absorbed" {
				t.Errorf("%s: mode %q", v.Name, want.Mode)
			}
		}
	}
}

// RFC 8541, Table 2, as printed: delays of router E (doubling, 150/150/1000) and
// of router S (two steps, 3 runs of 150, then 1000) after events at 10, 214 (S:
// 212), 410 and 1010 ms. The computations start up to 9 ms later than event plus
// delay in print; the delays are what is compared.
func TestRFC8541Table2(t *testing.T) {
	e := timer.SPF{Family: timer.DoublingA, First: 150 * ms, Incremental: 150 * ms, Maximum: 1000 * ms, Wait: 2000 * ms}
	if _, delays, _ := climb(e, at(10, 214, 410, 1010)); !slices.Equal(delays, at(150, 150, 300, 600)) {
		t.Errorf("router E: %v", delays)
	}
	s := timer.SPF{Family: timer.TwoStep, Rapid: 150 * ms, RapidRuns: 3, Slow: 1000 * ms, Wait: 2000 * ms}
	if _, delays, _ := climb(s, at(10, 212, 410, 1010)); !slices.Equal(delays, at(150, 150, 150, 1000)) {
		t.Errorf("router S: %v", delays)
	}
}

// A quiet time of 300 ms, shorter than the delays of 400 ms and more: RFC 8541, section
// 5, gives none for its tables, which any of more than 600 ms fits. It ends while the
// timer runs, and counts once the run is over. By hand: form a doubles from 200 to 400 ms
// for the event at 350 ms, is at rest for those at 1100 and 2100 ms, and doubles again for
// that at 1600 ms; form b spaces runs by 200, 400, 200 and 400 ms.
func TestQuietTimeBelowTheLongestDelay(t *testing.T) {
	events := at(0, 100, 350, 1100, 1200, 1390, 1600, 2100)
	for form, want := range map[timer.Family][]int64{
		timer.DoublingA: at(50, 300, 750, 1150, 1400, 1400, 2000, 2150),
		timer.DoublingB: at(50, 250, 650, 1150, 1350, 1750, 1750, 2150),
	} {
		p := timer.SPF{Family: form, First: 50 * ms, Incremental: 200 * ms, Maximum: 5000 * ms, Wait: 300 * ms}
		if runs, _, _ := climb(p, events); !slices.Equal(runs, want) {
			t.Errorf("family %d: runs %v, want %v", form, runs, want)
		}
	}
}

func steps() timer.SPF {
	return timer.SPF{Family: timer.TwoStep, Rapid: 50 * ms, RapidRuns: 3, Slow: 5000 * ms, Wait: 10000 * ms}
}

// RFC 8541, section 4.1 (two steps): rapid delay for a number of runs, then the
// slow delay, until no trigger came for the wait time.
func TestRFC8541Section41TwoStep(t *testing.T) {
	runs, delays, states := climb(steps(), at(0, 100, 200, 300, 400, 5300, 15299, 25299))
	if !slices.Equal(delays, []int64{50 * ms, 50 * ms, 50 * ms, 5000 * ms, -1, 5000 * ms, 5000 * ms, 50 * ms}) ||
		!slices.Equal(runs, at(50, 150, 250, 5300, 5300, 10300, 20299, 25349)) || !slices.Equal(states, []int{0, 0, 0, 1, 1, 1, 1, 0}) {
		t.Errorf("runs %v, delays %v, states %v", runs, delays, states)
	}
}

// RFC 8541, section 4.2 (doubling): the first delay, then the incremental one,
// doubled by every run up to the maximum, until no trigger came for the wait
// time. A trigger that joins a wait counts as one: 14,500 is 9,500 after it.
func TestRFC8541Section42Doubling(t *testing.T) {
	p := timer.SPF{Family: timer.DoublingA, First: 50 * ms, Incremental: 200 * ms, Maximum: 1000 * ms, Wait: 10000 * ms}
	_, delays, _ := climb(p, at(0, 100, 400, 900, 2000, 4000, 5000, 14500, 24500))
	if want := []int64{50 * ms, 200 * ms, 400 * ms, 800 * ms, 1000 * ms, 1000 * ms, 1000 * ms, 1000 * ms, 50 * ms}; !slices.Equal(delays, want) {
		t.Errorf("delays %v", delays)
	}
	if _, delays, _ = climb(p, at(0, 100, 150, 10149, 20149)); !slices.Equal(delays, []int64{50 * ms, 200 * ms, -1, 400 * ms, 50 * ms}) {
		t.Errorf("a trigger that joined: delays %v", delays)
	}
}

// Form B: a run at the later of trigger plus first delay and run before plus
// spacing; the spacing begins at the incremental delay and doubles per run in
// back-off. Our own definition (common practice, no source).
func TestDoublingFormB(t *testing.T) {
	p := timer.SPF{Family: timer.DoublingB, First: 50 * ms, Incremental: 200 * ms, Maximum: 1000 * ms, Wait: 10000 * ms}
	runs, delays, _ := climb(p, at(0, 60, 300, 700, 1460, 1500, 2600, 12599, 22599))
	// 250 = 50+200; 650 = 250+400; 1450 = 650+800; 2450 = 1450+1000; 3450 =
	// 2450+1000; 12649 has spacing to spare; quiet at 22599.
	if !slices.Equal(runs, at(50, 250, 650, 1450, 2450, 2450, 3450, 12649, 22649)) || delays[5] != -1 || delays[8] != 50*ms {
		t.Errorf("runs %v, delays %v", runs, delays)
	}
	if runs, _, _ = climb(p, at(0, 10060, 10120, 10400)); !slices.Equal(runs, at(50, 10110, 10310, 10710)) {
		t.Errorf("after quiet: %v", runs) // the spacing begins at 200 again
	}
}

// A machine that begins in its last state (every family): the timers that lead
// out of it started at 0; no run is pending. Form B: its last run was at 0.
func TestLastState(t *testing.T) {
	a := timer.SPF{Family: timer.DoublingA, First: 50 * ms, Incremental: 200 * ms, Maximum: 5000 * ms, Wait: 10000 * ms}
	b := a
	b.Family = timer.DoublingB
	for _, c := range []struct {
		p           timer.SPF
		at, run     int64
		state, name string
	}{
		{section6(), 0, 5000, "LONG_WAIT", "rfc8405 at once"}, {section6(), 9999, 14999, "LONG_WAIT", "rfc8405 before hold-down"},
		{section6(), 10000, 10050, "QUIET", "rfc8405 at hold-down"}, {section3(), 2999, 4999, "LONG_WAIT", "rfc8405, section 3"},
		{a, 0, 5000, "BACK_OFF", "form a at once"}, {a, 9999, 14999, "BACK_OFF", "form a before quiet"}, {a, 10000, 10050, "FAST", "form a at quiet"},
		{b, 0, 5000, "BACK_OFF", "form b at once"}, {b, 4000, 5000, "BACK_OFF", "form b, spacing"}, {b, 6000, 6050, "BACK_OFF", "form b, spaced enough"},
		{b, 10000, 10050, "FAST", "form b at quiet"},
		{steps(), 0, 5000, "SLOW", "two steps at once"}, {steps(), 9999, 14999, "SLOW", "two steps before quiet"}, {steps(), 10000, 10050, "RAPID", "two steps at quiet"},
	} {
		var m backoff
		m.reset(&c.p, 0)
		m.wind(&c.p)
		if m.spfAt != Never {
			t.Errorf("%s: a run is pending", c.name)
		}
		s, _ := m.stateAt(&c.p, c.at*ms)
		if got := m.event(&c.p, c.at*ms); got != c.run*ms || c.p.Family.States()[s] != c.state {
			t.Errorf("%s: event at %d ms in %s: run at %d ns; want %s, %d ms", c.name, c.at, c.p.Family.States()[s], got, c.state, c.run)
		}
	}
}

// LSP generation (the doubling of RFC 8541, section 4.2; RFC 8333, section 5.1,
// has it for LSPs): 50 ms, then 100 ms doubled per LSP up to 2 s, until no
// change was asked for during 4 s; a gap of 4 s is quiet. Changes that join a
// wait are absorbed, and count as asked for.
func TestLSPGenerationBackoff(t *testing.T) {
	p := timer.Doubling{First: 50 * ms, Incremental: 100 * ms, Maximum: 2000 * ms, Wait: 4000 * ms}
	for _, c := range []struct {
		name       string
		asked, out []int64 // ms; out: origination by change, -1 where it joins
	}{
		{"one", []int64{0}, []int64{50}},
		{"two in one wait", []int64{0, 49}, []int64{50, -1}},
		{"at the expiry: a new one", []int64{0, 50}, []int64{50, 150}},
		{"ladder", []int64{0, 50, 150, 350, 750, 1550, 3150, 5150}, []int64{50, 150, 350, 750, 1550, 3150, 5150, 7150}},
		{"quiet at 4 s", []int64{0, 60, 4060}, []int64{50, 160, 4110}},
		{"not quiet before", []int64{0, 60, 4059}, []int64{50, 160, 4259}},
		{"a change that joined counts", []int64{0, 60, 150, 4149}, []int64{50, 160, -1, 4349}},
		{"and from it 4 s are quiet", []int64{0, 60, 150, 4150}, []int64{50, 160, -1, 4200}},
		{"after quiet the ladder begins anew", []int64{0, 60, 200, 5000, 5060, 5200}, []int64{50, 160, 400, 5050, 5160, 5400}},
	} {
		g := newGeneration(&p)
		for i, now := range at(c.asked...) {
			if g.at <= now {
				g.expire(&p)
			}
			want := c.out[i] * ms
			if c.out[i] < 0 {
				want = Never
			}
			if got := g.ask(&p, now); got != want {
				t.Errorf("%s: change at %d ms: originated at %d ns, want %d ms", c.name, c.asked[i], got, c.out[i])
			}
		}
	}
}
