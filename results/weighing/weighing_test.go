package weighing

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"halflight/results/stat"
	"halflight/sim/record"
)

const year = int64(365 * 86400e9)

// played is a year in each of some replications, in which leaves are over budget
// for these hours, with instruments that cost so much a year. Two gray faults: one
// is seen after 10 s and out of use after 20, the other in half the replications.
func played(cost float64, hours ...float64) *Played {
	p := &Played{Header: record.Header{Modes: []record.Mode{{Name: "dirt", Kind: "lossy", Gray: true}, {Name: "dead", Kind: "hard"}},
		Classes:     []record.Class{{Name: "calls", Budget: 1e-3, LeafHour: 2}},
		Instruments: []record.Instrument{{Name: "all of them", YearlyCost: cost}}, Prices: record.Prices{Currency: "shells", Visit: 1}}}
	for i, h := range hours {
		r := &record.Replication{Number: uint32(i), From: 5, To: 5 + year, Visits: 3, Averted: 73, FalseDrains: 146,
			Watched:      []record.Watched{{FalseAlarms: 365}},
			Applications: []record.Application{{SlowShare: h / 1e5, DegradedLeafHours: h}},
			Faults: []record.Fault{{Mode: 0, Sighted: 10e9, Mitigated: 20e9}, {Mode: 0, Sighted: record.None, Mitigated: record.None},
				{Mode: 1, Sighted: 1, Mitigated: 1}}}
		if i%2 == 0 {
			r.Faults[1].Sighted, r.Faults[1].Mitigated = 40e9, 50e9
		}
		p.Replications = append(p.Replications, r)
	}
	return p
}

// two instruments: a saves much, b a little that a saves too.
func two() (*Question, Evidence) {
	q := &Question{Scenario: "harbour", Seed: 7, Asked: 4, Horizon: year, Instruments: []string{"a", "b"}, Level: 0.95,
		Complaints: []float64{86400, 3600, 14400}, Bundles: []Bundle{{"pair", 3}}}
	return q, Evidence{
		{0, 0}: played(0, 100, 120, 80, 100), {1, 0}: played(50, 10, 30, 8, 12), {2, 0}: played(20, 95, 92, 78, 95), {3, 0}: played(70, 10, 28, 8, 12),
		// 24 h: a saves 120; 1 h: it loses 10, 4 h: it saves 30.
		{0, 1}: played(0, 20, 20.2, 19.8, 20), {1, 1}: played(50, 0, 0.1, 0, -0.1), {0, 2}: played(0, 40, 40.2, 39.8, 40), {1, 2}: played(50, 0, 0.1, 0, -0.1),
		{2, 1}: played(20, 20, 20, 20, 20), {2, 2}: played(20, 40, 40, 40, 40),
	}
}

func TestByHand(t *testing.T) {
	q, e := two()
	w := Weigh(q, e)
	a, b := &w.Alone[0], &w.Alone[1]
	near(t, "saving of a", a.Saving.Value, 2*(100-15)-50)
	near(t, "saving of b", b.Saving.Value, 2*(100-90)-20)
	near(t, "what a costs", a.CostSelf, 50)
	near(t, "leaf-hours a month", a.HoursSaved.Value, 85.0*30/365)
	near(t, "slow units avoided", a.SlowAvoided, 0.85)
	near(t, "budgets", a.BurnAvoided, 85e-5/1e-3)
	near(t, "price from which a pays", a.Price.Value, 50.0/85)
	near(t, "seen", *a.Seen, 0.75)
	near(t, "median", *a.SightMedian, 10)
	near(t, "averted a month", a.Averted, 73*30.0/365)
	near(t, "false drains a month", a.FalseDrains, 146*30.0/365)
	near(t, "false alarms a month", a.FalseAlarms, 30)
	if a.SightP95 != nil || a.Faults != 8 {
		t.Errorf("p95 %v of %d faults, want never of 8", a.SightP95, a.Faults)
	}
	// Seven intervals hold together at 95 %: each at 99.29 %.
	if w.Family != 2*2+1+1+1 {
		t.Errorf("family of %d", w.Family)
	}
	c := stat.Paired([]float64{203, 243, 163, 203}, []float64{73, 113, 69, 77}, 1-0.05/7)
	near(t, "low end", *a.Saving.Low, c.Difference.Low)
	near(t, "high end", *a.Saving.High, c.Difference.High)
	// The order: a, after which b adds nothing.
	if len(w.Order) != 1 || w.Order[0].Name != "a" || w.Order[0].Step != 1 {
		t.Errorf("order %+v", w.Order)
	}
	near(t, "b beside a", w.Beside[1].Saving.Value, 2*(15-14.5)-20)
	near(t, "what b costs beside a", w.Beside[1].CostSelf, 20)
	near(t, "a bundle", w.Bundles[0].Saving.Value, 2*(100-14.5)-70)
	if n := q.Next(e); n != nil {
		t.Errorf("to be played: %v", n)
	}
}

