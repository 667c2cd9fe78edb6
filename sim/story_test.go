package sim

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"halflight/model"
)

// story is a script that holds a rule: what to play, and what must come out. The
// form is that of testdata/story/README.txt.
type story struct {
	name   string
	set    []string
	script []string
	want   []string
}

// stories reads them all.
func stories(t *testing.T) (all []story) {
	t.Helper()
	files, err := filepath.Glob("testdata/story/s[0-9][0-9]-*.txt")
	if err != nil || len(files) == 0 {
		t.Fatal("the stories are missing", err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		y := story{name: strings.TrimSuffix(filepath.Base(file), ".txt")}
		below := false
		for lines := bufio.NewScanner(bytes.NewReader(text)); lines.Scan(); {
			line := strings.TrimSpace(lines.Text())
			switch {
			case line == "" || strings.HasPrefix(line, "#"):
			case line == "----":
				below = true
			case below:
				y.want = append(y.want, line)
			case strings.HasPrefix(line, "set "):
				y.set = append(y.set, strings.TrimPrefix(line, "set "))
			case strings.HasPrefix(line, "{"):
				y.script = append(y.script, "  - "+line)
			default:
				t.Fatalf("%s: %q", y.name, line)
			}
		}
		all = append(all, y)
	}
	return all
}

// world builds the world of a story.
func (y *story) world(t *testing.T) *model.World {
	t.Helper()
	settings, err := os.ReadFile("testdata/story/settings.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return build(t, y.name, string(settings)+"script:\n"+strings.Join(y.script, "\n")+"\n", y.set...)
}

// Every story, its rule in its name: what comes out is what was worked by hand.
func TestStories(t *testing.T) {
	for _, y := range stories(t) {
		t.Run(y.name, func(t *testing.T) {
			if len(y.script) == 0 || len(y.want) < 2 {
				t.Fatal("nothing to play, or nothing expected")
			}
			told := retell(Script(y.world(t)))
			for kind, lines := range byKind(y.want) {
				if got := told[kind]; !slices.EqualFunc(got, lines, alike) {
					t.Errorf("got\n  %s\nwant\n  %s", strings.Join(got, "\n  "), strings.Join(lines, "\n  "))
				}
			}
		})
	}
}

// byKind sorts lines by their first word, lines of routers spread to one each.
func byKind(lines []string) map[string][]string {
	out := map[string][]string{}
	for _, line := range lines {
		first, rest, _ := strings.Cut(line, " ")
		switch first {
		case "lost", "total", "fault", "route":
			out[first] = append(out[first], line)
		default:
			for _, name := range strings.Split(first, ",") {
				out["router"] = append(out["router"], name+" "+rest)
			}
		}
	}
	for _, list := range []string{"router", "route"} {
		slices.Sort(out[list])
		if len(out[list]) == 0 {
			delete(out, list)
		}
	}
	return out
}

// retell puts an outcome into lines of the same form.
func retell(p *Played) map[string][]string {
	var lines []string
	for _, s := range p.LostShare {
		lines = append(lines, fmt.Sprintf("lost %s %v", span(s.At), s.Share))
	}
	lines = append(lines, fmt.Sprintf("total %v", p.LostSeconds))
	for _, f := range p.Faults {
		lines = append(lines, fmt.Sprintf("fault %d full=%s back=%s alone=%s lost=%v", f.Index, span(f.FullConvergence), span(f.RepairConvergence), span(f.Isolated), f.LostSeconds))
	}
	for _, r := range p.RouteLoss {
		lines = append(lines, fmt.Sprintf("route %s>%s %s", r.From, r.To, span(r.Time)))
	}
	for _, r := range p.Routers {
		lines = append(lines, fmt.Sprintf("%s out=%s runs=%s", r.Name, spans(r.Originations), spans(r.Runs)))
	}
	return byKind(lines)
}

func span(ns int64) string {
	if ns < 0 {
		return "none"
	}
	return time.Duration(ns).String()
}

func spans(instants []int64) string {
	if len(instants) == 0 {
		return "none"
	}
	var out []string
	for _, t := range instants {
		out = append(out, span(t))
	}
	return strings.Join(out, ",")
}

// alike says whether two lines are the same but for how a number is written:
// shares and lost seconds may differ by 1e-12 of their size.
func alike(got, want string) bool {
	a, b := strings.Fields(got), strings.Fields(want)
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		key, x, _ := strings.Cut(a[i], "=")
		other, y, _ := strings.Cut(b[i], "=")
		if x == "" {
			key, x, other, y = "", key, "", other
		}
		u, okA := new(big.Rat).SetString(x)
		v, okB := new(big.Rat).SetString(y)
		switch {
		case key != other || okA != okB:
			return false
		case !okA && x != y:
			return false
		case okA:
			p, _ := u.Float64()
			q, _ := v.Float64()
			if math.Abs(p-q) > 1e-12*math.Max(1, math.Abs(q)) {
				return false
			}
		}
	}
	return true
}
