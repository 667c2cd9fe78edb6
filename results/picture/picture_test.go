package picture

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"halflight/results"
	"halflight/results/phrase"
	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

const day = int64(86400e9)

// hand is two replications of sixty days after one of warm-up, in slots of an
// hour, with nothing in them.
func hand() *Result {
	h := record.Header{
		Modes:  []record.Mode{{Name: "optic-dead", Kind: "hard"}, {Name: "optic-dirty", Kind: "lossy", Gray: true}, {Name: "reload", Kind: "restart"}},
		Phases: []string{"unnoticed", "noticed", "spf_wait", "stranded"}, States: []string{"QUIET", "LONG_WAIT"},
		Classes: []record.Class{{Name: "calls", Budget: 1e-3}}, Routers: 8, Leaves: 4, Links: 16,
	}
	set := &results.Set{Study: results.Study{Scenario: "hand", Digest: "1f", Seed: 5, Asked: 2, Program: "0.1", WarmUp: day, Horizon: 60 * day},
		Part: results.Range{From: 0, To: 2}, Header: h}
	for n := range 2 {
		router := float64(60 * day * 8)
		r := record.Replication{Number: uint32(n), From: day, To: 61 * day, RouterTime: router, StateTime: []float64{router, 0},
			Onsets: make([]int64, 3), Present: make([]float64, 3), Unseen: make([]float64, 3), Applications: make([]record.Application, 1),
			Waits: []record.Wait{{From: 50e6, To: 50e6, Total: router}}, LeafWaits: []record.Wait{{From: 50e6, To: 50e6, Total: router / 2}},
			WaitMean: 50e6, LeafWaitMean: 50e6, RestWait: 50e6, CapacityWorst: 1,
			Series: record.Series{Slot: 3600e9, Wide: 24, Lost: make([]float32, 1440), Gray: make([]float32, 60), Unseen: make([]float32, 60),
				States: [][]float32{slices.Repeat([]float32{1}, 60), make([]float32, 60)}}}
		for range h.Modes {
			r.LostSeconds = append(r.LostSeconds, make([]float64, 4))
		}
		set.Replications = append(set.Replications, r)
	}
	return &Result{Name: "hand-5", Setting: "RFC 8405", Set: set, Made: Made{Program: "0.1 abc", Digest: "1f", Reproduce: "halflight run as-typed.yaml --out again", Scenario: "hand-5/as-typed.yaml"}}
}

// strike adds a fault to a replication, with what it cost in one phase.
func (r *Result) strike(n int, f record.Fault, phase int) *record.Fault {
	one := &r.Set.Replications[n]
	f.Phases = make([]float64, 4)
	f.Phases[phase] = f.LostSeconds
	f.Onset += one.From
	one.LostSeconds[f.Mode][phase] += f.LostSeconds
	one.Onsets[f.Mode]++
	one.Faults = append(one.Faults, f)
	return &one.Faults[len(one.Faults)-1]
}

func (r *Result) summed() *Result {
	r.Summary = results.Summarise(r.Set, results.Options{})
	return r
}

func cut(seconds float64, is record.Background) record.Fault {
	return record.Fault{On: "leaf-0-1~spine-0-0", End: record.None, FullConvergence: int64(seconds * 1e9), Background: is,
		RepairConvergence: record.None, SPFWait: record.None, RouteLoss: record.None, Sighted: record.None, Mitigated: record.None}
}

