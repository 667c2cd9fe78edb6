package page

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/olekukonko/tablewriter/tw"

	"halflight/results"
	"halflight/results/contrast"
	"halflight/results/swing"
	"halflight/results/unit"
)

// Swing writes what a sweep came to: a grid, the inputs one at a time, or worlds.
// measures are the patterns of those shown; others are in sweep.json. The error is
// the writer's.
func Swing(to io.Writer, a *swing.Answer, measures []string) error {
	p := &text{most: Width}
	p.partial(a.Partial)
	st := &a.Study
	p.say("", fmt.Sprintf("%s, seed %d: %s after a warm-up of %s.", st.Scenario, st.Seed, span(st.Horizon), span(st.WarmUp)))
	switch {
	case a.Worlds != nil:
		p.worlds(a.Worlds, strings.Join(measures, " "))
	case a.Grid != nil:
		p.say("", fmt.Sprintf("%s each, with the same draws.", unit.Count(len(a.Contrast.Sides[0].Set.Replications), "replication")))
		p.hints(fewest(a.Contrast))
		for i := range a.Contrast.Rows {
			if r := &a.Contrast.Rows[i]; anyMatch(strings.Join(measures, " "), r.Name) {
				p.grid(a.Grid, a.Contrast, r)
			}
		}
		p.starred(a.Contrast)
	default:
		p.say("", fmt.Sprintf("%s, one at a time at either end of its range; %s each, with the same draws.",
			unit.Count(len(a.Tables[0].Rows), "unsure input"), unit.Count(len(a.Contrast.Sides[0].Set.Replications), "replication")))
		p.hints(fewest(a.Contrast))
		for _, t := range a.Tables {
			p.swings(t)
		}
		p.starred(a.Contrast)
	}
	if len(a.Skipped) > 0 {
		p.blank()
		p.say("", "Not varied, since this scenario leaves no room for other values: "+strings.Join(a.Skipped, ", ")+".")
	}
	return p.end(to, a.Sentences)
}

// starred says what a star means.
func (p *text) starred(c *contrast.Contrast) {
	p.blank()
	if c.Members == 0 {
		p.say("", "No difference has an interval. "+perWhat+" Other measures are in sweep.json.")
		return
	}
	p.say("", fmt.Sprintf("* differs from the present setting beyond doubt: 0 lies outside the interval of the difference even when widened so that all %d "+
		"intervals hold at once at %.4g %% (Bonferroni). "+perWhat+" Intervals, correlations and other measures are in sweep.json.", c.Members, 100*c.Level))
}

// perWhat says of what span the cells of a table are whose unit has no room in them.
const perWhat = "Amounts and counts are per month of 30 d, SPF runs per router and hour."

// swingsMost is how many inputs a table shows.
const swingsMost = 12

// swings writes one table, inputs that move nothing in one line below it.
func (p *text) swings(t *swing.Table) {
	p.blank()
	if t.Untold() {
		p.say("", t.Sentence())
		return
	}
	p.say("", atPresent(t.Measure, t.Present, t.Unit)+"; largest swing first:")
	head := []string{"input", "grade", "from", "to", "at low end", "at high end"}
	var rows [][]string
	var still, blank []string
	more := 0
	for i := range t.Rows {
		r := &t.Rows[i]
		switch {
		case r.Blank:
			blank = append(blank, plainKey(r.Input.Key))
			continue
		case r.Size == 0:
			still = append(still, plainKey(r.Input.Key))
			continue
		}
		if len(rows) == swingsMost {
			more++
			continue
		}
		rows = append(rows, []string{plainKey(r.Input.Key), r.Input.Grade, contrast.Plain(r.Input.Low), contrast.Plain(r.Input.High),
			mark(amount(r.Low, t.Unit), &r.Less[0]), mark(amount(r.High, t.Unit), &r.Less[1])})
	}
	if len(rows) > 0 {
		fit(head, rows)
		p.lines = append(p.lines, draw(head, rows, tw.AlignLeft, tw.AlignLeft, tw.AlignRight, tw.AlignRight, tw.AlignRight, tw.AlignRight)...)
	}
	if more > 0 {
		p.say("", fmt.Sprintf("%d more move it less and are in sweep.json.", more))
	}
	if len(still) > 0 {
		p.say("", "Without any effect on it: "+strings.Join(still, ", ")+".")
	}
	if len(blank) > 0 {
		p.say("", "Effect not known, since it was not seen at present and at both ends: "+strings.Join(blank, ", ")+".")
	}
}

// atPresent names a measure and its present value, with the whole of its unit.
func atPresent(measure string, v contrast.Value, in string) string {
	if !v.Known {
		return measure + ", not seen at present"
	}
	return measure + ", at present " + join(unit.Scaled(v.Value, in))
}

// mark adds the star of what differs beyond doubt, or its room.
func mark(cell string, d *contrast.Difference) string {
	if d.Sure {
		return cell + " *"
	}
	return cell + "  "
}

// plainKey leaves out what the mean of a law adds to a key.
func plainKey(key string) string { return strings.TrimSuffix(key, ".exponential.mean") }

