package contrast

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"halflight/results"
	"halflight/results/unit"
)

// Turning is what became of the decided headlines when inputs without a source
// were put to either end of their ranges, one at a time.
type Turning struct {
	Replications int      // of each setting, the first ones of the comparison
	Inputs       int      // that were put to both ends
	Ranged       int      // of them, given ones whose range is assumed: x 1/3 to x 3
	Skipped      []string // inputs that could not be put anywhere else, by key
	Rows         []Turn   // by other side, headline and input, what is left least first
	Blank        []string // decided headlines of which so few replications say nothing
}

// Turn is what one end of one input leaves of a decided difference.
type Turn struct {
	Side          int // the other side, from 1
	What, Measure string
	Input, Value  string
	Left          float64 // share of the difference that is left; below 0: it points the other way
}

// Other is the comparison of all sides with one input elsewhere.
type Other struct {
	Input, Value string
	Sides        []Side // in the order of the comparison
}

// Turns says what the other settings leave of what is decided. Each has the same
// replications on all sides, which the comparison has too. What is left is the
// difference there over the difference here, both over those replications alone.
func (c *Contrast) Turns(others []Other, level float64) (*Turning, error) {
	t := &Turning{}
	if len(others) == 0 {
		return t, nil
	}
	t.Replications = len(others[0].Sides[0].Set.Replications)
	here := make([]Side, len(c.Sides))
	for i, s := range c.Sides {
		set := *s.Set
		set.Replications = set.Replications[:min(t.Replications, len(set.Replications))]
		here[i] = Side{s.Name, &set}
	}
	var patterns []string
	for _, h := range headlines {
		patterns = append(patterns, h.name)
	}
	base, err := Of(here, level, patterns...)
	if err != nil {
		return nil, err
	}
	there := make([]*Contrast, len(others))
	for k := range others {
		if there[k], err = Of(others[k].Sides, level, patterns...); err != nil {
			return nil, err
		}
	}
	for i := 1; i < len(c.Sides); i++ {
		for _, h := range headlines {
			t.headline(c, base, i, h.what, h.name, others, there)
		}
	}
	return t, nil
}

func (t *Turning) headline(c, base *Contrast, i int, what, name string, others []Other, there []*Contrast) {
	r, b := c.Find(name), base.Find(name)
	if r == nil || !r.Differences[i-1].Sure {
		return
	}
	d := r.Differences[i-1].Difference.Value
	now, ok := b.less(i)
	if !ok || now == 0 || (now > 0) != (d > 0) {
		t.Blank = append(t.Blank, what)
		return
	}
	from := len(t.Rows)
	for k := range others {
		if v, ok := there[k].Find(name).less(i); ok {
			t.Rows = append(t.Rows, Turn{i, what, r.Name, others[k].Input, others[k].Value, v / now})
		}
	}
	slices.SortStableFunc(t.Rows[from:], func(x, y Turn) int { return cmp.Compare(x.Left, y.Left) })
}

// less is side i less the first, if both have a value.
func (r *Row) less(i int) (float64, bool) {
	if r == nil || !r.Values[i].Known || !r.Values[0].Known {
		return 0, false
	}
	return r.Values[i].Value - r.Values[0].Value, true
}

// Sentence says which inputs turn what, for another side.
func (t *Turning) Sentence(c *Contrast, i int) string {
	var turned, held []string
	for _, h := range headlines {
		first, last := -1, -1
		for k := range t.Rows {
			if r := &t.Rows[k]; r.Side == i && results.Matches(h.name, r.Measure) {
				if last = k; first < 0 {
					first = k
				}
			}
		}
		if first < 0 {
			continue
		}
		r := &t.Rows[first]
		left := fmt.Sprintf("%.0f to %.0f %%", 100*r.Left, 100*t.Rows[last].Left)
		switch same := fmt.Sprintf("%.0f %%", 100*r.Left); {
		case r.Left < 0:
			turned = append(turned, fmt.Sprintf("%s at %s turns %s (%s of it is left)", r.Input, Plain(r.Value), h.what, left))
		case same == fmt.Sprintf("%.0f %%", 100*t.Rows[last].Left):
			held = append(held, fmt.Sprintf("%s of %s is left with every one", same, h.what))
		default:
			held = append(held, fmt.Sprintf("%s of %s is left, least with %s at %s", left, h.what, r.Input, Plain(r.Value)))
		}
	}
	text := fmt.Sprintf("What would turn %s against %s: %s without a source, each at either end of its range, %s each: ",
		c.Sides[i].Name, c.Sides[0].Name, unit.Count(t.Inputs, "input"), unit.Count(t.Replications, "replication"))
	if len(turned) == 0 && len(held) == 0 {
		return text + "no headline is decided, so there is nothing to turn."
	}
	if len(turned) > 0 {
		text += strings.Join(turned, "; ")
	} else {
		text += "none turns what is decided"
	}
	if len(held) > 0 {
		text += "; " + strings.Join(held, "; ")
	}
	return text + "."
}

// Plain shortens a law, as a scenario has it, to its median.
func Plain(value string) string {
	if rest, ok := strings.CutPrefix(value, "{lognormal: {median: "); ok {
		median, _, _ := strings.Cut(rest, ",")
		return median
	}
	return value
}
