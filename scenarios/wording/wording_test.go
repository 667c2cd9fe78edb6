package wording

import (
	"slices"
	"strings"
	"testing"
)

// Words near to those known, and words that are not.
func TestNearest(t *testing.T) {
	known := []string{"initial_delay", "short_delay", "long_delay", "time_to_learn", "holddown", "pods", "tops"}
	for word, want := range map[string]string{"inital_delay": "initial_delay", "Long-Delay": "long_delay", "hold_down": "holddown",
		"time to learn": "time_to_learn", "pod": "pods", "tosp": "tops", "x": "", "": "", "wombat": "", strings.Repeat("pods", 50): ""} {
		if got := Nearest(word, known); got != want {
			t.Errorf("nearest to %q is %q, want %q", word, got, want)
		}
	}
	// Counted by hand; a swap of neighbours is one edit.
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "abc", 3}, {"abc", "", 3}, {"abc", "abc", 0}, {"abc", "acb", 1}, {"kitten", "sitting", 3}, {"dealy", "delay", 1}} {
		if got := edits(c.a, c.b); got != c.want {
			t.Errorf("%q to %q: %d edits, want %d", c.a, c.b, got, c.want)
		}
	}
	if got := Spelling("x", []string{"tops", "pods", "tops"}); got != "known here: pods, tops" {
		t.Errorf("what was asked for twice: %q", got)
	}
	if !slices.Contains(known, "pods") {
		t.Fatal("nearest changed its argument")
	}
}

// Long or unprintable words are cut and cleaned.
func TestClip(t *testing.T) {
	for word, want := range map[string]string{"plain": "plain", "a\tb": "a?b", "\xff": "?", strings.Repeat("é", 60): strings.Repeat("é", 48) + "...",
		strings.Repeat("x", 1<<20): strings.Repeat("x", 48) + "..."} {
		if got := Clip(word); got != want {
			t.Errorf("%.20q is clipped to %q, want %q", word, got, want)
		}
	}
}
