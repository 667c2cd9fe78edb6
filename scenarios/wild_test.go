package scenarios

import (
	"math/rand/v2"
	"strings"
	"testing"
)

// One clear problem for each kind of text that is no scenario, whatever its size, and no panic.
func TestWild(t *testing.T) {
	bomb := "a: &a [x, x, x, x, x, x, x, x, x]\n"
	for c := 'b'; c <= 'k'; c++ {
		bomb += string(c) + ": &" + string(c) + " [" + strings.TrimSuffix(strings.Repeat("*"+string(c-1)+", ", 9), ", ") + "]\n"
	}
	noise := make([]byte, 1<<20)
	random := rand.New(rand.NewPCG(1, 2))
	for i := range noise {
		noise[i] = byte(random.Uint32())
	}
	printable := make([]byte, 1<<20)
	for i := range printable {
		printable[i] = " \n:-[]{},abcdefg#'\"&*!|>%@0123456789"[random.IntN(36)]
	}
	for name, c := range map[string]struct{ text, want string }{
		"empty":           {"", "there is nothing in it"},
		"blank":           {" \n\n", "there is nothing in it"},
		"null":            {"~", "there is nothing in it"},
		"markers":         {"---\n...\n", "there is nothing in it"},
		"list":            {"[1, 2]", "this is a list"},
		"tabs":            {"fabric:\n\tclos: {}\n", "use spaces"},
		"bomb":            {bomb, "an anchor (&a) is not allowed"},
		"self":            {"a: &a {b: *a}", "an anchor (&a) is not allowed"},
		"deep lists":      {strings.Repeat("[", 9000) + strings.Repeat("]", 9000), "nested too deeply"},
		"deep maps":       {strings.Repeat("{a: ", 9000) + strings.Repeat("}", 9000), "nested too deeply"},
		"open lists":      {strings.Repeat("[", 1<<20), "cannot be read as YAML"},
		"one word of 1MB": {strings.Repeat("x", 1<<20), "this is the value"},
		"noise":           {string(noise), "cannot be read as YAML"},
		"printable noise": {string(printable), "x.yaml"},
		"binary zero":     {"horizon: 90d\x00", "cannot be read as YAML"},
		"half a rune":     {"horizon: \xc3", "cannot be read as YAML"},
		"too large":       {strings.Repeat("# \n", 3<<20), "is larger than 8 MiB"},
	} {
		s, p := Parse("x.yaml", []byte(c.text))
		text := p.String()
		if len(p.List) != 1 || p.More != 0 || !strings.Contains(text, c.want) || len(text) > 500 || s == nil {
			t.Errorf("%s: %d problems, want one with %q:\n%.600s", name, len(p.List), c.want, text)
		}
	}
}

// A million problems are counted, not printed.
func TestManyProblems(t *testing.T) {
	_, p := Parse("x.yaml", []byte(strings.Repeat("a: b\n", 200_000)))
	if text := p.String(); len(p.List) != 50 || p.More != 199_950 || !strings.HasSuffix(text, "and 199950 more problems\n") {
		t.Errorf("%d problems, %d more:\n%.300s", len(p.List), p.More, text)
	}
}

// FuzzParse looks for texts and --set arguments that make Parse panic, or say nothing about what it cannot read.
func FuzzParse(f *testing.F) {
	for _, name := range Shipped() {
		data, _ := Source(name)
		f.Add(data, "timers.spf.doubling.form=b")
	}
	for _, text := range []string{"", "[", "a: &a [*a]", "<<: {a: 1}", "? [a]\n: b", "fabric: {clos: ~}", "script: [{on: 1}]", "\t", "!!map {}",
		"failures: [~, {use: default}, {life: {table: [~]}}]", "groups: [{members: [a~b, c>d#1, group:x]}]", "1: 2", "horizon: 1e99y",
		"detection: {bfd: {jitter: ~}}\noperations: {crew: ~, reaction: '', first_repair: []}", "name: 'a\nb'"} {
		f.Add([]byte(text), "failures.0.life={a")
	}
	f.Fuzz(func(t *testing.T, data []byte, set string) {
		s, p := Parse("x.yaml", data, set)
		if s == nil || p == nil || p.Any() != (p.String() != "") {
			t.Fatal("neither a scenario nor a problem")
		}
		p.Add("failures.0.life", "is wrong", "hint")
		_ = p.String()
		s.Place("failures.0")
		if typed := s.Typed(); len(p.List) == 1 && typed == nil {
			t.Fatal("a good scenario cannot be written")
		}
	})
}
