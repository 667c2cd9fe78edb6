package main

import (
	"fmt"
	"strings"

	"halflight/model/reliability"
)

// unitsAnswer is what can be said of populations and groups alone. Times are
// hours.
type unitsAnswer struct {
	Populations []populationAnswer `json:"populations"`
	Together    *togetherAnswer    `json:"together,omitempty"`
	Groups      []groupAnswer      `json:"groups"`
	Lead        float64            `json:"lead_h"`
	Cover       float64            `json:"spares_cover"`
}

type togetherAnswer struct {
	Units    int     `json:"units"`
	Gap      float64 `json:"gap_h"` // mean time between any two failures
	PerDay   count   `json:"per_day"`
	PerMonth count   `json:"per_month"` // 30 d
	PerYear  count   `json:"per_year"`
	Broken   broken  `json:"broken_now"`
	Spares   int     `json:"spares"`
}

type populationAnswer struct {
	Name string `json:"name"`
	togetherAnswer
	MTBF           float64 `json:"mtbf_h"`
	MTTR           float64 `json:"mttr_h"`
	FIT            float64 `json:"fit"` // failures in 1e9 unit-hours
	AFR            float64 `json:"afr"` // probability that a unit fails within a year
	FailuresYear   float64 `json:"failures_per_unit_year"`
	Unavailability float64 `json:"unavailability"`
	DownSeconds    float64 `json:"down_seconds_per_unit_year"`
}

type groupAnswer struct {
	Units          int     `json:"n"`
	Need           int     `json:"need"`
	MTBF           float64 `json:"mtbf_h"`
	MTTR           float64 `json:"mttr_h"`
	Crew           int     `json:"crew"` // 0: unlimited
	Unavailability float64 `json:"unavailability"`
	MTTF           number  `json:"mttf_h"` // from all units up
	MeanUp         number  `json:"mean_up_h"`
	MeanDown       number  `json:"mean_down_h"`
	PerYear        float64 `json:"failures_per_year"`
}

// sizeUnits answers for populations and groups; lead is in hours.
func sizeUnits(units fleet, parts groups, lead float64) *unitsAnswer {
	a := &unitsAnswer{Populations: []populationAnswer{}, Groups: []groupAnswer{}, Lead: lead, Cover: cover}
	var all []reliability.Population
	for _, p := range units {
		all = append(all, p.Population)
		a.Populations = append(a.Populations, populationAnswer{
			Name: p.Name, togetherAnswer: together(lead, p.Population), MTBF: p.MTBF, MTTR: p.MTTR,
			FIT: reliability.FITFromMTBF(p.MTBF), AFR: reliability.AFRProbability(p.MTBF), FailuresYear: reliability.AFRLinear(p.MTBF),
			Unavailability: p.Unavailability(), DownSeconds: reliability.DownSecondsPerYear(p.MTBF, p.MTTR),
		})
	}
	if len(all) > 1 {
		t := together(lead, all...)
		a.Together = &t
	}
	for _, g := range parts {
		f := g.Figures()
		a.Groups = append(a.Groups, groupAnswer{g.Units, g.Need, g.MTBF, g.MTTR, g.Crew, f.Unavailability, number(f.MTTF),
			number(f.MeanUp), number(f.MeanDown), f.Frequency * reliability.HoursPerYear})
	}
	return a
}

func together(lead float64, fleet ...reliability.Population) togetherAnswer {
	rate := reliability.FleetRate(fleet...)
	t := togetherAnswer{Gap: reliability.FleetGap(fleet...), PerDay: counted(rate * 24), PerMonth: counted(rate * 720),
		PerYear: counted(rate * reliability.HoursPerYear), Broken: brokenOf(fleet...), Spares: reliability.Spares(lead, cover, fleet...)}
	for _, p := range fleet {
		t.Units += p.Count
	}
	return t
}

func (a *unitsAnswer) text(b *strings.Builder) {
	if len(a.Populations) > 0 {
		a.failuresText(b)
		b.WriteByte('\n')
		a.stateText(b)
	}
	if len(a.Groups) > 0 {
		if len(a.Populations) > 0 {
			b.WriteByte('\n')
		}
		a.groupsText(b)
	}
}

// failuresText is the table of how often something fails.
func (a *unitsAnswer) failuresText(b *strings.Builder) {
	b.WriteString("Failures to expect, and the range that holds 95 % of days, months (30 d) and years\n")
	var rows [][]string
	row := func(name, life string, t *togetherAnswer) {
		rows = append(rows, []string{name, grouped(int64(t.Units)), life, period(t.Gap), ranged(t.PerDay), ranged(t.PerMonth), ranged(t.PerYear)})
	}
	for i := range a.Populations {
		p := &a.Populations[i]
		row(p.Name, period(p.MTBF), &p.togetherAnswer)
	}
	if a.Together != nil {
		row("together", "", a.Together)
	}
	table(b, 1, []string{"population", "units", "MTBF", "one every", "a day", "a month", "a year"}, rows)
}

// stateText is the table of what is down, and of spares.
func (a *unitsAnswer) stateText(b *strings.Builder) {
	fmt.Fprintf(b, "Down at a random moment, and spares that last for %s with %s\n", period(a.Lead), share(a.Cover))
	var rows [][]string
	for i := range a.Populations {
		p := &a.Populations[i]
		rows = append(rows, []string{p.Name, figure(p.FIT, 4), share(p.AFR), orNone(p.MTTR), figure(p.Unavailability, 3),
			figure(p.DownSeconds/60, 3) + " min", figure(p.Broken.Mean, 3), grouped(int64(p.Broken.P99)), grouped(int64(p.Spares))})
	}
	if t := a.Together; t != nil {
		rows = append(rows, []string{"together", "", "", "", "", "", figure(t.Broken.Mean, 3), grouped(int64(t.Broken.P99)), grouped(int64(t.Spares))})
	}
	table(b, 1, []string{"population", "FIT", "AFR", "repair", "U", "a year", "down", "p99", "spares"}, rows)
	note(b, "FIT: failures in 1e9 unit-hours. AFR: chance that a unit fails within a year of 8,760 h. U: share of time one unit "+
		"is down, and the same in minutes a year. Down: mean number of units down, and the number that 99 % of moments stay within.")
}

func (a *unitsAnswer) groupsText(b *strings.Builder) {
	b.WriteString("Groups that need some of their units\n")
	var rows [][]string
	for _, g := range a.Groups {
		crew := "any"
		if g.Crew > 0 {
			crew = grouped(int64(g.Crew))
		}
		rows = append(rows, []string{fmt.Sprintf("%d of %d", g.Need, g.Units), period(g.MTBF), period(g.MTTR), crew, figure(g.Unavailability, 4),
			period(float64(g.MTTF)), period(float64(g.MeanUp)), period(float64(g.MeanDown)), figure(g.PerYear, 4)})
	}
	table(b, 1, []string{"needs", "MTBF", "MTTR", "crew", "U", "MTTF", "mean up", "mean down", "a year"}, rows)
	note(b, "U: share of time the group is down. MTTF: mean time to its first failure from all units up. Mean up and down: its "+
		"stretches in the long run. A year: its failures in one.")
}

// ranged writes an expected number with its range.
func ranged(c count) string {
	return fmt.Sprintf("%s (%s-%s)", figure(c.Mean, 3), grouped(int64(c.Low)), grouped(int64(c.High)))
}

// orNone writes a time in hours, "none" for 0.
func orNone(h float64) string {
	if h == 0 {
		return "none"
	}
	return period(h)
}
