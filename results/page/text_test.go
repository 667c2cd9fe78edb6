package page

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"halflight/results"
	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

var rewrite = flag.Bool("rewrite", false, "write the golden pages anew")

const (
	day = int64(86400e9)
	ms  = int64(1e6)
)

// sample is a set in which things happen by chance, the same each time.
func sample(n uint32, faults int) *results.Set {
	s := &results.Set{
		Study: results.Study{Scenario: "harbour", Digest: "3f1c9a52", Seed: 7, Asked: n, Program: "0.1", WarmUp: 90 * day, Horizon: 90 * day},
		Part:  results.Range{From: 0, To: n},
		Header: record.Header{
			Modes: []record.Mode{{Name: "optic-dead", Kind: "hard"}, {Name: "optic-dirty", Kind: "lossy", Gray: true},
				{Name: "optic-flap", Kind: "flapping"}, {Name: "router-silent", Kind: "silent", Gray: true}},
			Phases:  []string{"unnoticed", "noticed", "detection", "lsp_wait", "flooding", "spf_wait", "penalty", "spf_run", "loop", "stranded"},
			States:  []string{"QUIET", "SHORT_WAIT", "LONG_WAIT"},
			Classes: []record.Class{{Name: "calls", Budget: 1e-4, Windows: []record.Window{{Name: "1h", Rate: 14.4}, {Name: "120d", Rate: 1}}, Delays: []int64{200 * ms, 600 * ms}}},
			Routers: 688, Leaves: 400, Links: 7680,
			Instruments: []record.Instrument{{Name: "counters", Kind: "polling", YearlyCost: 2000}},
			Prices:      record.Prices{Currency: "units", TechnicianHour: 100},
		},
	}
	for i := range n {
		s.Replications = append(s.Replications, replication(s, i, faults))
	}
	return s
}

func replication(s *results.Set, number uint32, faults int) record.Replication {
	dice := rand.New(rand.NewPCG(5, uint64(number)))
	router := float64(90 * day * 500)
	long := router / float64(60+dice.IntN(30))
	r := record.Replication{
		Number: number, From: 90 * day, To: 180 * day, Onsets: make([]int64, 4), Present: []float64{0.2, 1.1, 0, 0}, Unseen: []float64{0, 0.4, 0, 0},
		RouterTime: router, StateTime: []float64{router - long - long/20, long / 20, long},
		Waits: []record.Wait{{From: 50 * ms, To: 50 * ms, Total: router - long - long/20}, {From: 200 * ms, To: 200 * ms, Total: long / 20},
			{From: 5000 * ms, To: 5000 * ms, Total: long}},
		WaitMean: 115e6 + 5e6*dice.Float64(), LeafWaitMean: 110e6 + 5e6*dice.Float64(), RestWait: 50 * ms,
		SPFRuns: 900000 + dice.Int64N(100000), BusyWorst10s: 0.02 + dice.Float64()/50, CapacityWorst: 0.75, HandsOn: 0.2 + dice.Float64()/20, Watched: []record.Watched{{}},
	}
	r.LeafWaits = r.Waits
	r.Watched[0].Sightings, r.Tickets, r.Repeats, r.Visits = 7+int64(number%3), 8, int64(number%2), 9
	for range 4 {
		r.LostSeconds = append(r.LostSeconds, make([]float64, len(s.Header.Phases)))
	}
	a := record.Application{DegradedLeafHours: 3 * dice.Float64()}
	for k := range faults {
		f := fault(dice, r.From, len(s.Header.Phases))
		f.Index = int32(k)
		r.Onsets[f.Mode]++
		for p, v := range f.Phases {
			r.LostSeconds[f.Mode][p] += v
		}
		a.SlowShare += f.LostSeconds / 8e6
		r.Faults = append(r.Faults, f)
	}
	a.WorstLeaf, a.P99Leaf = 9*a.SlowShare, 6*a.SlowShare
	a.Burn = []record.Burn{{Most: 40 * a.SlowShare / 1e-4, MostLeaf: 200 * a.SlowShare / 1e-4, Above: 7200e9, LeafAbove: 36000e9}, {Most: record.None, MostLeaf: record.None}}
	a.Late = []float64{a.SlowShare, a.SlowShare / 5}
	r.Applications = []record.Application{a}
	return r
}