// Five cuts in quiet after 1, 2, 2, 4 and 5 s, that of 4 s a restart: four fifths are
// left after 1 s, two after 2 s, none after 5 s. A flap is no cut, and one cut in
// noise no line.
func TestSurvivalByHand(t *testing.T) {
	r := hand()
	for _, s := range []float64{2, 5, 1, 4, 2} {
		f := cut(s, record.Quiet)
		if s == 4 {
			f.Mode = 2
		}
		r.strike(int(s)%2, f, 2)
	}
	other := cut(9, record.Quiet)
	other.Mode = 1
	r.strike(0, other, 2)
	r.strike(0, cut(7, record.Noise), 2)
	p := Survival([]*Result{r.summed()})
	if !p.There() || len(p.Lines) != 1 {
		t.Fatalf("%q, %d lines", p.Without, len(p.Lines))
	}
	l := p.Lines[0]
	if want := []float64{0.1, 1, 2, 4, 5}; !slices.Equal(l.X, want) {
		t.Errorf("at %v, want %v", l.X, want)
	}
	if want := []float64{1, 0.8, 0.4, 0.2, 0}; !slices.Equal(l.Y, want) {
		t.Errorf("left %v, want %v", l.Y, want)
	}
	for k := range l.Y {
		if low, high := stat.Wilson(int(5*l.Y[k]+0.5), 5, 0.95); l.Low[k] != low || l.High[k] != high {
			t.Errorf("band at %v: %v to %v, want %v to %v", l.X[k], l.Low[k], l.High[k], low, high)
		}
	}
	if p.X.Low != 1 || p.X.High != 10 {
		t.Errorf("axis from %v to %v", p.X.Low, p.X.High)
	}
	if row := p.Table.Rows[1]; row[1] != "noise" || row[2] != "1" {
		t.Errorf("row %v", row)
	}
	if !strings.Contains(p.Says, "only 1 cut came in noise") || !strings.Contains(p.Command, "halflight run storm") {
		t.Errorf("says %q, command %q", p.Says, p.Command)
	}
	if p := Survival([]*Result{hand().summed()}); p.There() || p.Command == "" {
		t.Errorf("without cuts: %+v", p)
	}
}

// Picture and summary speak of the same cuts, those that changed nothing too: the
// number, the quantiles and the words are those of full_convergence.
func TestSurvivalIsOfTheSummarysCuts(t *testing.T) {
	r := hand()
	for i := range 80 {
		f := cut(float64(i%40)/10, []record.Background{record.Quiet, record.Noise}[i/40])
		if f.Background == record.Noise {
			f.FullConvergence *= 3
		}
		f.Mode = int32(i % 3) // hard, lossy, restart
		r.strike(i%2, f, 2)
	}
	p := Survival([]*Result{r.summed()})
	for i, background := range []string{"quiet", "noise"} {
		m, ok := r.Summary.Find("full_convergence." + background + ".median")
		row := p.Table.Rows[i]
		if !ok || row[2] != fmt.Sprint(m.Events) || row[3] != phrase.With(m.Estimate, unit.Seconds) {
			t.Errorf("%s: %v, in the summary %d: %s", background, row, m.Events, phrase.With(m.Estimate, unit.Seconds))
		}
	}
	l := p.Lines[0]
	if l.X[0] <= 0 || l.Y[0] >= 1 {
		t.Errorf("the line begins at %v s with %v: the cut that was over at once is not in it", l.X[0], l.Y[0])
	}
}

// A line of many values is thinned in its body, and never says more or less than
// one value in a hundred off.
func TestSurvivalThinned(t *testing.T) {
	var values []float64
	for i := range 20000 {
		values = append(values, float64(i+1))
	}
	l := survival(values, "", Calm)
	if len(l.X) > 2*pointsMost {
		t.Errorf("%d points", len(l.X))
	}
	for k, x := range l.X[1:] {
		if want := (20000 - x) / 20000; math.Abs(l.Y[k+1]-want) > 1e-12 {
			t.Errorf("after %v: %v left, want %v", x, l.Y[k+1], want)
		}
	}
}

