package story

import (
	"fmt"
	"slices"
	"strings"

	"halflight/cmd/halflight/words"
	"halflight/model"
	"halflight/model/fabric"
	"halflight/sim"
)

// steps are what a router does on the way to its table, in that order.
var steps = [...]struct {
	name string
	of   func(*sim.PlayedRouter) []int64
}{
	{"notice", func(r *sim.PlayedRouter) []int64 { return r.Noticed }},
	{"LSP", func(r *sim.PlayedRouter) []int64 { return r.Originations }},
	{"SPF", func(r *sim.PlayedRouter) []int64 { return r.Runs }},
	{"tables", func(r *sim.PlayedRouter) []int64 { return r.Wrote }},
}

// stretches is how many changes of a script have a timeline of their own.
const stretches = 6

// timeline shows, after each change of a script, when the routers of each tier
// began and ended each step, to scale.
func timeline(b *strings.Builder, w *model.World, p *sim.Played) {
	var begins []int64
	until := w.WarmUp + w.Horizon
	for i := range w.Script {
		s := &w.Script[i]
		begins = append(begins, s.At)
		for _, c := range s.Changes {
			begins = append(begins, s.At+c)
		}
		if s.End >= 0 {
			begins = append(begins, s.End)
		}
	}
	slices.Sort(begins)
	begins = slices.DeleteFunc(slices.Compact(begins), func(at int64) bool { return at >= until })
	told := 0
	for i, from := range begins {
		to := until
		if i+1 < len(begins) {
			to = begins[i+1]
		}
		rows, last := stepRows(w, p, from, to)
		if len(rows) == 0 {
			continue
		}
		if told++; told > stretches {
			words.Note(b, fmt.Sprintf("Steps after later changes are not drawn; %d are.", stretches))
			return
		}
		draw(b, from-w.WarmUp, from, last, rows)
	}
}

// stepRow is one step of the routers of one tier within a stretch.
type stepRow struct {
	tier, step  string
	first, last int64
	routers     int
}

func stepRows(w *model.World, p *sim.Played, from, to int64) (rows []stepRow, last int64) {
	for class := fabric.Leaf; class <= fabric.Other; class++ {
		for _, step := range steps {
			row := stepRow{tier: class.String(), step: step.name, first: -1}
			for x := range p.Routers {
				if w.Fabric.Routers[x].Class != class {
					continue
				}
				did := false
				for _, at := range step.of(&p.Routers[x]) {
					if at < from || at >= to {
						continue
					}
					if did = true; row.first < 0 || at < row.first {
						row.first = at
					}
					row.last = max(row.last, at)
				}
				if did {
					row.routers++
				}
			}
			if row.routers > 0 {
				rows, last = append(rows, row), max(last, row.last)
			}
		}
	}
	return rows, last
}

// scale is how wide the drawn part of a timeline is, in characters.
const scale = 44

func draw(b *strings.Builder, at, from, last int64, rows []stepRow) {
	length := max(last-from, 1)
	place := func(t int64) int { return int(float64(t-from) / float64(length) * (scale - 1)) }
	end := words.Span(length)
	fmt.Fprintf(b, "\nSteps after %s: begin and end since then, and how many routers\n", words.Span(at))
	fmt.Fprintf(b, "  %-15s 0%*s\n", "", scale-1, end)
	for _, r := range rows {
		bar := []byte(strings.Repeat("-", scale))
		for i := place(r.first); i <= place(r.last); i++ {
			bar[i] = '#'
		}
		when := words.Span(r.first - from)
		if r.last != r.first {
			when += " to " + words.Span(r.last-from)
		}
		fmt.Fprintf(b, "  %-6s %-7s  %s  %s\n", r.tier, r.step, bar, words.Fit(fmt.Sprintf("%s (%d)", when, r.routers), width-scale-21))
	}
}
