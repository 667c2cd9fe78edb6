package sim

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The rules of the deterministic core (DEVELOPERS.md) and the scripts that hold
// each, worked by hand: cases by number, below 0 those of servers (homing-NN), stories
// by name. Whatever holds a rule besides is named in its line. S32 to S34 are no rules.
var heldRules = []struct {
	rule  int
	what  string
	cases []int
	story []string
	later string // why nothing holds it yet
}{
	{1, "fabric, parts, groups (names, order and counts: model/fabric)", []int{10, 21}, []string{"s01-group-cut", "s01-group-lossy", "s01-group-routers"}, ""},
	{2, "destinations are the leaves", []int{1, 10}, nil, ""},
	{3, "all converged at 0, or every machine in its last state", []int{1, 51}, []string{"s15-doubling-a-wound", "s15-doubling-b-wound"}, ""},
	{4, "rounds of an instant", []int{21, 60, 61, 64, 66, 71}, []string{"s04-timer-before-arrival", "s01-group-routers"}, ""},
	{5, "loss of light", []int{1, 11, 29}, []string{"s05-light-at-the-instant"}, ""},
	{6, "settle, and a router's return", []int{2, 7, 8, 26, 62, 74}, []string{"s06-short-outage", "s06-settle-anew"}, ""},
	{7, "BFD (run lengths: sim/detection)", []int{12, 29, 62, 63, 86}, []string{"s28-hung-router", "s07-negotiated"}, ""},
	{8, "hellos", []int{66}, []string{"s08-hellos", "s08-three-way"}, ""},
	{9, "LSP generation (back-off: sim/linkstate)", []int{2, 12, 24}, []string{"s06-short-outage"}, ""},
	{10, "an origination is an event at its origin", []int{1, 8}, nil, ""},
	{11, "flooding, and slow hops", []int{1, 12, 53}, []string{"s11-lossy", "s11-reduced", "s11-reduced-repair"}, ""},
	{12, "exchange, and what is under way", []int{8, 26, 60, 65, 75}, []string{"s12-late-adjacency", "s12-unseen-cut", "s12-hosts"}, ""},
	{13, "pacing", nil, []string{"s13-pacing", "s13-pacing-burst", "s13-pacing-dead", "s13-pacing-unseen-cut"}, ""},
	{14, "what is an event", []int{1}, []string{"s14-second-lsp-counts", "s14-second-lsp-does-not-count"}, ""},
	{15, "SPF delay (machines: sim/linkstate)", []int{1, 2, 36, 51}, []string{"s15-doubling-a-wound", "s15-doubling-b-wound", "s15-mixed-slow-leaf", "s15-mixed-slow-spine"}, ""},
	{16, "SPF (routes: sim/paths)", []int{13, 21}, []string{"s16-metrics", "s16-parallel-change-places", "s16-parallel-one-direction"}, ""},
	{17, "table writes, at their pace or never", []int{16, 53, 83}, []string{"s17-unwritten", "s17-families-and-labels", "s17-prefixes-families-and-labels", "s17-shared-groups", "s17-ordered"}, ""},
	{18, "local prune, and other repairs", []int{3, 17, 24, 82}, []string{"s18-repair-tunnel", "s18-local-delay", "s18-local-delay-short", "s18-no-prune-wound"}, ""},
	{19, "overload bits", []int{7, 18, 26, 78}, []string{"s19-ready-in-time", "s19-no-bit", "s19-trap"}, ""},
	{20, "demand, dead leaves", []int{8}, nil, ""},
	{21, "choice of next hop (loops: sim/forwarding)", []int{1, 19}, nil, ""},
	{22, "losses and how they combine", []int{4, 6, 67, 68, 69}, []string{"s22-losses-together", "s22-size-twice", "s22-sizes-beside-losses", "s22-sizes-in-series", "s22-sizes-narrow-first", "s01-group-lossy"}, ""},
	{23, "who is charged", []int{24, 50, 67, 68, 70, 71, 72, 74, 76, 79, 81, 83, 84}, []string{"s22-losses-together", "s22-size-twice", "s22-sizes-beside-losses", "s22-sizes-in-series", "s22-sizes-narrow-first", "s23-lost-table"}, ""},
	{24, "Full Convergence Time", []int{1, 7, 8}, []string{"s24-flapping", "s05-light-at-the-instant"}, ""},
	{25, "Route Loss of Connectivity Period", []int{1, 50, 70, 85}, []string{"s22-losses-together", "s22-size-twice"}, ""},
	{26, "drains", []int{13, 64}, []string{"s26-one-way-drain", "s26-router-drain"}, ""},
	{27, "homing (twin: servers_twin_test.go)", []int{-1, -2, -3, -4, -5, -6}, nil, ""},
	{28, "hung routers", []int{66}, []string{"s28-hung-router", "s28-hung-control-plane"}, ""},
	{29, "restart with tables kept", []int{15, 73, 77}, []string{"s29-grace-over"}, ""},
	{30, "slow control planes", []int{53}, []string{"s18-repair-tunnel", "s19-no-bit"}, ""},
	{31, "entries that are never written", []int{80}, []string{"s17-unwritten"}, ""},
}

// Every rule has what holds it, every script is there, and no script is left out.
func TestEveryRuleIsHeld(t *testing.T) {
	used := map[string]bool{}
	for i, r := range heldRules {
		if r.rule != i+1 {
			t.Fatalf("S%d stands in place %d", r.rule, i+1)
		}
		held := 0
		for _, n := range r.cases {
			name := fmt.Sprintf("case-%03d.json", n)
			if n < 0 {
				name = fmt.Sprintf("homing-%02d.json", -n)
			}
			used[name] = true
			held++
			for _, file := range []string{name, strings.Replace(name, ".json", ".expected.json", 1)} {
				if _, err := os.Stat(filepath.Join("testdata/cases", file)); err != nil {
					t.Errorf("S%d, %s: %v", r.rule, r.what, err)
				}
			}
		}
		for _, name := range r.story {
			used[name] = true
			held++
			if _, err := os.Stat(filepath.Join("testdata/story", name+".txt")); err != nil {
				t.Errorf("S%d, %s: %v", r.rule, r.what, err)
			}
		}
		if (held > 0) == (r.later != "") {
			t.Errorf("S%d, %s: held by %d scripts, %q", r.rule, r.what, held, r.later)
		}
	}
	for _, y := range stories(t) {
		n := 0
		if _, err := fmt.Sscanf(y.name, "s%02d-", &n); err != nil || n < 1 || n > len(heldRules) || !slices.Contains(heldRules[n-1].story, y.name) {
			t.Errorf("%s is not among what holds the rule in its name", y.name)
		}
	}
	cases, err := filepath.Glob("testdata/cases/*-*[0-9].json")
	if err != nil || len(cases) < 30 {
		t.Fatalf("%d cases, %v", len(cases), err)
	}
	for _, file := range cases {
		if name := filepath.Base(file); !used[name] {
			t.Errorf("%s holds no rule", name)
		}
	}
}
