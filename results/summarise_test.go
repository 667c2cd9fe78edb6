package results

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"halflight/results/lines"
	"halflight/results/stat"
	"halflight/sim/record"
)

func measure(t *testing.T, s *Summary, name string) *Measure {
	t.Helper()
	m, ok := s.Find(name)
	if !ok {
		t.Fatalf("no measure %s", name)
	}
	return m
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b)) }

// handSet is three replications of two months, worked out by hand below.
func handSet() *Set {
	s := testSet(3)
	r := s.Replications
	r[0].Onsets, r[1].Onsets, r[2].Onsets = []int64{4, 2, 0}, []int64{6, 0, 0}, []int64{2, 1, 0}
	// [mode][phase]: unnoticed, spf_wait, stranded
	r[0].LostSeconds = [][]float64{{0, 2, 10}, {6, 0, 0}, {0, 0, 0}}
	r[1].LostSeconds = [][]float64{{0, 4, 0}, {0, 0, 0}, {0, 0, 0}}
	r[2].LostSeconds = [][]float64{{0, 0, 0}, {30, 0, 0}, {0, 0, 0}}
	r[0].Present, r[1].Present, r[2].Present = []float64{1, 0.5, 0}, []float64{2, 0, 0}, []float64{3, 0.1, 0}
	r[0].Unseen, r[1].Unseen, r[2].Unseen = []float64{0, 0.25, 0}, []float64{0, 0, 0}, []float64{0, 0.05, 0}
	long := record.Burn{Most: record.None, MostLeaf: record.None}
	r[0].Applications[0] = record.Application{SlowShare: 1e-4, WorstLeaf: 5e-4, P99Leaf: 4e-4, DegradedLeafHours: 6,
		Burn: []record.Burn{{Most: 20, MostLeaf: 80, Above: 3600e9, LeafAbove: 4 * 3600e9}, long}, Late: []float64{1e-4, 2e-7}}
	r[1].Applications[0] = record.Application{SlowShare: 2e-4, WorstLeaf: 6e-4, P99Leaf: 2e-4, DegradedLeafHours: 0,
		Burn: []record.Burn{{Most: 10, MostLeaf: 30, LeafAbove: 2 * 3600e9}, long}, Late: []float64{2e-4, 1e-7}}
	r[2].Applications[0] = record.Application{SlowShare: 6e-4, WorstLeaf: 1e-3, P99Leaf: 9e-4, DegradedLeafHours: 3,
		Burn: []record.Burn{{Most: 15, MostLeaf: 90, Above: 5 * 3600e9, LeafAbove: 6 * 3600e9}, long}, Late: []float64{6e-4, 3e-7}}
	router := r[0].RouterTime
	r[0].StateTime = []float64{router / 2, router / 4, router / 4}
	r[1].StateTime = []float64{router, 0, 0}
	r[2].StateTime = []float64{router / 2, 0, router / 2}
	// Ten routers for 60 days are 14,400 router-hours.
	r[0].SPFRuns, r[1].SPFRuns, r[2].SPFRuns = 14400, 28800, 0
	r[0].BusyWorst10s, r[1].BusyWorst10s, r[2].BusyWorst10s = 0.1, 0.3, 0.2
	r[0].CapacityWorst, r[1].CapacityWorst, r[2].CapacityWorst = 0.75, 0.5, 1
	r[0].HandsOn, r[1].HandsOn, r[2].HandsOn = 0.5, 1.5, 1
	r[0].FalseDrains, r[1].FalseDrains = 2, 1
	// Half the time of replication 0 at 50 ms, half running down from 5 s.
	r[0].Waits = []record.Wait{{From: 50 * testMs, To: 50 * testMs, Total: 5000e6 * 100}, {From: 5000 * testMs, To: 0, Count: 100}}
	r[0].WaitMean = 1.275e9
	for i, f := range handFaults() {
		f.Index = int32(i)
		r[i%3].Faults = append(r[i%3].Faults, f)
	}
	return s
}