// Two thirds of the loss of the worst thirty days lie in two hours of replication
// 1: 100 s and 60 s of 240 s.
func TestWorstMonth(t *testing.T) {
	r := hand()
	lost := r.Set.Replications[1].Series.Lost
	lost[24*20+5], lost[24*30] = 100./3600, 60./3600
	for d := 20; d < 50; d++ {
		lost[24*d+12] = 80. / 30 / 3600
	}
	r.Set.Replications[0].Series.Lost[3] = 150. / 3600
	f := cut(1, record.Quiet)
	f.Onset, f.LostSeconds, f.Index = 20*day+5*3600e9, 100, 17
	r.strike(1, f, 3)
	p := WorstMonth(r.summed())
	g := p.Grids[0]
	if len(g.Rows) != 24 || len(g.Columns) != 30 || g.Columns[0] != "20" {
		t.Fatalf("%d rows, %d columns from %s", len(g.Rows), len(g.Columns), g.Columns[0])
	}
	if v := g.Cells[5][0]; math.Abs(v-100) > 1e-4 {
		t.Errorf("the fifth hour of the first day has %v s", v)
	}
	if !strings.Contains(p.Says, "replication 1, from day 20: 4 min lost. 14 of its 720 slots") {
		t.Errorf("says %q", p.Says)
	}
	if len(p.Table.Rows) != 1 || p.Table.Rows[0][0] != "17" {
		t.Errorf("behind it: %v", p.Table.Rows)
	}
}

func TestBacklog(t *testing.T) {
	r := hand()
	for n := range 2 {
		one := &r.Set.Replications[n]
		for k := range one.Series.Gray {
			one.Series.Gray[k], one.Series.Unseen[k] = float32(2+2*n), 1
		}
		one.Present[1], one.Unseen[1] = float64(2+2*n), 1
	}
	p := Backlog(r.summed())
	if l := p.Lines[0]; len(l.X) != 61 || l.X[60] != 60 || l.Y[7] != 3 || l.Low[7] >= 3 || l.High[7] <= 3 {
		t.Errorf("present: %d points, %v (%v to %v)", len(l.X), l.Y[7], l.Low[7], l.High[7])
	}
	if !strings.Contains(p.Says, "3 (0 to 15.7) gray faults") || !strings.Contains(p.Says, "33.3 %") {
		t.Errorf("says %q", p.Says)
	}
	r.Set.Replications[0].Series = record.Series{}
	if p := Backlog(r); p.There() || p.Command != r.Made.Reproduce {
		t.Errorf("without a series: %+v", p)
	}
}

// 30 s on a link of pod 0, 20 s on a group in pod 1, 10 s on a group of two pods,
// 40 s of an older fault in plane 1: per month of two windows of sixty days a
// quarter each.
func TestFabric(t *testing.T) {
	r := hand()
	r.Groups = map[string][]string{"power-a": {"leaf-1-0", "leaf-1-1"}, "batch": {"leaf-0-0~spine-0-1", "leaf-1-0~spine-1-1"}}
	for on, lost := range map[string]float64{"leaf-0-1~spine-0-0": 30, "group:power-a": 20, "group:batch": 10} {
		f := cut(1, record.Quiet)
		f.On, f.LostSeconds = on, lost
		r.strike(0, f, 3)
	}
	r.Set.Replications[1].Older = []record.Older{{Mode: 1, On: "spine-0-1>top-1-0", LostSeconds: 40}}
	r.Set.Replications[1].LostSeconds[1][0] = 40
	p := Fabric(r.summed())
	planes, pods := p.Grids[0], p.Grids[1]
	if got := planes.Cells[1]; !slices.Equal(got, []float64{0, 10}) {
		t.Errorf("links of planes: %v", got)
	}
	if got := pods.Cells[1]; !slices.Equal(got, []float64{7.5, 0}) {
		t.Errorf("links of pods: %v", got)
	}
	if got := pods.Cells[2]; !slices.Equal(got, []float64{0, 5}) {
		t.Errorf("leaves: %v", got)
	}
	if want := "Faults on links spine to top cost most: 40 % of all lost seconds. 10 % came of groups that reach over several places and are in no cell."; p.Says != want {
		t.Errorf("says %q", p.Says)
	}
}

