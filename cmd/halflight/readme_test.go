package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"halflight/results"
	"halflight/results/table"
	"halflight/sim/impact"
)

// README's dictionaries are those of the program, line by line.
func TestReadmeExplainsEveryFigure(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	want := []string{}
	for _, e := range results.Dictionary() {
		want = append(want, fmt.Sprintf("| `%s` | %s | %s |", e.Pattern, e.Unit, e.Meaning))
	}
	for _, e := range table.Dictionary() {
		unit := e.Unit
		if unit == "" {
			unit = "-"
		}
		want = append(want, fmt.Sprintf("| %s | `%s` | %s | %s |", e.Table, e.Pattern, unit, e.Meaning))
	}
	for _, phase := range impact.PhaseNames() {
		if !strings.Contains(string(text), "\n  | `"+phase+"` | ") {
			t.Errorf("README.md does not say what the phase %s is", phase)
		}
	}
	for _, line := range want {
		if !strings.Contains(string(text), "\n"+line+"\n") {
			t.Errorf("README.md has no line %q", line)
		}
	}
}