func handFaults() []record.Fault {
	list := make([]record.Fault, 9)
	for i := range list {
		f := testFault(30*testDay + int64(i)*1e9)
		f.FullConvergence = int64(i+1) * 100 * testMs // 0.1 to 0.9 s
		f.RouteLoss, f.SPFWait = int64(i)*10*testMs, int64(i)*testMs
		f.Pairs, f.Touched = int32(2*i), int32(i+1)
		if i >= 5 {
			f.Background = record.Noise
		}
		list[i] = f
	}
	list[8].Background = record.Same
	list[3].FullConvergence, list[3].SPFWait = record.None, record.None
	list[1].Mode, list[1].FullConvergence, list[1].Sighted, list[1].Mitigated = 1, record.None, 600e9, 900e9
	list[2].Mode, list[2].FullConvergence, list[2].Sighted = 1, record.None, 1200e9
	list[4].Mode, list[4].FullConvergence = 1, record.None
	list[0].LostSeconds, list[0].Phases = 12, []float64{0, 2, 10}
	list[1].LostSeconds, list[1].Phases = 6, []float64{6, 0, 0}
	return list
}

func TestValuesByHand(t *testing.T) {
	s := Summarise(handSet(), Options{})
	for name, want := range map[string]float64{
		// Two months each: (18 - 10 + 4 + 30) / 3 / 2 and so on.
		"lost_seconds.avoidable":       7,
		"lost_seconds.stranded":        10.0 / 6,
		"lost_seconds.kind.hard":       16.0 / 6,
		"lost_seconds.kind.lossy":      6,
		"lost_seconds.phase.unnoticed": 6,
		"lost_seconds.phase.spf_wait":  1,
		"lost_seconds.phase.stranded":  10.0 / 6,

		"app.calls.slow_share":            3e-4,
		"app.calls.slow_share.worst_leaf": 7e-4,
		"app.calls.slow_share.p99_leaf":   5e-4,
		"app.calls.budget_burn":           0.3,
		"app.calls.degraded_leaf_hours":   1.5,
		"app.copies.slow_share":           0,

		// 6 h in three times two months; 12 h, summed over leaves.
		"app.calls.burn.1h.above":      1,
		"app.calls.burn.1h.leaf.above": 2,
		"app.calls.burn.1h.max":        20,
		"app.calls.burn.1h.leaf.max":   90,
		"app.calls.late.600ms":         2e-7,
		// 200 ms, and 400 ms more for 2 in 1,000, and twice for 1 in 2,000.
		"app.calls.delay.mean": 0.2004,
		"app.calls.delay.p99":  0.2,

		// Times known: 0.1, 0.6, 0.7, 0.8, 0.9 s.
		"full_convergence.median":        0.7,
		"full_convergence.max":           0.9,
		"full_convergence.p95":           0.88,
		"full_convergence.quiet.median":  0.1,
		"full_convergence.noise.median":  0.7,
		"full_convergence.noise.max":     0.8,
		"full_convergence.kind.hard.p99": 0.896,
		"route_loss.median":              0.04,
		"route_loss.max":                 0.08,
		"spf_wait.median":                0.0045,

		"backoff.quiet":      2.0 / 3,
		"backoff.short_wait": 0.25 / 3,
		"backoff.long_wait":  0.25,

		"faults.optic-dead":   2, // 12 in 6 months
		"faults.optic-dirty":  0.5,
		"faults.optic-old":    0,
		"present.optic-dead":  2,
		"present.optic-dirty": 0.2,
		"unseen.optic-dirty":  0.1,
		"unnoticed.median":    900,
		"mitigation.median":   900,
		"mitigation.max":      900,

		"blast.pairs.median":   8.0 / 20,
		"blast.pairs.max":      16.0 / 20,
		"blast.routers.median": 0.5,
		"spf_runs":             1,
		"busy.worst10s":        0.3,
		"capacity.worst":       0.5,
		"false_drains":         0.5,
		"technicians.offered":  1,

		"wait_now.mean": (1.275 + 0.05 + 0.05) / 3,
		"wait_now.max":  5,
		// The 100 timers of replication 0 spend 5e11 ns each; of these 99 % run above
		// 50 ms, by 2.475 s on average: half of replication 0, nothing of the others.
		"penalty_now.mean": 0.99 * 2.475 / 2 / 3,
		"penalty_now.max":  4.95,
	} {
		m := measure(t, s, name)
		if !m.Available() || !near(m.Estimate.Value, want) {
			t.Errorf("%s is %v (known %v), want %v", name, m.Estimate.Value, m.Available(), want)
		}
		if m.Replications != 3 {
			t.Errorf("%s rests on %d replications, want 3", name, m.Replications)
		}
	}
	for name, want := range map[string]int{
		"full_convergence.median": 5, "full_convergence.quiet.p99": 1, "full_convergence.noise.median": 3, "full_convergence.kind.lossy.median": 0,
		"unnoticed.median": 2, "mitigation.median": 1, "faults.optic-dead": 12, "lost_seconds.avoidable": 2, "lost_seconds.stranded": 1,
		"lost_seconds.kind.lossy": 1, "app.calls.slow_share": 2, "route_loss.p95": 9, "false_drains": 3, "wait_now.mean": NoEvents,
	} {
		if got := measure(t, s, name).Events; got != want {
			t.Errorf("%s rests on %d events, want %d", name, got, want)
		}
	}
}

