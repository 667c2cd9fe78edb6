// Package swing says how far results move with the inputs: one at a time, over
// the values of one or two keys, and in worlds whose unsure inputs are drawn
// together.
//
// It knows sets of replications and names of inputs, not how an input changes a
// scenario. It is tested by sets whose answer is known by construction.
package swing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"halflight/results/contrast"
	"halflight/results/unit"
)

// Input is one that is varied, with the two values it is given.
type Input struct {
	Key   string `json:"key"`
	Value string `json:"value"` // in force
	Low   string `json:"low"`
	High  string `json:"high"`
	Range string `json:"range"` // as documented
	Grade string `json:"grade"`
}

// Sourceless says whether an input rests on an assumption: grade D, alone or
// beside another.
func (in *Input) Sourceless() bool { return slices.Contains(strings.Split(in.Grade, "/"), "D") }

// Table is what each input does to one measure, largest swing first.
type Table struct {
	Measure, Unit string
	Present       contrast.Value
	Seen          bool // something was seen of the measure in some setting
	Rows          []Row
}

// Row is one input. Size is how far apart the largest and the least of the three
// values are (low end, present, high end); Sure says that one end differs from the
// present beyond doubt. Blank says that nothing can be told: the three do not differ,
// but the measure was not seen at one of them, or at none.
type Row struct {
	Input     Input
	Low, High contrast.Value
	Less      [2]contrast.Difference // of the low and the high end, less the present
	Size      float64
	Sure      bool
	Blank     bool
}

// OneAtATime reads a comparison whose sides are the present setting and then the
// low and the high end of each input in turn.
func OneAtATime(c *contrast.Contrast, inputs []Input, measure string) (*Table, error) {
	if len(c.Sides) != 1+2*len(inputs) {
		panic(fmt.Sprintf("swing: %d sides of %d inputs", len(c.Sides), len(inputs)))
	}
	r := c.Find(measure)
	if r == nil {
		return nil, fmt.Errorf("there is no measure %s", measure)
	}
	t := &Table{Measure: r.Name, Unit: r.Unit, Present: r.Values[0]}
	for i, in := range inputs {
		row := Row{Input: in, Low: r.Values[1+2*i], High: r.Values[2+2*i], Less: [2]contrast.Difference{r.Differences[2*i], r.Differences[2*i+1]}}
		least, most, known := t.ends(&row)
		if most > least {
			row.Size = most - least
		}
		row.Blank = row.Size == 0 && (known < 3 || most == 0)
		t.Seen = t.Seen || known > 0 && most > 0
		row.Sure = row.Less[0].Sure || row.Less[1].Sure
		t.Rows = append(t.Rows, row)
	}
	slices.SortStableFunc(t.Rows, func(a, b Row) int { return cmp.Compare(b.Size, a.Size) })
	return t, nil
}

// ends are the least and the largest of a row's three values that are known, and
// how many are.
func (t *Table) ends(r *Row) (least, most float64, known int) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, v := range []contrast.Value{t.Present, r.Low, r.High} {
		if v.Known {
			least, most, known = min(least, v.Value), max(most, v.Value), known+1
		}
	}
	return least, most, known
}

// Untold says that nothing can be told of any input.
func (t *Table) Untold() bool { return t.blanks() == len(t.Rows) }

// blanks counts the inputs of which nothing can be told.
func (t *Table) blanks() (n int) {
	for i := range t.Rows {
		if t.Rows[i].Blank {
			n++
		}
	}
	return n
}

// longer is what makes a measure seen that was not.
const longer = "a longer horizon or more replications would tell (--horizon, --replications)"

// NotSeen says of a measure that no setting showed anything of it.
func NotSeen(measure string) string {
	return fmt.Sprintf("Nothing was seen of %s in any setting, so what moves it is not known; %s.", measure, longer)
}

// largest is how many swings the sentence speaks of.
const largest = 5

// Sentence says how many of the largest swings rest on inputs without a source.
func (t *Table) Sentence() string {
	var top []Row
	for _, r := range t.Rows {
		if r.Size > 0 && len(top) < largest {
			top = append(top, r)
		}
	}
	blank := t.blanks()
	switch {
	case !t.Seen:
		return NotSeen(t.Measure)
	case t.Untold():
		return fmt.Sprintf("Too little was seen of %s, at present or at the ends, so what moves it is not known; %s.", t.Measure, longer)
	case len(top) == 0 && blank > 0:
		return fmt.Sprintf("No unsure input was seen to move %s; of %d of %d nothing can be told, since it was not seen at all their values: %s.", t.Measure, blank, len(t.Rows), longer)
	case len(top) == 0:
		return fmt.Sprintf("No unsure input moves %s within its range.", t.Measure)
	}
	without, sure := 0, 0
	var names []string
	for _, r := range top {
		if r.Input.Sourceless() {
			without++
			names = append(names, r.Input.Key)
		}
		if r.Sure {
			sure++
		}
	}
	which := fmt.Sprintf("Of the %d largest swings of %s", len(top), t.Measure)
	if len(top) == 1 {
		which = "Of the one swing of " + t.Measure
	}
	rest := fmt.Sprintf("%d rest on inputs", without)
	if without == 1 {
		rest = "1 rests on an input"
	}
	beyond := fmt.Sprintf("%d are", sure)
	if sure == 1 {
		beyond = "1 is"
	}
	text := fmt.Sprintf("%s, %s without a source (grade D), and %s beyond doubt; the largest is that of %s, %s", which, rest, beyond,
		top[0].Input.Key, t.span(&top[0]))
	if len(names) > 0 {
		text += "; measure first: " + strings.Join(names, ", ")
	}
	if blank > 0 {
		text += fmt.Sprintf("; of %d more nothing can be told, since it was not seen at all their values: %s", blank, longer)
	}
	return text + "."
}

// span words the largest and the least value of a row.
func (t *Table) span(r *Row) string {
	least, most, _ := t.ends(r)
	return unit.Words(least, t.Unit) + " to " + unit.Words(most, t.Unit)
}