// a loses 10 a year at 1 h and gains 30 at 4 h: on a logarithmic scale the root
// lies a quarter of the way, at 1 h x 4^(1/4). b never pays.
func TestPatience(t *testing.T) {
	q, e := two()
	w := Weigh(q, e)
	p := w.Alone[0].Patience
	if p.Kind != "from" {
		t.Fatalf("%+v", p)
	}
	near(t, "time from which a pays", p.Value, 3600*math.Pow(4, 0.25))
	if p.Low == nil || p.High == nil || !(*p.Low < p.Value && p.Value < *p.High) {
		t.Errorf("interval %+v", p)
	}
	if k := w.Alone[1].Patience; k.Kind != "never" {
		t.Errorf("b: %+v", k)
	}
}

// At the ends of Fieller's interval the paired t statistic is just at its limit.
func TestPriceInterval(t *testing.T) {
	q, e := two()
	w := Weigh(q, e)
	level := 1 - 0.05/float64(w.Family)
	// All but the leaf-hours is constant here, so add some spread.
	for i, r := range e[Subset{Bits: 1}].Replications {
		r.Visits += int64(i)
	}
	a := &scale{q: q, e: e, level: level}
	got := a.price(e[Subset{}], e[Subset{Bits: 1}])
	hours, rest := []float64{90, 90, 72, 88}, []float64{50, 51, 52, 53}
	for _, price := range []float64{*got.Low, *got.High} {
		d := make([]float64, 4)
		for i := range d {
			d[i] = price*hours[i] - rest[i]
		}
		m := stat.Mean(d, level)
		if edge := math.Min(math.Abs(m.Low), math.Abs(m.High)); edge > 1e-9*math.Abs(m.High-m.Low) {
			t.Errorf("at %v the interval is %v to %v, want one end at 0", price, m.Low, m.High)
		}
	}
	if !(*got.Low < got.Value && got.Value < *got.High) {
		t.Errorf("%+v", got)
	}
}

// What is undecided says how many replications would settle it: as many as bring
// the half-width down to the mean, if the spread stays, and at least as many as a
// first look takes; after so few as four it is no more than a hint.
func TestUndecided(t *testing.T) {
	q, e := two()
	e[Subset{Bits: 2}] = played(20, 80, 112, 74, 86) // saves 24 or so, by chance
	w := Weigh(q, e)
	f := w.Alone[1].Saving
	n, ok := stat.ReplicationsFor(deviation(savings(e[Subset{}], e[Subset{Bits: 2}])), f.Value, 1-0.05/float64(w.Family))
	if f.Decided || !ok || f.Needed != max(n, stat.LookFirst) || n <= 4 {
		t.Errorf("%+v, want %d", f, n)
	}
	text := strings.Join(w.Sentences(), " ")
	if !strings.Contains(text, "4 replications decide nothing, whatever their intervals are: that takes at least 5.") || !strings.Contains(text, "4 replications are too few") {
		t.Error(text)
	}
	w.Replications = 6
	if text := strings.Join(w.Sentences(), " "); !strings.Contains(text, " replications or more would, but 6 tell little of how far they spread") {
		t.Error(text)
	}
}

