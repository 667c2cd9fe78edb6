package swing

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"halflight/results"
	"halflight/results/contrast"
	"halflight/sim/record"
)

const day = int64(86400e9)

// sample is a set in which every replication does its own number of SPF runs.
func sample(n uint32, runs func(i uint32) int64) *results.Set {
	s := &results.Set{
		Study:  results.Study{Scenario: "hall", Digest: "d", Seed: 1, Asked: n, Program: "p", WarmUp: day, Horizon: 30 * day},
		Header: record.Header{Phases: []string{"stranded"}, States: []string{"QUIET"}, Routers: 10, Leaves: 4, Links: 20},
	}
	s.Part = s.Study.Whole()
	for i := range n {
		router := float64(10 * 30 * day)
		r := record.Replication{Number: i, From: day, To: 31 * day, LostSeconds: [][]float64{}, RouterTime: router, StateTime: []float64{router},
			Waits: []record.Wait{{From: 50e6, To: 50e6, Total: router}}, WaitMean: 50e6, LeafWaitMean: 50e6, RestWait: 50e6, SPFRuns: runs(i)}
		r.LeafWaits = r.Waits
		s.Replications = append(s.Replications, r)
	}
	return s
}

// steps is runs around a level, the same chance for all levels.
func steps(level int64) func(i uint32) int64 {
	return func(i uint32) int64 { return level + int64(i*i*7919%101) }
}

// Three inputs: one moves the measure by much, one a little in one direction, one
// not at all.
func TestOneAtATime(t *testing.T) {
	var sides []contrast.Side
	for i, level := range []int64{7200, 7200, 7200, 7000, 9000, 7210, 7200} {
		sides = append(sides, contrast.Side{Name: fmt.Sprint(i), Set: sample(20, steps(level))})
	}
	c, err := contrast.Of(sides, 0.95, "spf_runs", "wait_now.mean")
	if err != nil {
		t.Fatal(err)
	}
	inputs := []Input{{Key: "still", Grade: "D"}, {Key: "much", Grade: "B"}, {Key: "little", Grade: "A/D"}}
	table, err := OneAtATime(c, inputs, "spf_runs")
	if err != nil {
		t.Fatal(err)
	}
	var order []string
	for _, r := range table.Rows {
		order = append(order, r.Input.Key)
	}
	if got := strings.Join(order, " "); got != "much little still" {
		t.Errorf("order %s", got)
	}
	if r := table.Rows[0]; math.Abs(r.Size-2000.0/7200) > 1e-9 || !r.Sure {
		t.Errorf("7,000 to 9,000 runs in 7,200 router-hours: %v, sure %v", r.Size, r.Sure)
	}
	if r := table.Rows[2]; r.Size != 0 || r.Sure {
		t.Errorf("%+v", r)
	}
	s := table.Sentence()
	for _, want := range []string{"Of the 2 largest swings of spf_runs, 1 rests on an input without a source (grade D), and 2 are beyond doubt", "measure first: little."} {
		if !strings.Contains(s, want) {
			t.Errorf("%q is not in %q", want, s)
		}
	}
	if still, _ := OneAtATime(c, inputs, "wait_now.mean"); still.Sentence() != "No unsure input moves wait_now.mean within its range." {
		t.Error(still.Sentence())
	}
	// What no setting saw is not said to stay as it is.
	for _, measure := range []string{"full_convergence.median", "lost_seconds.stranded"} {
		full, err := contrast.Of(sides, 0.95, measure)
		if err != nil {
			t.Fatal(err)
		}
		none, err := OneAtATime(full, inputs, measure)
		if err != nil {
			t.Fatal(err)
		}
		if none.Seen || none.blanks() != 3 || none.Sentence() != NotSeen(measure) {
			t.Errorf("%s: seen %v, %d blank: %s", measure, none.Seen, none.blanks(), none.Sentence())
		}
		if j := none.json(); j.Seen || !j.Rows[0].Blank {
			t.Errorf("%+v", j)
		}
	}
	if j := table.json(); !j.Seen || j.Rows[0].Blank || j.Rows[2].Blank {
		t.Errorf("%+v", j)
	}
	if _, err := OneAtATime(c, inputs, "nothing"); err == nil {
		t.Error("a measure that is not there")
	}
	var text bytes.Buffer
	if err := (&Answer{Study: c.Sides[0].Set.Study, Contrast: c, Tables: []*Table{table}}).WriteJSON(&text); err != nil {
		t.Fatal(err)
	}
	var back jsonAnswer
	if err := json.Unmarshal(text.Bytes(), &back); err != nil || back.Kind != "inputs" || len(back.Inputs[0].Rows) != 3 || back.Family != c.Members {
		t.Errorf("%v: %+v", err, back)
	}
}