// Intervals are those of stat for the very figures.
func TestIntervals(t *testing.T) {
	set := busySet(20, 40)
	s := Summarise(set, Options{Level: 0.9})
	var hands, slow []float64
	counts := make([]int, 20)
	faults := make([][]float64, 20)
	for i := range set.Replications {
		r := &set.Replications[i]
		hands = append(hands, r.HandsOn)
		slow = append(slow, r.Applications[0].SlowShare)
		counts[i] = int(r.Onsets[0])
		for _, f := range r.Faults {
			if f.Background == record.Noise && set.Header.Modes[f.Mode].Cut() {
				faults[i] = append(faults[i], float64(f.FullConvergence)/1e9)
			}
		}
	}
	for name, want := range map[string]stat.Estimate{
		"technicians.offered":        stat.Mean(hands, 0.9),
		"app.calls.slow_share":       stat.MeanBounded(slow, 1, 0.9),
		"app.calls.budget_burn":      stat.MeanBounded(slow, 1, 0.9).Scaled(1000),
		"faults.optic-dead":          stat.RateOver(counts, 2, 0.9),
		"full_convergence.noise.p95": stat.Pool(faults).Quantile(0.95, 0.9, 7),
	} {
		got := measure(t, s, name).Estimate
		if got.Value != want.Value || got.Low != want.Low || got.High != want.High || got.Level != want.Level || got.Sides != want.Sides {
			t.Errorf("%s: %+v, want %+v", name, got, want)
		}
	}
}

func codes(m *Measure) string {
	var list []string
	for _, w := range m.Estimate.Warnings {
		list = append(list, string(w.Code))
	}
	return strings.Join(list, " ")
}

func TestDoubts(t *testing.T) {
	set := handSet()
	set.Replications[2].Faults[2].End = record.None
	set.Replications[2].Faults[2].FullConvergence = 90*testDay - set.Replications[2].Faults[2].Onset
	// One that ended, though it too changed the loss up to the horizon, is not open.
	ended := &set.Replications[1].Faults[2]
	ended.FullConvergence = 90*testDay - ended.Onset
	s := Summarise(set, Options{Crew: 1})
	if text := measure(t, s, "full_convergence.max").Estimate.Warnings[0].Text; !strings.HasPrefix(text, "1 fault still changed the loss") {
		t.Errorf("open: %q", text)
	}
	for name, want := range map[string]string{
		"full_convergence.max":        "open-at-horizon", // the largest seen has no interval to doubt
		"unnoticed.median":            "few-events one-replication few-replications not-all-reached",
		"technicians.offered":         "few-replications crew-overloaded",
		"faults.optic-old":            "zero-seen",
		"app.copies.slow_share":       "zero-seen few-replications",
		"lost_seconds.kind.lossy":     "few-replications one-replication lopsided few-events",
		"lost_seconds.phase.spf_wait": "few-replications one-replication few-events",
		"unseen.optic-dirty":          "few-replications one-replication lopsided few-events",
		"backoff.quiet":               "few-replications",
	} {
		got := codes(measure(t, s, name))
		if got != want {
			t.Errorf("%s warns %q, want %q", name, got, want)
		}
	}
	if text := measure(t, s, "technicians.offered").Estimate.Warnings[1].Text; !strings.Contains(text, "each of 1 technician is asked for 1 of the time") {
		t.Errorf("crew: %q", text)
	}
	if text := measure(t, s, "unnoticed.median").Estimate.Warnings[3].Text; !strings.HasPrefix(text, "1 of 3 gray faults were not sighted") {
		t.Errorf("unnoticed: %q", text)
	}
	if m := measure(t, s, "faults.optic-old"); m.Estimate.Sides != stat.UpperBound || !near(m.Estimate.High, -math.Log(0.05)/6) {
		t.Errorf("never seen in 6 months: %+v", m.Estimate)
	}
	if m := measure(t, s, "app.copies.budget_burn"); m.Available() || m.Estimate.Reason == "" {
		t.Errorf("burn without budget: %+v", m.Estimate)
	}
	// Lost, but by faults from before the window.
	set = handSet()
	for i := range set.Replications {
		set.Replications[i].Faults = nil
	}
	if got := codes(measure(t, Summarise(set, Options{}), "lost_seconds.avoidable")); !strings.Contains(got, "before-window") {
		t.Errorf("older faults: warns %q", got)
	}
}