func fault(dice *rand.Rand, from int64, phases int) record.Fault {
	f := record.Fault{Mode: int32(dice.IntN(3)), Onset: from + dice.Int64N(90*day), On: "leaf-0-00~spine-0-01", RepairConvergence: record.None,
		FullConvergence: record.None, RouteLoss: record.None, SPFWait: record.None, Sighted: record.None, Mitigated: record.None,
		LostSeconds: 2 * dice.ExpFloat64(), Phases: make([]float64, phases), Pairs: int32(dice.IntN(800)), Touched: int32(dice.IntN(689))}
	f.End = f.Onset + day
	f.Background = record.Background(dice.IntN(10) / 9) // one in ten in noise
	if f.Mode == 1 {
		f.Phases[0], f.Phases[1] = 0.8*f.LostSeconds, 0.2*f.LostSeconds
		if dice.IntN(3) > 0 {
			f.Sighted = int64(700e9 * dice.ExpFloat64())
			f.Mitigated = f.Sighted + 300e9
		}
		return f
	}
	f.LostSeconds /= 20
	f.Phases[2], f.Phases[5], f.Phases[6] = 0.2*f.LostSeconds, 0.3*f.LostSeconds, 0.5*f.LostSeconds
	f.FullConvergence = int64((0.15 + 0.1*dice.ExpFloat64() + 3*float64(f.Background)*dice.Float64()) * 1e9)
	f.RouteLoss, f.SPFWait = int64(1e8*dice.ExpFloat64()), 50*ms
	return f
}