// The same savings decide nothing of four replications, and something of five.
func TestFourDecideNothing(t *testing.T) {
	a := &scale{level: 0.95}
	values := []float64{100, 101, 99, 100.5, 99.5}
	for n, want := range map[int]bool{2: false, 4: false, 5: true} {
		f := a.figure(stat.Mean(values[:n], 0.95), values[:n])
		if f.Low == nil || *f.Low <= 0 || f.Decided != want || !want && f.Needed != stat.LookFirst {
			t.Errorf("of %d: %+v", n, f)
		}
	}
	q, e := two()
	if k := Weigh(q, e).Alone[0].Patience; k.Sure {
		t.Errorf("sure of four: %+v", k)
	}
}

// Two replications that hardly differ say that six would settle it: not before a
// first look at 20.
func TestNeededHasAFloor(t *testing.T) {
	a := &scale{level: 0.95}
	values := []float64{5, 0.5}
	f := a.figure(stat.Mean(values, 0.95), values)
	if n, _ := stat.ReplicationsFor(deviation(values), 2.75, 0.95); f.Decided || n >= stat.LookFirst || f.Needed != stat.LookFirst {
		t.Errorf("%+v, by arithmetic %d", f, n)
	}
}

// Without a gray fault in what is measured there is nothing to see, whatever is
// avoided of what older ones do; with few that is said too.
func TestNothingToSee(t *testing.T) {
	q, e := two()
	w := Weigh(q, e)
	if text := w.Sentences()[0]; !strings.HasPrefix(text, "Only 8 gray faults") {
		t.Error(text)
	}
	for _, p := range e {
		for _, r := range p.Replications {
			r.Faults = r.Faults[2:]
		}
	}
	w = Weigh(q, e)
	if text := w.Sentences()[0]; !strings.HasPrefix(text, "No gray fault began") || w.Alone[0].Seen != nil || w.Alone[0].SlowAvoided < 0.8 {
		t.Errorf("%s: seen %v", text, w.Alone[0].Seen)
	}
}

func TestFirstPlaysEachOnce(t *testing.T) {
	q := &Question{Instruments: []string{"a", "b"}, Complaints: []float64{2, 1}, Bundles: []Bundle{{"x", 3}, {"y", 1}}}
	want := []Subset{{0, 0}, {1, 0}, {2, 0}, {3, 0}, {0, 1}, {1, 1}, {2, 1}}
	got := q.First()
	if len(got) != len(want) {
		t.Fatalf("%v", got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%v, want %v", got, want)
		}
	}
	// With three, the order asks for more once the first is bought.
	q = &Question{Instruments: []string{"a", "b", "c"}}
	e := Evidence{{}: played(0, 100, 100), {Bits: 1}: played(1, 10, 11), {Bits: 2}: played(1, 50, 52), {Bits: 4}: played(1, 99, 99)}
	if got := q.Next(e); len(got) != 2 || got[0].Bits != 3 || got[1].Bits != 5 {
		t.Errorf("%v, want a with b and a with c", got)
	}
}

func TestJSONHoldsAll(t *testing.T) {
	q, e := two()
	var b bytes.Buffer
	if err := Weigh(q, e).WriteJSON(&b); err != nil {
		t.Fatal(err)
	}
	var out struct {
		Halflight string
		Alone     []struct {
			Name   string
			Saving struct{ Value float64 }
		}
		Beside, Bundles, Order []any
		Sentences              []string
		ComplaintTimes         []float64 `json:"complaint_times"`
	}
	if err := json.Unmarshal(b.Bytes(), &out); err != nil {
		t.Fatal(err)
	}
	if out.Halflight != "weighing" || len(out.Alone) != 2 || out.Alone[0].Saving.Value != 120 || len(out.Beside) != 2 || len(out.Bundles) != 1 ||
		len(out.Order) != 1 || len(out.Sentences) < 4 || len(out.ComplaintTimes) != 3 {
		t.Errorf("%+v", out)
	}
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-9*math.Max(1, math.Abs(want))) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}