// withServers has a set follow four groups of servers with two attachments each: in
// each replication two of them were cut off for 10 s and one for 5 min.
func withServers(s *Set) *Set {
	s.Header.Servers = &record.ServersOf{Groups: 4, Attachments: 2, Access: 8}
	for i := range s.Replications {
		r := &s.Replications[i]
		r.Servers = &record.Servers{Lost: 0.02, Resets: 3, Cutoffs: []record.Cutoff{{From: r.From, To: r.From + 10e9, Groups: 2}, {From: r.From, To: r.From + 300e9, Groups: 1}}}
	}
	return s
}

// Jobs stand still after more than 9 s and are lost after 2 min (Qian et al., SIGCOMM
// 2024, section 9.3): cut off for each and for a ns more, once in two months.
func TestServersStandStill(t *testing.T) {
	s := withServers(testSet(4))
	for i := range s.Replications {
		r := &s.Replications[i]
		r.Servers.Cutoffs = nil
		for _, ns := range []int64{9e9, 9e9 + 1, 120e9, 120e9 + 1} {
			r.Servers.Cutoffs = append(r.Servers.Cutoffs, record.Cutoff{From: r.From, To: r.From + ns, Groups: 1})
		}
	}
	sum := Summarise(s, Options{})
	still, lost := measure(t, sum, "servers.stalls").Estimate.Value, measure(t, sum, "servers.stalls_lost").Estimate.Value
	if still != 3*lost || lost != 0.5 {
		t.Errorf("%v stand still a month, %v of them are lost; want 1.5 and 0.5", still, lost)
	}
}

// By hand, over two months: 320 of 4 x 60 d cut off, three times more than 9 s and
// one of them more than 2 min, 0.02 of 8 links, three sessions.
func TestServersByHand(t *testing.T) {
	s := Summarise(withServers(testSet(4)), Options{})
	for name, want := range map[string]float64{"servers.cut_off": 320.0 / (4 * 60 * 86400), "servers.stalls": 1.5, "servers.stalls_lost": 0.5,
		"access.lost": 0.0025, "overlay.resets": 1.5} {
		if got := measure(t, s, name).Estimate.Value; math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
	}
	if _, ok := Summarise(testSet(4), Options{}).Find("servers.cut_off"); ok {
		t.Error("servers that nobody followed have measures")
	}
}

func TestDictionaryIsTheSummary(t *testing.T) {
	set := withServers(plannedSet(busySet(20, 12)))
	set.Header.External, set.Header.Hottest = 0.2, 0.1
	s := Summarise(set, Options{})
	used := map[string]bool{}
	last := -1
	place := map[string]int{}
	for i, e := range Dictionary() {
		place[e.Pattern] = i
	}
	for i := range s.Measures {
		m := &s.Measures[i]
		e, ok := Explain(m.Name)
		if !ok || e.Unit != m.Unit {
			t.Errorf("%s in %q: dictionary has %+v", m.Name, m.Unit, e)
		}
		used[e.Pattern] = true
		// Families come in order, but classes and quantiles of one take turns.
		if at := place[e.Pattern]; at < last && !strings.HasPrefix(m.Name, "app.") {
			t.Errorf("%s comes after a later family", m.Name)
		} else {
			last = at
		}
	}
	for _, e := range Dictionary() {
		if !used[e.Pattern] {
			t.Errorf("no measure is %s", e.Pattern)
		}
	}
	if _, ok := Explain("full_convergence.p98"); ok {
		t.Error("p98 is explained")
	}
}