// grid writes one measure over the values of one or two keys.
func (p *text) grid(g *swing.Grid, c *contrast.Contrast, r *contrast.Row) {
	p.blank()
	if !slices.ContainsFunc(r.Values, func(v contrast.Value) bool { return v.Known }) {
		p.say("", swing.NotSeen(r.Name))
		return
	}
	p.say("", atPresent(r.Name, r.Values[0], r.Unit)+":")
	cell := func(side int) string {
		if side == 0 {
			return amount(r.Values[0], r.Unit) + "  "
		}
		return mark(amount(r.Values[side], r.Unit), &r.Differences[side-1])
	}
	if len(g.Keys) == 1 {
		head := []string{g.Keys[0], "value", "less the present, 95 %"}
		var rows [][]string
		for _, one := range g.Cells {
			less := "the present"
			if one.Side > 0 {
				less = differenceCell(&r.Differences[one.Side-1], r.Unit)
			}
			rows = append(rows, []string{contrast.Plain(one.Values[0]), amount(r.Values[one.Side], r.Unit), less})
		}
		p.lines = append(p.lines, draw(head, rows, tw.AlignLeft, tw.AlignRight, tw.AlignRight)...)
		return
	}
	p.say("", fmt.Sprintf("down: %s; across: %s", g.Keys[0], g.Keys[1]))
	across := g.Values[1]
	for from := 0; from < len(across); from += gridAcross {
		part := across[from:min(from+gridAcross, len(across))]
		head, align := []string{""}, []tw.Align{tw.AlignLeft}
		for _, v := range part {
			head, align = append(head, narrow(contrast.Plain(v), 12)+"  "), append(align, tw.AlignRight)
		}
		var rows [][]string
		for i, v := range g.Values[0] {
			row := []string{narrow(contrast.Plain(v), 12)}
			for k := range part {
				row = append(row, cell(g.Cells[i*len(across)+from+k].Side))
			}
			rows = append(rows, row)
		}
		p.lines = append(p.lines, draw(head, rows, align...)...)
	}
}

// gridAcross is how many columns of a grid stand side by side.
const gridAcross = 4

// worlds writes the bars, and what those of some measures follow.
func (p *text) worlds(w *swing.Worlds, measures string) {
	p.say("", fmt.Sprintf("%s in which %s are drawn together over their ranges; %s each, with the same draws.",
		unit.Count(w.Count, "world"), unit.Count(len(w.Inputs), "unsure input"), unit.Count(w.Replications, "replication")))
	if len(w.Bars) == 0 {
		return
	}
	p.blank()
	p.bars(w)
	for i := range w.Bars {
		b := &w.Bars[i]
		if !anyMatch(measures, b.Measure) {
			continue
		}
		var rows [][]string
		for _, r := range b.Ranks {
			if r.Sure {
				in := &w.Inputs[r.Input]
				rows = append(rows, []string{plainKey(in.Key), in.Grade, contrast.Plain(in.Low), contrast.Plain(in.High), fmt.Sprintf("%.2f", r.R)})
			}
		}
		if len(rows) == 0 {
			continue
		}
		p.blank()
		head := []string{b.Measure + " follows", "grade", "from", "to", "rank correlation"}
		fit(head, rows)
		head[0] = cut(head[0], 40)
		p.lines = append(p.lines, draw(head, rows, tw.AlignLeft, tw.AlignLeft, tw.AlignRight, tw.AlignRight, tw.AlignRight)...)
	}
}

// bars writes the spread of measures over worlds.
func (p *text) bars(w *swing.Worlds) {
	var names []string
	for _, b := range w.Bars {
		names = append(names, b.Measure)
	}
	head := []string{"", "median world", fmt.Sprintf("inputs bar, %.0f %%", 100*w.Level), "worlds"}
	var rows [][]string
	for i, label := range folded(names) {
		b := &w.Bars[i]
		rows = append(rows, []string{label, join(unit.Scaled(b.Middle, b.Unit)), between(b.Low, b.High, b.Unit), fmt.Sprint(b.Worlds)})
	}
	fit(head, rows)
	p.lines = append(p.lines, draw(head, rows, tw.AlignLeft, tw.AlignRight, tw.AlignRight, tw.AlignRight)...)
}

// varied writes the inputs bar of a summary beside its values.
func (p *text) varied(s *results.Summary) {
	v := s.Varied
	p.heading("What the inputs make of it")
	names := make([]string, len(v.Bars))
	for i, b := range v.Bars {
		names[i] = b.Measure
	}
	head := []string{"", "value", fmt.Sprintf("chance, %.4g %%", 100*s.Level), fmt.Sprintf("inputs, %.0f %%", 100*v.Level)}
	var rows [][]string
	for i, label := range folded(names) {
		b := &v.Bars[i]
		m, ok := s.Find(b.Measure)
		if !ok {
			continue
		}
		rows = append(rows, []string{label, valueCell(m), intervalCell(m), between(b.Low, b.High, b.Unit)})
	}
	fit(head, rows)
	p.lines = append(p.lines, draw(head, rows, tw.AlignLeft, tw.AlignRight, tw.AlignRight, tw.AlignRight)...)
	p.say("", fmt.Sprintf("%s, each with other values of %s, drawn together over their documented ranges, and %s. The second bar holds %.0f %% of the worlds; some chance is in it too.",
		unit.Count(v.Worlds, "world"), unit.Count(v.Inputs, "unsure input"), unit.Count(v.Replications, "replication"), 100*v.Level))
}
