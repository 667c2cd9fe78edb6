package words

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"
)

func TestRoll(t *testing.T) {
	for _, c := range []struct {
		names string
		width int
		want  string
	}{
		{"a", 10, "a"}, {"a b", 10, "a and b"}, {"a b c", 20, "a, b and c"},
		{"aaaa bbbb cccc dddd", 22, "aaaa, bbbb and 2 more"}, {"aaaa bbbb cccc dddd", 100, "aaaa, bbbb, cccc and dddd"},
		{"aaaaaaaaaaaa bbbbbbbbbb", 16, "aaaaaaaaaaaa and 1 more"}, // one name is always there
	} {
		if got := Roll(strings.Fields(c.names), c.width); got != c.want {
			t.Errorf("%q in %d: got %q, want %q", c.names, c.width, got, c.want)
		}
	}
}

// Whatever the number of names, the roll fits and counts all of them.
func TestRollFitsAndCounts(t *testing.T) {
	for n := 1; n < 1200; n++ {
		names := make([]string, n)
		for i := range names {
			names[i] = fmt.Sprintf("leaf-%d-%02d", i/40, i%40)
		}
		text := Roll(names, 62)
		if len(text) > 62 {
			t.Fatalf("%d names: %q has %d characters", n, text, len(text))
		}
		said, more := strings.Count(text, "leaf-"), 0
		if _, rest, cut := strings.Cut(strings.ReplaceAll(text, ",", ""), " and "); cut && strings.HasSuffix(rest, " more") {
			if _, err := fmt.Sscanf(rest, "%d more", &more); err != nil {
				t.Fatal(err)
			}
		}
		if said+more != n {
			t.Fatalf("%d names: %q speaks of %d", n, text, said+more)
		}
	}
}

func TestFitAndNote(t *testing.T) {
	if got := Fit("äöü and more", 6); got != "äöü..." {
		t.Errorf("%q", got)
	}
	if got := Fit("äöü", 3); got != "äöü" {
		t.Errorf("%q", got)
	}
	var b strings.Builder
	Note(&b, strings.Repeat("wörter ", 60))
	for line := range strings.Lines(b.String()) {
		if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > 98 {
			t.Errorf("%d characters: %q", n, line)
		}
	}
}

// Columns line up, whatever is in the cells, and no line ends in blanks.
func TestTable(t *testing.T) {
	var b strings.Builder
	Table(&b, 1, []string{"näme", "n"}, [][]string{{"a", "1"}, {"long one", ""}, {"b", "1,234"}})
	want := "  näme          n\n  a             1\n  long one\n  b         1,234\n"
	if b.String() != want {
		t.Errorf("got\n%swant\n%s", b.String(), want)
	}
	defer func() {
		if recover() == nil {
			t.Error("a row of the wrong length is not refused")
		}
	}()
	Table(&b, 1, []string{"a", "b"}, [][]string{{"1"}})
}

func TestSpan(t *testing.T) {
	for ns, want := range map[int64]string{0: "0 s", 1500: "1.5 us", 112_000_000: "112 ms", 20e9: "20 s", 119e9: "119 s",
		150e9: "2.5 min", 7200e9: "2 h", 90 * 86400e9: "90 d"} {
		if got := Span(ns); got != want {
			t.Errorf("%d ns: got %q, want %q", ns, got, want)
		}
	}
}
