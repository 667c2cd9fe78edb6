package twin

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

const caseFolder = "../testdata/cases"

// TestCases holds the twin against every scripted case: times exactly, shares and
// lost seconds to 1e-12.
func TestCases(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join(caseFolder, "case-???.json"))
	if err != nil || len(paths) != 51 {
		t.Fatalf("%d cases in %s (%v), want 51", len(paths), caseFolder, err)
	}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var head struct{ Name string }
		if err := json.Unmarshal(text, &head); err != nil {
			t.Fatal(err)
		}
		t.Run(head.Name, func(t *testing.T) {
			wantText, err := os.ReadFile(path[:len(path)-len(".json")] + ".expected.json")
			if err != nil {
				t.Fatal(err)
			}
			var want Result
			if err := json.Unmarshal(wantText, &want); err != nil {
				t.Fatal(err)
			}
			got, err := Play(text)
			if err != nil {
				t.Fatal(err)
			}
			if d := Differ(&want, got); d != "" {
				t.Error(d)
			}
			if got.Uncharged != 0 {
				t.Errorf("%g lost seconds are charged to no fault", got.Uncharged)
			}
		})
	}
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-12*max(1, math.Abs(a)) }

// Differ names the first difference between two outcomes, or is empty.
func Differ(want, got *Result) string {
	for i := range max(len(want.LostShare), len(got.LostShare)) {
		if i >= len(want.LostShare) || i >= len(got.LostShare) ||
			want.LostShare[i].T != got.LostShare[i].T || !near(want.LostShare[i].Share, got.LostShare[i].Share) {
			return fmt.Sprintf("lost_share[%d]: want %v, got %v", i, tail(want.LostShare, i), tail(got.LostShare, i))
		}
	}
	names := []string{}
	for name := range want.Routers {
		names = append(names, name)
	}
	slices.Sort(names)
	if len(want.Routers) != len(got.Routers) {
		return fmt.Sprintf("routers: want %d, got %d", len(want.Routers), len(got.Routers))
	}
	for _, name := range names {
		if d := differJSON(want.Routers[name], got.Routers[name]); d != "" {
			return name + ": " + d
		}
	}
	if !near(want.LostSeconds, got.LostSeconds) {
		return fmt.Sprintf("lost_seconds: want %v, got %v", want.LostSeconds, got.LostSeconds)
	}
	if len(want.Faults) != len(got.Faults) {
		return fmt.Sprintf("faults: want %d, got %d", len(want.Faults), len(got.Faults))
	}
	for i, x := range want.Faults {
		y := got.Faults[i]
		if !near(x.LostSeconds, y.LostSeconds) {
			return fmt.Sprintf("faults[%d].lost_seconds: want %v, got %v", i, x.LostSeconds, y.LostSeconds)
		}
		x.LostSeconds, y.LostSeconds = 0, 0
		if d := differJSON(x, y); d != "" {
			return fmt.Sprintf("faults[%d]: %s", i, d)
		}
	}
	if d := differJSON(want.RouteLossNS, got.RouteLossNS); d != "" {
		return "route_loss_ns: " + d
	}
	return ""
}

func tail(steps []Step, i int) []Step { return steps[min(i, len(steps)):min(i+3, len(steps))] }

// differJSON compares two values by what they are written as.
func differJSON(want, got any) string {
	a, err1 := json.Marshal(want)
	b, err2 := json.Marshal(got)
	if err1 != nil || err2 != nil {
		return fmt.Sprint(err1, err2)
	}
	if bytes.Equal(a, b) {
		return ""
	}
	return fmt.Sprintf("want %s, got %s", a, b)
}
