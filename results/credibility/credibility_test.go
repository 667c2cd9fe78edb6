package credibility

import (
	"slices"
	"testing"
)

// Levels are given by rule, one line a factor of NASA-STD-7009A.
func TestLevels(t *testing.T) {
	e := &Evidence{Program: "0.1 abc", Digest: "1f", Replications: 1}
	want := func(what string, levels ...int) {
		t.Helper()
		var got []int
		for _, f := range Statement(e) {
			if f.Says == "" || f.Rule == "" {
				t.Errorf("%s says nothing", f.Name)
			}
			got = append(got, f.Level)
		}
		if !slices.Equal(got, levels) {
			t.Errorf("%s: levels %v, want %v", what, got, levels)
		}
	}
	want("nothing known", 0, 3, 1, 0, 0, 0, 0, 3)
	e.Replications, e.Program = 19, "development"
	e.Assumptions = []Assumption{{Key: "timers.a", Grade: "A"}, {Key: "timers.b", Grade: "B"}, {Key: "failures.c.life", Grade: "D", Unsourced: true}}
	want("defaults, few replications", 2, 2, 1, 1, 1, 0, 0, 2)
	e.Replications, e.Alone = 20, true
	want("one at a time", 2, 2, 1, 1, 2, 2, 0, 2)
	e.Together, e.Assumptions[2] = true, Assumption{Key: "failures.c.life", Given: true, Grade: "A"}
	want("worlds, given with a source", 3, 2, 1, 3, 3, 3, 0, 2)
	e.Partial = "interrupted"
	want("partial", 3, 2, 1, 3, 1, 3, 0, 1)
	e.Assumptions = e.Assumptions[:1]
	want("all primary", 4, 2, 1, 0, 1, 3, 0, 1)
}
