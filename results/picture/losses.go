package picture

import (
	"fmt"
	"slices"
	"strings"

	"halflight/results"
	"halflight/results/phrase"
	"halflight/results/unit"
)

// Losses is the lost seconds by kind of fault and by phase.
func Losses(r *Result) Picture {
	p := Picture{ID: "lost-by-kind-and-phase", Title: "Where the lost seconds go: by kind of fault and by phase",
		X:    Axis{Label: "lost seconds per month", Unit: unit.SPerMonth, Low: 0},
		Read: "One lost second is a second of total darkness, or 100 s at 1 %. Kinds are whose fault it was, phases what everybody was waiting for; each set of bars sums to all that is lost. Whiskers hold 95 % of chance."}
	kinds, phases := bars(r.Summary, "kind", Calm), bars(r.Summary, "phase", Uneasy)
	p.Bars = append(kinds, phases...)
	p.Table = &Table{Head: []string{"by", "what", "lost per month"}, Left: 2}
	for _, b := range p.Bars {
		p.X.High = max(p.X.High, b.To, b.High)
		p.Table.Rows = append(p.Table.Rows, []string{strings.TrimPrefix(b.Group, "by "), b.Name, b.Text})
	}
	if len(kinds) == 0 || len(phases) == 0 {
		p.Says = "Nothing was lost."
		p.X.High = 1
		return p
	}
	total := 0.0
	for _, b := range kinds {
		total += b.To
	}
	name, _, _ := strings.Cut(phases[0].Name, ":")
	p.Says = fmt.Sprintf("Faults of kind %s cost most: %s a month, %s of all. Of the phases %s leads with %s a month, %s of all: %s.",
		kinds[0].Name, kinds[0].Text, phrase.Words(kinds[0].To/total, unit.Share), name, phases[0].Text, phrase.Words(phases[0].To/total, unit.Share), lever(name))
	return p
}

// lever says what would shorten a phase.
func lever(phase string) string {
	switch phase {
	case "unnoticed":
		return "an instrument that sees these faults would help most"
	case "noticed":
		return "acting faster on what is seen would help most"
	case "detection":
		return "faster detection would help most"
	case "penalty", "spf_wait", "lsp_wait":
		return "back-off timers are worth a look"
	case "spf_run", "fib_update":
		return "faster routers, or fewer entries, would help most"
	case "stranded":
		return "only more paths would help, not faster routing"
	case "flooding":
		return "faster flooding would help most"
	case "loop":
		return "tables that change in another order would help most"
	}
	return "look at the faults below"
}

// bars are the lost seconds by kind or by phase that are above 0, largest first.
func bars(s *results.Summary, by string, style Style) (out []Bar) {
	family := "lost_seconds." + by + "."
	for i := range s.Measures {
		m := &s.Measures[i]
		name, ok := strings.CutPrefix(m.Name, family)
		if !ok || !m.Available() || m.Estimate.Value <= 0 {
			continue
		}
		b := Bar{Group: "by " + by, Name: name, Style: style, To: m.Estimate.Value, Low: m.Estimate.Value, High: m.Estimate.Value, Text: strings.Replace(phrase.With(m.Estimate, m.Unit), " per month", "", 1)}
		if m.Estimate.Available() {
			b.Low, b.High = m.Estimate.Low, m.Estimate.High
		}
		if words := results.PhaseWords[name]; words != "" && by == "phase" {
			b.Name = name + ": " + words
		}
		out = append(out, b)
	}
	slices.SortStableFunc(out, func(a, b Bar) int {
		switch {
		case a.To > b.To:
			return -1
		case a.To < b.To:
			return 1
		}
		return 0
	})
	return out
}