// An input is still if the measure was seen at all three values and stays; where it
// was not seen at one, nothing is told of that input, and what is not known is no 0.
func TestSeenAtSomeEnds(t *testing.T) {
	known, not := func(v float64) contrast.Value { return contrast.Value{Value: v, Known: true} }, contrast.Value{}
	for _, c := range []struct {
		present, low, high contrast.Value
		size               float64
		blank              bool
		says               string
	}{
		{known(5), known(5), known(5), 0, false, "No unsure input moves wait_now.mean within its range."},
		{known(5), known(5), not, 0, true, "Too little was seen of wait_now.mean"},
		{not, known(5), not, 0, true, "Too little was seen of wait_now.mean"},
		{not, known(5), known(7), 2, false, "5.00 s to 7.00 s"},
		{known(0), known(0), known(0), 0, true, "Nothing was seen of wait_now.mean in any setting"},
		{known(0), known(3), known(0), 3, false, "0 s to 3.00 s"},
	} {
		r := contrast.Row{Name: "wait_now.mean", Unit: "s", Values: []contrast.Value{c.present, c.low, c.high}, Differences: make([]contrast.Difference, 2)}
		table, err := OneAtATime(&contrast.Contrast{Sides: make([]contrast.Side, 3), Rows: []contrast.Row{r}}, []Input{{Key: "one", Grade: "D"}}, "wait_now.mean")
		if err != nil {
			t.Fatal(err)
		}
		if row := table.Rows[0]; row.Size != c.size || row.Blank != c.blank || !strings.Contains(table.Sentence(), c.says) {
			t.Errorf("%+v: %+v, %q", c, row, table.Sentence())
		}
	}
}

// Worlds in which one of two inputs decides a measure: its rank correlation is 1,
// and the bar lies at the quantiles of an even law.
func TestWorlds(t *testing.T) {
	var sets []*results.Set
	var shares [][]float64
	const n = 41
	for w := range n {
		shares = append(shares, []float64{float64(w) / (n - 1), float64(w*17%n) / n})
		sets = append(sets, sample(4, func(uint32) int64 { return int64(7200 + 180*w) }))
	}
	o := OfWorlds([]Input{{Key: "decides", Grade: "D"}, {Key: "idle", Grade: "B"}}, shares, sets, []string{"spf_runs"})
	if o.Count != n || o.Replications != 4 || len(o.Bars) != 1 {
		t.Fatalf("%+v", o)
	}
	b := o.Bars[0]
	// From 1 to 2 runs an hour in even steps: 5 % and 95 % of the way.
	if math.Abs(b.Low-1.05) > 1e-9 || math.Abs(b.Middle-1.5) > 1e-9 || math.Abs(b.High-1.95) > 1e-9 {
		t.Errorf("%+v", b)
	}
	if b.Ranks[0].Input != 0 || math.Abs(b.Ranks[0].R-1) > 1e-12 || !b.Ranks[0].Sure || b.Ranks[1].Sure {
		t.Errorf("%+v", b.Ranks)
	}
	if s := o.Sentence(&b); !strings.Contains(s, "it follows decides (rank correlation 1.00, grade D); 1 of these has no source") {
		t.Error(s)
	}
	if o.NotSeen("spf_runs") != "" || !strings.HasPrefix(o.NotSeen("full_convergence.median"), "full_convergence.median was seen in fewer than two worlds") {
		t.Error(o.NotSeen("spf_runs"), o.NotSeen("full_convergence.median"))
	}
	b.Worlds = 30
	if s := o.Sentence(&b); !strings.Contains(s, "it was seen in 30 of the worlds alone") {
		t.Error(s)
	}
	sets[3].Replications = nil
	if o := OfWorlds(o.Inputs, shares, sets, []string{"spf_runs"}); o.Count != n-1 {
		t.Errorf("%d worlds", o.Count)
	}
	if few := OfWorlds(o.Inputs, shares[:5], sets[:5], []string{"spf_runs"}); !strings.Contains(few.Sentence(&few.Bars[0]), "fewer than 20 worlds say little") {
		t.Error(few.Sentence(&few.Bars[0]))
	}
	if none := OfWorlds(nil, nil, nil, nil); none.Count != 0 || len(none.Bars) != 0 {
		t.Errorf("%+v", none)
	}
}
