package main

import (
	"bytes"
	"testing"
)

func TestColours(t *testing.T) {
	for _, c := range []struct {
		terminal      bool
		noColor, term string
		want          bool
	}{{true, "", "xterm-256color", true}, {true, "1", "xterm", false}, {true, "0", "xterm", false}, {true, "", "dumb", false}, {true, "", "", false}, {false, "", "xterm", false}} {
		env := func(name string) string { return map[string]string{"NO_COLOR": c.noColor, "TERM": c.term}[name] }
		if got := colours(c.terminal, env); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
	if isTerminal(&bytes.Buffer{}) {
		t.Error("a buffer is no terminal")
	}
}
