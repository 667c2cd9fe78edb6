package story

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"halflight/sim"
	"halflight/sim/record"
)

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		text string
		most int
		want []string
	}{
		{"a b c", 5, []string{"a b c"}}, {"a b c", 4, []string{"a b", "c"}}, {"", 4, []string{""}},
		{"aaaaaaaa b", 6, []string{"aaa...", "b"}}, {"über über", 9, []string{"über über"}},
	} {
		if got := wrap(c.text, c.most); !slices.Equal(got, c.want) {
			t.Errorf("%q in %d: %q, want %q", c.text, c.most, got, c.want)
		}
	}
}

// A tale with all that a fault can have, and names of any length, fits the page
// and loses no word of what happened.
func TestTale(t *testing.T) {
	var b strings.Builder
	Tale(&b, "harbour", 7, 3, &sim.Tale{Kind: "lossy", Mode: "optic-dirty", Phases: []string{"unnoticed", "noticed"}, Cut: true,
		Lines: []sim.Line{{At: 0, Text: "lossy begins on leaf-0-00>spine-0-00", Share: 0.01},
			{At: 2 * 86400e9, Text: strings.Repeat("leaf-0-00 notices leaf-0-00~spine-0-00 down; ", 9) + "the end", Share: 0.005},
			{At: 3*86400e9 + 1, Share: 0.002}, {At: 3*86400e9 + 2, Share: 0}},
		Fault: record.Fault{Index: 12, On: "group:" + strings.Repeat("long", 50), Onset: 5e9, End: 4 * 86400e9, Background: record.Same,
			FullConvergence: record.None, RepairConvergence: record.None, SPFWait: 5e9, RouteLoss: 1e6, Pairs: 4, Touched: 1500,
			Sighted: 60e9, SightedBy: "counters", Mitigated: 120e9, LostSeconds: 4, Phases: []float64{3, 1}}})
	text := b.String()
	for line := range strings.Lines(text) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > width {
			t.Errorf("%d characters: %s", n, line)
		}
	}
	if got := strings.Count(text, "notices"); got != 9 || !strings.Contains(text, "the end") {
		t.Errorf("%d of 9 notices are told", got)
	}
	for _, want := range []string{"fault 12, optic-dirty (lossy) on\n  group:long", "in noise of the same part's making", "less is lost\n",
		"nothing is lost any more\n", "More happened than is told", "Fault 12: 4 lost seconds of all demand\n", "75 %", "25 %", "sighted by",
		"counters", "1,500"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is missing in:\n%s", want, text)
		}
	}
	if strings.Contains(text, "Full Convergence") {
		t.Error("a time is told that does not exist")
	}
}