func TestSummaryOfNothing(t *testing.T) {
	for _, set := range []*Set{part(testSet(4), 0, 0), testSet(1), testSet(20)} {
		s := Summarise(set, Options{})
		var b bytes.Buffer
		if err := s.WriteJSON(&b); err != nil || !json.Valid(b.Bytes()) {
			t.Errorf("%d replications: JSON %v", len(set.Replications), err)
		}
		if len(s.Sentences) != 3 {
			t.Errorf("%d sentences", len(s.Sentences))
		}
	}
	if s := Summarise(testSet(20), Options{}); !strings.Contains(s.Sentences[0], "nothing was lost in 20 replications of 60.0 d") {
		t.Errorf("sentence %q", s.Sentences[0])
	}
	set := testSet(20)
	for i := range set.Replications {
		set.Replications[i].Waits = nil
	}
	if m := measure(t, Summarise(set, Options{}), "wait_now.p99"); m.Available() || m.Estimate.Reason == "" {
		t.Errorf("no router time: %+v", m.Estimate)
	}
}

func TestSameBytes(t *testing.T) {
	write := func() string {
		var b bytes.Buffer
		if err := Summarise(busySet(20, 40), Options{}).WriteJSON(&b); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	if one, two := write(), write(); one != two {
		t.Error("the same set gave two summaries")
	}
}

func TestJSONHoldsTheMeasures(t *testing.T) {
	set := busySet(20, 30)
	set.Replications = set.Replications[:19]
	s := Summarise(set, Options{Unsure: []Input{{"failures.optic-dirty.life", "20y", "x 0.1 to x 10", "D"}}})
	s.Measures[0].Estimate.High = math.Inf(1)
	s.Measures[1].Estimate.Value = math.NaN()
	m := newMemory()
	if err := s.Save(m, "summary.json"); err != nil {
		t.Fatal(err)
	}
	text := m.files["summary.json"]
	if !json.Valid(text) || bytes.Contains(text, []byte("Inf")) || bytes.Contains(text, []byte("NaN")) {
		t.Error("no valid JSON")
	}
	var got jsonSummary
	if err := lines.Strict(text, &got); err != nil {
		t.Fatal(err)
	}
	if !got.Partial || len(got.Missing) != 1 || got.Study != set.Study || got.Inputs.Varied || len(got.Inputs.Unsure) != 1 || len(got.Sentences) != 3 {
		t.Errorf("head %+v", got)
	}
	if len(got.Measures) != len(s.Measures) {
		t.Fatalf("%d measures, want %d", len(got.Measures), len(s.Measures))
	}
	if a := got.Measures[0]; a.Interval.High != nil || a.Reason == "" || a.Value == nil {
		t.Errorf("infinite limit: %+v", a)
	}
	if a := got.Measures[1]; a.Value != nil || a.Available || a.Reason == "" {
		t.Errorf("NaN: %+v", a)
	}
	for i, a := range got.Measures[2:] {
		m := &s.Measures[i+2]
		if err := sameMeasure(a, m); err != "" {
			t.Errorf("%s: %s", m.Name, err)
		}
	}
}

func sameMeasure(a jsonMeasure, m *Measure) string {
	e := m.Estimate
	switch {
	case a.Name != m.Name || a.Unit != m.Unit || a.Replications != m.Replications || a.Available != m.Available() || len(a.Warnings) != len(e.Warnings):
		return fmt.Sprintf("%+v", a)
	case (a.Value != nil) != e.Known || (a.Value != nil && *a.Value != e.Value):
		return "value"
	case (a.Interval != nil) != e.Available() || (a.Interval == nil && a.Reason == ""):
		return "interval"
	case a.Interval != nil && (*a.Interval.Low != e.Low || *a.Interval.High != e.High || a.Interval.Level != e.Level):
		return "limits"
	case (a.Events != nil) != (m.Events != NoEvents) || (a.Events != nil && *a.Events != m.Events):
		return "events"
	}
	return ""
}
