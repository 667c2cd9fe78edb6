package answers

import (
	"fmt"
	"strings"

	"halflight/cmd/halflight/words"
	"halflight/model/reliability"
	"halflight/model/sizing"
)

// UnitsText writes the answer for populations and groups.
func UnitsText(b *strings.Builder, a *sizing.Units) {
	if len(a.Populations) > 0 {
		failuresText(b, a)
		b.WriteByte('\n')
		stateText(b, a)
	}
	if len(a.Groups) > 0 {
		if len(a.Populations) > 0 {
			b.WriteByte('\n')
		}
		groupsText(b, a)
	}
}

// failuresText is the table of how often something fails.
func failuresText(b *strings.Builder, a *sizing.Units) {
	b.WriteString("Failures to expect, and the range that holds 95 % of days, months (30 d) and years\n")
	var rows [][]string
	row := func(name, life string, t *sizing.Together) {
		rows = append(rows, []string{name, words.Grouped(int64(t.Units)), life, words.Period(t.Gap), ranged(t.PerDay), ranged(t.PerMonth), ranged(t.PerYear)})
	}
	for i := range a.Populations {
		p := &a.Populations[i]
		row(p.Name, words.Period(p.MTBF), &p.Together)
	}
	if a.Together != nil {
		row("together", "", a.Together)
	}
	words.Table(b, 1, []string{"population", "units", "MTBF", "one every", "a day", "a month", "a year"}, rows)
}

// stateText is the table of what is down, and of spares.
func stateText(b *strings.Builder, a *sizing.Units) {
	fmt.Fprintf(b, "Down at a random moment, and spares that last for %s with %s\n", words.Period(a.Lead), words.Share(a.Cover))
	var rows [][]string
	for i := range a.Populations {
		p := &a.Populations[i]
		rows = append(rows, []string{p.Name, words.Figure(p.FIT, 4), words.Share(p.AFR), orNone(p.MTTR), words.Figure(p.Unavailability, 3),
			words.Figure(p.DownSeconds/60, 3) + " min", words.Figure(p.Broken.Mean, 3), words.Grouped(int64(p.Broken.P99)), words.Grouped(int64(p.Spares))})
	}
	if t := a.Together; t != nil {
		rows = append(rows, []string{"together", "", "", "", "", "", words.Figure(t.Broken.Mean, 3), words.Grouped(int64(t.Broken.P99)), words.Grouped(int64(t.Spares))})
	}
	words.Table(b, 1, []string{"population", "FIT", "AFR", "repair", "U", "a year", "down", "p99", "spares"}, rows)
	words.Note(b, "FIT: failures in 1e9 unit-hours. AFR: chance that a unit fails within a year of 8,760 h. U: share of time one unit "+
		"is down, and the same in minutes a year. Down: mean number of units down, and the number that 99 % of moments stay within.")
}

func groupsText(b *strings.Builder, a *sizing.Units) {
	b.WriteString("Groups that need some of their units\n")
	var rows [][]string
	for _, g := range a.Groups {
		crew := "any"
		if g.Crew > 0 {
			crew = words.Grouped(int64(g.Crew))
		}
		rows = append(rows, []string{fmt.Sprintf("%d of %d", g.Need, g.Units), words.Period(g.MTBF), words.Period(g.MTTR), crew, words.Figure(g.Unavailability, 4),
			long(g.MTTF), long(g.MeanUp), long(g.MeanDown), rare(g.PerYear)})
	}
	words.Table(b, 1, []string{"needs", "MTBF", "MTTR", "crew", "U", "MTTF", "mean up", "mean down", "a year"}, rows)
	words.Note(b, "U: share of time the group is down. MTTF: mean time to its first failure from all units up. Mean up and down: its "+
		"stretches in the long run. A year: its failures in one.")
}

// long writes a time in hours, and no figure for what nobody can picture.
func long(h sizing.Number) string {
	if float64(h) > 1e9*reliability.HoursPerYear {
		return "beyond 1e9 y"
	}
	return words.Period(float64(h))
}

// rare writes failures in a year, and no figure for what nobody will see.
func rare(perYear float64) string {
	if perYear < 1e-12 {
		return "below 1e-12"
	}
	return words.Figure(perYear, 4)
}

// ranged writes an expected number with its range.
func ranged(c sizing.Count) string {
	return fmt.Sprintf("%s (%s-%s)", words.Figure(c.Mean, 3), words.Grouped(int64(c.Low)), words.Grouped(int64(c.High)))
}

// orNone writes a time in hours, "none" for 0.
func orNone(h float64) string {
	if h == 0 {
		return "none"
	}
	return words.Period(h)
}