func page(t *testing.T, s *results.Summary) string {
	t.Helper()
	var b bytes.Buffer
	if err := Text(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

var unsure = []results.Input{
	{Path: "failures.optic-flap.episodes", Value: "2e-4/d", Range: "4e-5/d to 1.2e-2/d", Grade: "D"},
	{Path: "failures.optic-dirty.life.exponential.mean", Value: "20y", Range: "x 0.1 to x 10", Grade: "D"},
	{Path: "detection.settle", Value: "2s", Range: "0 to 60 s", Grade: "D"},
	{Path: "telemetry.complaints", Value: "24h", Grade: "D"},
}

// golden pages: a study as it should be, a small one stopped early, one without
// anything in it.
func TestGolden(t *testing.T) {
	stopped := sample(12, 9)
	stopped.Replications = stopped.Replications[:8]
	empty := sample(3, 0)
	empty.Replications = nil
	for name, s := range map[string]*results.Summary{
		"study":   results.Summarise(sample(20, 60), results.Options{Unsure: unsure}),
		"stopped": results.Summarise(stopped, results.Options{Unsure: unsure[:1], Level: 0.9, Crew: 4}),
		"empty":   results.Summarise(empty, results.Options{}),
	} {
		got := page(t, s)
		file := filepath.Join("testdata", name+".golden")
		if *rewrite {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s differs from %s (look, then run with -rewrite):\n%s", name, file, got)
		}
	}
}

// Whatever the names and sizes, no line is wider than the page.
func TestWidth(t *testing.T) {
	for seed := range uint64(60) {
		dice := rand.New(rand.NewPCG(seed, 9))
		set := sample(1+uint32(dice.IntN(25)), dice.IntN(40))
		set.Study.Scenario = word(dice, 90)
		set.Study.Digest = word(dice, 64)
		for i := range set.Header.Modes {
			set.Header.Modes[i].Name = fmt.Sprint(word(dice, 60), i)
		}
		set.Header.Classes[0].Name = word(dice, 50)
		for i := range set.Replications {
			r := &set.Replications[i]
			r.HandsOn *= 1e6 * dice.Float64()
			r.SPFRuns *= dice.Int64N(1e6)
			r.Applications[0].DegradedLeafHours *= 1e3
		}
		in := []results.Input{{Path: word(dice, 120), Value: "1", Range: word(dice, 100), Grade: "D"}}
		got := page(t, results.Summarise(set, results.Options{Unsure: in}))
		for i, line := range strings.Split(got, "\n") {
			if utf8.RuneCountInString(line) > Width {
				t.Errorf("seed %d: line %d has %d columns:\n%s", seed, i+1, utf8.RuneCountInString(line), line)
			}
			if strings.TrimRight(line, " \t\r") != line || strings.ContainsAny(line, "\x1b\t") {
				t.Errorf("seed %d: line %d ends in blanks or holds what is not text: %q", seed, i+1, line)
			}
		}
	}
}

func word(dice *rand.Rand, most int) string {
	b := make([]byte, 1+dice.IntN(most))
	for i := range b {
		b[i] = byte('a' + dice.IntN(26))
	}
	return string(b)
}

// Every figure shown is that of the summary, and every doubt has its note.
func TestPageSaysWhatTheSummarySays(t *testing.T) {
	s := results.Summarise(sample(20, 60), results.Options{Unsure: unsure})
	got := page(t, s)
	lines := strings.Split(got, "\n")
	shown := 0
	for i := range groups {
		list, none := groups[i].pick(s)
		names := labels(list)
		for k, m := range list {
			shown++
			if !hasRow(lines, names[k], valueCell(m), intervalCell(m)) {
				t.Errorf("no line %q with %q and %q", names[k], valueCell(m), intervalCell(m))
			}
			for _, w := range m.Estimate.Warnings {
				if !strings.Contains(got, " "+string(w.Code)) {
					t.Errorf("%s: no note on %s", m.Name, w.Code)
				}
			}
		}
		for _, m := range none {
			if !strings.Contains(got, m.Name) {
				t.Errorf("%s, not seen, is not named", m.Name)
			}
		}
	}
	if shown < 50 {
		t.Errorf("only %d figures are shown", shown)
	}
	flat := strings.Join(strings.Fields(got), " ")
	for _, text := range append(Cautions(), s.Sentences...) {
		if !strings.Contains(flat, text) {
			t.Errorf("the page does not say %q", text)
		}
	}
}

func hasRow(lines []string, label, value, interval string) bool {
	for _, line := range lines {
		if strings.HasPrefix(strings.TrimSpace(line), strings.TrimSpace(label)+" ") && strings.Contains(line, value) && strings.Contains(line, interval) {
			return true
		}
	}
	return false
}

func TestGroupsNameMeasuresThatExist(t *testing.T) {
	set := sample(20, 60)
	set.Header.External, set.Header.Hottest, set.Header.Congestion = 0.2, 0.1, true
	for _, kind := range []string{"upgrade", "change"} {
		set.Header.Modes = append(set.Header.Modes, record.Mode{Name: kind, Kind: kind})
		for i := range set.Replications {
			r := &set.Replications[i]
			r.Onsets, r.Present, r.Unseen = append(r.Onsets, 0), append(r.Present, 0), append(r.Unseen, 0)
			r.LostSeconds = append(r.LostSeconds, make([]float64, len(set.Header.Phases)))
		}
	}
	set.Header.Servers = &record.ServersOf{Groups: 4, Attachments: 1, Access: 4}
	for i := range set.Replications {
		set.Replications[i].Servers = &record.Servers{}
	}
	s := results.Summarise(set, results.Options{})
	for i := range groups {
		for _, patterns := range groups[i].rows {
			for _, p := range strings.Fields(patterns) {
				found := false
				for _, name := range s.Names() {
					found = found || results.Matches(p, name)
				}
				if !found {
					t.Errorf("group %q: no measure is %s", groups[i].title, p)
				}
			}
		}
	}
}

func TestLabels(t *testing.T) {
	var list []*results.Measure
	for _, name := range []string{"app.calls.slow_share", "app.calls.slow_share.worst_leaf", "app.calls.budget_burn", "app.copies.slow_share", "spf_runs"} {
		list = append(list, &results.Measure{Name: name})
	}
	want := []string{
		"app.calls.slow_share",
		"                    .worst_leaf",
		"         .budget_burn",
		"   .copies.slow_share",
		"spf_runs",
	}
	for i, got := range labels(list) {
		if got != want[i] {
			t.Errorf("label %q, want %q", got, want[i])
		}
	}
	if got := cut("          .rather-long-word", 20); got != "  .rather-long-word" && utf8.RuneCountInString(got) > 20 {
		t.Errorf("cut to %q", got)
	}
	if got := cut("present.rather-long-word", 12); got != "prese..-word" {
		t.Errorf("cut to %q", got)
	}
}

func TestIntervalCell(t *testing.T) {
	for _, c := range []struct {
		in        string
		low, high float64
		sides     stat.Sides
		reason    string
		want      string
	}{
		{unit.Seconds, 0.39, 0.431, stat.TwoSided, "", "390 to 431 ms"},
		{unit.Seconds, 0.39, 1.2, stat.TwoSided, "", "390 ms to 1.20 s"},
		{unit.Seconds, 0, 0.2, stat.TwoSided, "", "0 to 200 ms"},
		{unit.SPerMonth, 14, 17.21, stat.TwoSided, "", "14.0 to 17.2 s"},
		{unit.Share, 1e-5, 0.02, stat.TwoSided, "", "1.00e-5 to 2.00 %"},
		{unit.PerMonth, 0, 0.25, stat.UpperBound, "", "at most 0.250"},
		{unit.Share, 0.9, 1, stat.LowerBound, "", "at least 90.0 %"},
		{unit.One, 3, 3, stat.NoInterval, "largest seen; a longer study will see a larger one", "largest seen"},
		{unit.One, 3, 3, stat.NoInterval, "not available: too few", "-"},
	} {
		m := &results.Measure{Unit: c.in, Estimate: stat.Estimate{Low: c.low, High: c.high, Sides: c.sides, Reason: c.reason, Known: true}}
		if got := intervalCell(m); got != c.want {
			t.Errorf("interval %q, want %q", got, c.want)
		}
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errBroken }

var errBroken = errors.New("pipe closed")

func TestWriterError(t *testing.T) {
	if err := Text(broken{}, results.Summarise(sample(2, 3), results.Options{})); !errors.Is(err, errBroken) {
		t.Errorf("error %v, want %v", err, errBroken)
	}
}

// Bars are a part of all lost seconds each, and sum to all of it; colours change
// nothing but colours.
func TestBarsAndColours(t *testing.T) {
	s := results.Summarise(sample(20, 60), results.Options{Unsure: unsure})
	plainText := page(t, s)
	if !strings.Contains(plainText, "\nWhere the lost seconds go, of 15.7 s per month\nby kind  lossy      91.5 %  =================================\n") {
		t.Errorf("no bar of lossy faults in\n%s", plainText)
	}
	list, total := shares(s, "lost_seconds.phase.")
	sum := 0.0
	for i, one := range list {
		sum += one.part
		if i > 0 && one.part > list[i-1].part {
			t.Errorf("%s is larger than the one before", one.name)
		}
	}
	if _, kinds := shares(s, "lost_seconds.kind."); sum < 1-1e-12 || sum > 1+1e-12 || kinds < total*(1-1e-12) || kinds > total*(1+1e-12) {
		t.Errorf("parts sum to %v; %v by kind, %v by phase", sum, kinds, total)
	}
	coloured := Coloured(plainText)
	stripped := strings.NewReplacer(bold, "", cyan, "", reset, "").Replace(coloured)
	if stripped != plainText {
		t.Error("colours change the words")
	}
	if n := strings.Count(coloured, cyan); n < 5 {
		t.Errorf("%d coloured bars", n)
	}
	if !strings.Contains(coloured, bold+"In words"+reset+"\n") {
		t.Error("a head is not bold")
	}
}
