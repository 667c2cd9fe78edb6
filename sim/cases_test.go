package sim

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"halflight/model"
	"halflight/scenarios"
)

// expected is the outcome of a scripted case, worked by hand from the rules.
type expected struct {
	LostShare   [][]any `json:"lost_share"`
	LostSeconds float64 `json:"lost_seconds"`
	Faults      []struct {
		Index             int     `json:"index"`
		On                string  `json:"on"`
		Kind              string  `json:"kind"`
		FullConvergence   *int64  `json:"full_convergence_ns"`
		RepairConvergence *int64  `json:"repair_convergence_ns"`
		Isolated          *int64  `json:"isolated_ns"`
		Open              bool    `json:"open"`
		LostSeconds       float64 `json:"lost_seconds"`
	} `json:"faults"`
	Routers map[string]struct {
		Runs         []int64          `json:"spf_runs_ns"`
		Originations []int64          `json:"originations_ns"`
		Backoff      map[string]int64 `json:"backoff_ns"`
	} `json:"routers"`
	RouteLoss [][]any `json:"route_loss_ns"`
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(1, math.Abs(a)) }

func orNone(p *int64) int64 {
	if p == nil {
		return -1
	}
	return *p
}

// build makes a world of a scenario's text.
func build(t testing.TB, name, text string, set ...string) *model.World {
	t.Helper()
	s, problems := scenarios.Parse(name, []byte(text), set...)
	if problems.Any() {
		t.Fatal(problems.String())
	}
	w, more := model.Build(s)
	if len(more) > 0 {
		t.Fatal(more)
	}
	return w
}

// Rules S1 to S29, each case by hand; the list is in testdata/cases/README.txt.
func TestScriptedCases(t *testing.T) {
	files, err := filepath.Glob("testdata/cases/case-???.json")
	if err != nil || len(files) < 24 {
		t.Fatal("the scripted cases are missing", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			var want expected
			raw, err := os.ReadFile(strings.Replace(file, ".json", ".expected.json", 1))
			if err != nil {
				t.Fatal(err)
			}
			if err := json.Unmarshal(raw, &want); err != nil {
				t.Fatal(err)
			}
			compare(t, &want, Script(build(t, file, string(text))))
		})
	}
}

func compare(t *testing.T, want *expected, got *Played) {
	t.Helper()
	for i := range max(len(want.LostShare), len(got.LostShare)) {
		if i >= len(want.LostShare) || i >= len(got.LostShare) || int64(want.LostShare[i][0].(float64)) != got.LostShare[i].At ||
			!near(want.LostShare[i][1].(float64), got.LostShare[i].Share) {
			t.Fatalf("lost share %d: want %v, got %v", i, want.LostShare, got.LostShare)
		}
	}
	if !near(want.LostSeconds, got.LostSeconds) {
		t.Errorf("lost seconds: want %v, got %v", want.LostSeconds, got.LostSeconds)
	}
	for _, r := range got.Routers {
		w := want.Routers[r.Name]
		same := len(w.Runs) == len(r.Runs) && len(w.Originations) == len(r.Originations)
		for i := range r.Runs {
			same = same && w.Runs[i] == r.Runs[i]
		}
		for i := range r.Originations {
			same = same && w.Originations[i] == r.Originations[i]
		}
		for i, s := range got.States {
			same = same && w.Backoff[s] == r.Backoff[i]
		}
		if !same {
			t.Errorf("%s: want %v, got %v", r.Name, w, r)
		}
	}
	for i, w := range want.Faults {
		g := got.Faults[i]
		if w.On != g.On || w.Kind != g.Kind || orNone(w.FullConvergence) != g.FullConvergence || orNone(w.RepairConvergence) != g.RepairConvergence ||
			orNone(w.Isolated) != g.Isolated || w.Open != g.Open || !near(w.LostSeconds, g.LostSeconds) {
			t.Errorf("fault %d: want %v %v %d %d %d %v %v, got %+v", i, w.On, w.Kind, orNone(w.FullConvergence), orNone(w.RepairConvergence), orNone(w.Isolated), w.Open, w.LostSeconds, g)
		}
	}
	if len(want.RouteLoss) != len(got.RouteLoss) {
		t.Fatalf("route loss: want %v, got %v", want.RouteLoss, got.RouteLoss)
	}
	for i, w := range want.RouteLoss {
		g := got.RouteLoss[i]
		if w[0] != g.From || w[1] != g.To || int64(w[2].(float64)) != g.Time {
			t.Errorf("route loss %d: want %v, got %v", i, w, g)
		}
	}
}

// shipped builds a shipped scenario.
func shipped(t testing.TB, name string, set ...string) *model.World {
	t.Helper()
	text, ok := scenarios.Source(name)
	if !ok {
		t.Fatal("no scenario ", name)
	}
	return build(t, name, string(text), set...)
}
