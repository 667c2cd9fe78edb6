package scenarios

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var rewrite = flag.Bool("rewrite", false, "rewrite the expected texts in testdata")

// Files in testdata/broken hold cases: a line "case NAME", lines "--set KEY=VALUE", the scenario, "----", and the exact text that
// must be said of it (empty: nothing is wrong with it).
func TestBroken(t *testing.T) {
	files, err := filepath.Glob("testdata/broken/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatalf("no broken scenarios: %v", err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var out strings.Builder
		for i, text := range strings.Split(string(data), "\ncase ") {
			if i > 0 {
				out.WriteString("\ncase ")
			} else {
				text = strings.TrimPrefix(text, "case ")
				out.WriteString("case ")
			}
			name, rest, _ := strings.Cut(text, "\n")
			input, want, _ := strings.Cut(rest, "----\n")
			out.WriteString(name + "\n" + input + "----\n")
			got := judge(input)
			out.WriteString(got)
			if diff := cmp.Diff(strings.TrimRight(want, "\n"), strings.TrimRight(got, "\n")); diff != "" && !*rewrite {
				t.Errorf("%s, %s (-want +got):\n%s", file, name, diff)
			}
		}
		if *rewrite {
			if err := os.WriteFile(file, []byte(out.String()), 0o666); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// judge returns what is said of one case.
func judge(input string) string {
	var set []string
	for strings.HasPrefix(input, "--set ") {
		arg, rest, _ := strings.Cut(input, "\n")
		set, input = append(set, strings.TrimPrefix(arg, "--set ")), rest
	}
	_, p := Parse("x.yaml", []byte(input), set...)
	return p.String()
}
