package sim

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"halflight/sim/impact"
)

// attachedCase is the outcome of a case of rule S27, worked by hand.
type attachedCase struct {
	LostShare   [][]any `json:"lost_share"`
	LostSeconds float64 `json:"lost_seconds"`
	Faults      []struct {
		On                string  `json:"on"`
		FullConvergence   *int64  `json:"full_convergence_ns"`
		RepairConvergence *int64  `json:"repair_convergence_ns"`
		Overlay           float64 `json:"overlay"`
		Stranded          float64 `json:"stranded"`
		Other             float64 `json:"other"`
	} `json:"faults"`
	Resets int64 `json:"resets"`
}

// Rule S27, each case by hand: every instant and share, what each fault lost by
// phase, sessions that dropped; and the parts sum to the total.
func TestAttachedCases(t *testing.T) {
	files, err := filepath.Glob("testdata/cases/homing-??.json")
	if err != nil || len(files) != 6 {
		t.Fatalf("%d cases (%v)", len(files), err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			raw, err := os.ReadFile(strings.Replace(file, ".json", ".expected.json", 1))
			if err != nil {
				t.Fatal(err)
			}
			var want attachedCase
			if err := json.Unmarshal(raw, &want); err != nil {
				t.Fatal(err)
			}
			got := Script(build(t, file, string(text)))
			compareAttached(t, &want, got)
		})
	}
}

func compareAttached(t *testing.T, want *attachedCase, got *Played) {
	t.Helper()
	if len(want.LostShare) != len(got.LostShare) {
		t.Fatalf("lost share: want %v, got %v", want.LostShare, got.LostShare)
	}
	for i, w := range want.LostShare {
		if int64(w[0].(float64)) != got.LostShare[i].At || !near(w[1].(float64), got.LostShare[i].Share) {
			t.Fatalf("lost share %d: want %v, got %v", i, want.LostShare, got.LostShare)
		}
	}
	if !near(want.LostSeconds, got.LostSeconds) || want.Resets != got.Resets {
		t.Errorf("lost seconds: want %v, got %v; resets: want %d, got %d", want.LostSeconds, got.LostSeconds, want.Resets, got.Resets)
	}
	sum := 0.0
	for i := range got.Faults {
		sum += got.Faults[i].LostSeconds
	}
	if !near(sum, got.LostSeconds) {
		t.Errorf("the faults lost %v, all together %v", sum, got.LostSeconds)
	}
	for i, w := range want.Faults {
		g := &got.Faults[i]
		other := g.LostSeconds - g.Phases[impact.Overlay] - g.Phases[impact.Stranded]
		if w.On != g.On || orNone(w.FullConvergence) != g.FullConvergence || orNone(w.RepairConvergence) != g.RepairConvergence ||
			!near(w.Overlay, g.Phases[impact.Overlay]) || !near(w.Stranded, g.Phases[impact.Stranded]) || !near(w.Other, other) {
			t.Errorf("fault %d: want %+v %d %d, got %s %d %d, overlay %v, stranded %v, other %v", i, w, orNone(w.FullConvergence), orNone(w.RepairConvergence),
				g.On, g.FullConvergence, g.RepairConvergence, g.Phases[impact.Overlay], g.Phases[impact.Stranded], other)
		}
	}
}
