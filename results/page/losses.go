package page

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"halflight/results"
	"halflight/results/unit"
)

// lossTitle heads the bars.
const lossTitle = "Where the lost seconds go"

// Bars are at most barMost columns; what is below barLeast of all has none.
const (
	barMost  = 36
	barLeast = 0.005
)

// share is a part of all lost seconds.
type share struct {
	name string
	part float64
}

// losses draws what kinds of fault and phases take of all lost seconds: bars to
// compare at a glance; the table above has the figures and their intervals.
func (p *text) losses(s *results.Summary) {
	kinds, total := shares(s, "lost_seconds.kind.")
	phases, _ := shares(s, "lost_seconds.phase.")
	if total == 0 || p.most == 0 {
		return
	}
	p.heading(fmt.Sprintf("%s, of %s", lossTitle, unit.Words(total, unit.SPerMonth)))
	wide := 0
	for _, one := range append(slices.Clone(kinds), phases...) {
		wide = max(wide, len(one.name))
	}
	p.lossBars("by kind", kinds, wide)
	p.lossBars("by phase", phases, wide)
}

func (p *text) lossBars(head string, list []share, wide int) {
	small := 0
	for _, one := range list {
		if one.part < barLeast {
			small++
			continue
		}
		p.lines = append(p.lines, fmt.Sprintf("%-9s%-*s %5.1f %%  %s", head, wide, one.name, 100*one.part, strings.Repeat(barOf, max(1, int(one.part*barMost+0.5)))))
		head = ""
	}
	if small > 0 {
		p.lines = append(p.lines, fmt.Sprintf("%-9sand %d below %g %%", "", small, 100*barLeast))
	}
}

// barOf is what a bar is made of: any terminal and any language has it.
const barOf = "="

// shares are the measures of a family above 0 as parts of their sum, largest
// first.
func shares(s *results.Summary, family string) (list []share, total float64) {
	for i := range s.Measures {
		m := &s.Measures[i]
		if name, ok := strings.CutPrefix(m.Name, family); ok && m.Available() && m.Estimate.Value > 0 {
			list = append(list, share{name, m.Estimate.Value})
			total += m.Estimate.Value
		}
	}
	for i := range list {
		list[i].part /= total
	}
	slices.SortStableFunc(list, func(a, b share) int { return cmp.Compare(b.part, a.part) })
	return list, total
}

// The only colours: bold heads and alarms, cyan bars. They add nothing that the
// words do not say.
const (
	bold  = "\x1b[1m"
	cyan  = "\x1b[36m"
	reset = "\x1b[0m"
)

// Coloured puts colours into a page for a terminal.
func Coloured(text string) string {
	heads := map[string]bool{"Objectives": true, "Notes": true, "Cautions": true, "In words": true}
	for i := range groups {
		heads[groups[i].title] = true
	}
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		words := strings.TrimRight(line, barOf)
		switch {
		case heads[line], strings.HasPrefix(line, lossTitle), strings.HasPrefix(line, "PARTIAL RESULT"), strings.HasPrefix(line, "ONE PART"),
			strings.HasPrefix(line, "A QUICK LOOK"), strings.HasPrefix(line, "DOUBT,"):
			lines[i] = bold + line + reset
		case words != line && strings.HasSuffix(words, " %  "):
			lines[i] = words + cyan + line[len(words):] + reset
		}
	}
	return strings.Join(lines, "\n")
}