func TestLosses(t *testing.T) {
	r := hand()
	f := cut(1, record.Quiet)
	f.LostSeconds = 120
	r.strike(0, f, 3)
	f.Mode, f.LostSeconds = 1, 40
	r.strike(1, f, 0)
	p := Losses(r.summed())
	if len(p.Bars) != 4 || p.Bars[0].Name != "hard" || p.Bars[0].To != 30 || p.Bars[3].To != 10 || p.Bars[2].Group != "by phase" {
		t.Errorf("bars %+v", p.Bars)
	}
	if !strings.HasPrefix(p.Says, "Faults of kind hard cost most: 30 s (") || !strings.HasSuffix(p.Says, "75 % of all: only more paths would help, not faster routing.") {
		t.Errorf("says %q", p.Says)
	}
}

func TestStories(t *testing.T) {
	r := hand()
	f := cut(2, record.Noise)
	f.LostSeconds, f.Index, f.Onset, f.End, f.Touched = 3, 4, 2*day, 4*day, 8
	f.End = f.Onset + r.Set.Study.WarmUp + 3600e9
	f.Sighted, f.SightedBy = 10e6, "probes"
	r.strike(1, f, 3)
	less := cut(1, record.Quiet)
	less.LostSeconds = 2
	r.strike(0, less, 3)
	got := Stories(r.summed())
	if len(got) != 1 {
		t.Fatalf("%d stories", len(got))
	}
	s := got[0]
	var steps []string
	for _, step := range s.Steps {
		steps = append(steps, step.After+" "+step.What)
	}
	want := []string{"0 s it begins, 2 d into replication 1, in noise", "10 ms first sighted by probes", "2 s routing has settled; 8 routers ran SPF because of it", "60 min repaired"}
	if !slices.Equal(steps, want) {
		t.Errorf("steps %q, want %q", steps, want)
	}
	if s.Command != "halflight trace hand-5/as-typed.yaml --replication 1 --fault 4" || s.Says != "100 % of it was lost while no path is left (stranded)." {
		t.Errorf("says %q, command %q", s.Says, s.Command)
	}
}

// The steps of a grid: ten times each, the last one holds the largest cell.
func TestSteps(t *testing.T) {
	grids := []Grid{{Unit: unit.Seconds, Cells: [][]float64{{0, 3e-4, 0.02}, {-1, 20, 250}}}}
	least := Classes(grids)
	for v, want := range map[float64]int{-1: 0, 0: 0, 3e-4: 1, 0.02: 1, 0.1: 2, 20: 4, 99: 4, 100: 5, 250: 5} {
		if got := Class(v, least); got != want {
			t.Errorf("%v is of step %d, want %d", v, got, want)
		}
	}
	if got, want := Steps(grids), []string{"nothing", "below 100 ms", "from 100 ms on", "from 1 s on", "from 10 s on", "from 100 s on"}; !slices.Equal(got, want) {
		t.Errorf("steps %q, want %q", got, want)
	}
	if Steps([]Grid{{Cells: [][]float64{{0}}}}) != nil {
		t.Error("steps of nothing")
	}
}

// Ticks are round, inside the axis, and have words of their own.
func TestTicks(t *testing.T) {
	for _, c := range []struct {
		axis Axis
		want string
	}{
		{Axis{Unit: unit.Seconds, Log: true, Low: 1e-2, High: 1e5}, "10 ms, 100 ms, 1 s, 10 s, 100 s, 10 min, 2 h, 24 h"},
		{Axis{Unit: unit.Share, High: 1}, "0, 20 %, 40 %, 60 %, 80 %, 100 %"},
		{Axis{Unit: unit.One, High: 14.2}, "0, 5, 10"},
		{Axis{Unit: unit.SPerMonth, High: 400}, "0, 2 min, 4 min, 6 min"},
	} {
		var got []string
		for _, tick := range c.axis.Ticks(map[bool]int{true: 8, false: 5}[c.axis.Log]) {
			got = append(got, tick.Text)
		}
		if strings.Join(got, ", ") != c.want {
			t.Errorf("%+v: %q, want %q", c.axis, got, c.want)
		}
	}
}
