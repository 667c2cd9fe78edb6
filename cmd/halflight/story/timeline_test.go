package story

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"halflight/model"
	"halflight/scenarios"
	"halflight/sim"
)

// The worked check (sim/testdata/cases/case-001): detected 30 ms after the cut, SPF
// 50 ms after each router's first event, 30 ms more until its table is written: the
// leaf and the spine at the link at 110 ms, the other leaves 2 ms later; the leaf
// prunes as it detects. No line of any case's timelines is wider than 100.
func TestTimeline(t *testing.T) {
	files, err := filepath.Glob("../../../sim/testdata/cases/case-???.json")
	if err != nil || len(files) < 24 {
		t.Fatal("the scripted cases are missing", err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		s, problems := scenarios.Parse(file, text)
		if problems.Any() {
			t.Fatal(problems.String())
		}
		w, more := model.Build(s)
		if len(more) > 0 {
			t.Fatal(more)
		}
		var b strings.Builder
		timeline(&b, w, sim.Script(w))
		for _, line := range strings.Split(b.String(), "\n") {
			if n := utf8.RuneCountInString(line); n > width {
				t.Errorf("%s: a line of %d characters: %s", file, n, line)
			}
		}
		if filepath.Base(file) != "case-001.json" {
			continue
		}
		for _, want := range []string{"leaf   notice", "30 ms (1)", "80 ms to 82 ms (3)", "30 ms to 112 ms (3)", "110 ms (1)"} {
			if !strings.Contains(b.String(), want) {
				t.Errorf("%q is missing:\n%s", want, b.String())
			}
		}
	}
}
