package page

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"halflight/results/unit"
	"halflight/results/weighing"
)

// wide is how wide the page of a weighing is: its tables have many columns.
const wide = 100

// Weighing writes a weighing for a terminal. The error is the writer's.
func Weighing(to io.Writer, w *weighing.Weighing) error {
	p := &text{most: wide}
	q := w.Question
	p.say("", fmt.Sprintf("%s, seed %d: %d of %s, each %s after a warm-up of %s; %d sets of instruments, played with the same draws.",
		q.Scenario, q.Seed, w.Replications, unit.Count(q.Asked, "replication"), span(q.Horizon), span(q.WarmUp), w.Played))
	p.hints(w.Replications)
	p.patience(w)
	p.heading("What each sees and does, alone")
	p.table(seeHead, seeRow, append([]weighing.Line{w.None}, append(append(w.Alone, w.Bundles...), w.Everything)...))
	p.heading("What each saves, alone, against none, in " + w.Currency)
	p.table(saveHead, saveRow, append(append(w.Alone, w.Bundles...), w.Everything))
	p.heading("What each adds to all others, in " + w.Currency)
	p.table(saveHead, saveRow, w.Beside)
	if len(w.Order) > 0 {
		p.heading("In the order of purchase: what each adds to those above it, in " + w.Currency)
		p.table(saveHead, saveRow, w.Order)
	}
	p.lines = append(p.lines, "")
	p.say("", fmt.Sprintf("seen: share of gray faults (%d without telemetry) sighted before they ended. Times run from the onset to the first sighting and to out of use, "+
		"over all gray faults; never: so many are not reached that the quantile is not. averted, false drains: a month. hands on: technicians at work. "+
		"slow avoided: of the slow units of %s. Saving: a year, all costs in it; * the interval leaves 0 out. "+
		"All %d intervals hold together at %.4g %% (Bonferroni). pays from: price of a degraded leaf-hour of %s from which the saving is above 0; it is %s now.",
		w.None.Faults, w.Class, w.Family, 100*q.Level, w.Class, unit.Digits(w.LeafHour)))
	if !q.Whole {
		p.say("", "Played without routers: gray faults, instruments and people as in a run, what faults do to applications to first order, nothing lost while routers converge. --whole plays all of it.")
	}
	return p.end(to, w.Sentences())
}

// short cuts a name that would push the columns off the page.
func short(name string) string {
	const most = 14
	if len(name) > most {
		return name[:most-1] + "~"
	}
	return name
}

// patience is what is printed first: no law of complaints is published.
func (p *text) patience(w *weighing.Weighing) {
	times := w.Question.Complaints
	if len(times) == 0 || len(w.Alone) == 0 {
		return
	}
	low, high := times[0], times[0]
	for _, t := range times {
		low, high = min(low, t), max(high, t)
	}
	p.heading(fmt.Sprintf("Mean time to a complaint above which each pays, alone; the scenario has %s", weighing.Span(times[0])))
	rows := [][]string{{"", "pays", "interval"}}
	for _, l := range w.Alone {
		t := l.Patience
		text := map[string]string{"always": "at all played, from " + weighing.Span(low), "never": "at none played, up to " + weighing.Span(high)}[t.Kind]
		if t.Kind == "from" {
			text = "above " + weighing.Span(t.Value)
		}
		between := bound(t.Low, "below "+weighing.Span(low)) + " to " + bound(t.High, "above "+weighing.Span(high))
		if t.Sure && t.Kind != "from" {
			between = "all of it"
		}
		rows = append(rows, []string{short(l.Name), text, between})
	}
	p.columns(rows, 2)
}

func bound(v *float64, open string) string {
	if v == nil {
		return open
	}
	return weighing.Span(*v)
}

var seeHead = []string{"", "seen", "sight median", "p95", "out median", "p95", "averted", "false drains", "hands on"}

func seeRow(l *weighing.Line) []string {
	if l.Faults == 0 {
		return []string{short(l.Name), "-", "-", "-", "-", "-", unit.Digits(l.Averted), unit.Digits(l.FalseDrains), unit.Digits(l.Technicians)}
	}
	return []string{short(l.Name), unit.Words(*l.Seen, unit.Share), never(l.SightMedian), never(l.SightP95), never(l.OutMedian), never(l.OutP95),
		unit.Digits(l.Averted), unit.Digits(l.FalseDrains), unit.Digits(l.Technicians)}
}

func never(v *float64) string {
	if v == nil {
		return "never"
	}
	return weighing.Span(*v)
}

var saveHead = []string{"", "slow avoided", "burn avoided", "its cost", "saving", "interval", "", "pays from"}

func saveRow(l *weighing.Line) []string {
	between, mark := "-", ""
	if l.Saving.Low != nil {
		between = unit.Digits(*l.Saving.Low) + " to " + unit.Digits(*l.Saving.High)
	}
	if l.Saving.Decided {
		mark = "*"
	}
	return []string{short(l.Name), unit.Words(l.SlowAvoided, unit.Share), unit.Digits(l.BurnAvoided), unit.Digits(l.CostSelf), unit.Digits(l.Saving.Value), between, mark,
		l.Price.String(unit.Digits)}
}

// table writes lines of a weighing under a head.
func (p *text) table(head []string, row func(l *weighing.Line) []string, lines []weighing.Line) {
	rows := [][]string{head}
	for i := range lines {
		rows = append(rows, row(&lines[i]))
	}
	p.columns(rows, 1)
}

// columns aligns cells: the first left columns flush left, others flush right.
func (p *text) columns(rows [][]string, left int) {
	widths := make([]int, len(rows[0]))
	for _, r := range rows {
		for i, c := range r {
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
	}
	for _, r := range rows {
		line := ""
		for i, c := range r {
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(c))
			if i > 0 {
				line += "  "
			}
			if i < left {
				line += c + pad
			} else {
				line += pad + c
			}
		}
		p.lines = append(p.lines, strings.TrimRight(line, " "))
	}
}
