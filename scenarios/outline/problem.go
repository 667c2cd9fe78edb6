package outline

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"halflight/scenarios/wording"
)

// problemsMax is how many problems are kept; the rest are counted. Nobody reads more, and garbage can hold a million.
const problemsMax = 50

// Problem is one thing that is wrong with a scenario.
type Problem struct {
	Path         string // key path, "" for the file itself
	Text         string // what is wrong
	Hint         string // what to do about it, may be empty
	Line, Column int    // from 1; 0 when not in the file
	Set          string // the --set argument that is wrong, "" for the file
	order        int
}

// Problems are all problems of one scenario.
type Problems struct {
	File   string
	List   []Problem // in the order found; String sorts by place
	More   int       // found beyond the limit of the list
	lines  []string
	source *Outline // places of key paths
}

// Count returns how many problems were found.
func (p *Problems) Count() int { return len(p.List) + p.More }

// Any reports whether there is a problem.
func (p *Problems) Any() bool { return len(p.List) > 0 }

// Add adds a problem with the value at a key path (or, when that was not written, with its nearest written parent, or with the
// file). hint may be empty. Paths are those of Outline.Place.
func (p *Problems) Add(path, text, hint string) {
	at := place{}
	if p.source != nil {
		at, _ = p.source.find(path)
	}
	p.add(at, path, text, hint)
}

// add adds a problem at a place.
func (p *Problems) add(at place, path, text, hint string) {
	if len(p.List) >= problemsMax {
		p.More++
		return
	}
	p.List = append(p.List, Problem{Path: path, Text: text, Hint: hint,
		Line: at.line, Column: at.column, Set: at.set, order: at.order})
}

// Error makes Problems usable as an error; it is String.
func (p *Problems) Error() string { return p.String() }

// String renders all problems by line and column, those of --set arguments after those of the file: place, key path, what is
// wrong, the source line and a caret with the hint. It is empty when there is no problem, and ends with a newline otherwise.
func (p *Problems) String() string {
	list := slices.Clone(p.List)
	slices.SortStableFunc(list, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.order, b.order), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	var out strings.Builder
	for _, q := range list {
		p.render(&out, q)
	}
	if p.More > 0 {
		fmt.Fprintf(&out, "%s: and %d more problems\n", p.File, p.More)
	}
	return out.String()
}

// render writes one problem.
func (p *Problems) render(out *strings.Builder, q Problem) {
	text := q.Text
	if q.Path != "" && !strings.HasPrefix(q.Set, q.Path+"=") {
		text = q.Path + ": " + text
	}
	switch {
	case q.Set != "":
		fmt.Fprintf(out, "--set %s: %s\n", wording.Clip(q.Set), text)
	case q.Line == 0:
		fmt.Fprintf(out, "%s: %s\n", p.File, text)
	case q.Column == 0:
		fmt.Fprintf(out, "%s:%d: %s\n", p.File, q.Line, text)
	default:
		fmt.Fprintf(out, "%s:%d:%d: %s\n", p.File, q.Line, q.Column, text)
	}
	if q.Line == 0 || q.Line > len(p.lines) {
		if q.Hint != "" {
			fmt.Fprintf(out, "        %s\n", q.Hint)
		}
		return
	}
	line, column := window(p.lines[q.Line-1], q.Column)
	fmt.Fprintf(out, "%6d | %s\n", q.Line, line)
	mark := q.Hint
	if column > 0 {
		mark = strings.TrimRight(strings.Repeat(" ", column-1)+"^ "+q.Hint, " ")
	}
	if mark != "" {
		fmt.Fprintf(out, "       | %s\n", mark)
	}
}

// windowWidth is the most characters of a source line that are shown.
const windowWidth = 110

// window cuts a source line to what can be shown around a column (from 1, 0 for none), replaces what would not print by
// spaces, and returns the column in what is left.
func window(line string, column int) (string, int) {
	runes := []rune(strings.TrimRight(line, "\r\n"))
	for i, r := range runes {
		if !unicode.IsPrint(r) || r == unicode.ReplacementChar {
			runes[i] = ' '
		}
	}
	column = min(column, len(runes)+1)
	from := 0
	if len(runes) > windowWidth && column > windowWidth*2/3 {
		from = column - windowWidth*2/3
	}
	to := min(len(runes), from+windowWidth)
	return strings.TrimRight(string(runes[from:to]), " "), max(column-from, 0)
}
