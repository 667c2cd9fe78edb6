package main

import (
	"fmt"
	"strings"

	"halflight/model"
	"halflight/model/failure"
	"halflight/model/reliability"
)

// modeAnswer is how often a mode strikes and how much of it is there. Times are
// hours.
type modeAnswer struct {
	Name     string  `json:"name"`
	Kind     string  `json:"kind,omitempty"`
	On       string  `json:"on,omitempty"`
	Units    int     `json:"units"`
	Life     float64 `json:"life_h,omitempty"` // mean time from use, or the end of the fault before, to the next
	Dwell    float64 `json:"dwell_h"`          // mean time to repair of a fault seen at once
	Gap      number  `json:"gap_h"`
	PerDay   count   `json:"per_day"`
	PerMonth count   `json:"per_month"`
	Present  broken  `json:"present"`
	Spares   *int    `json:"spares,omitempty"` // of modes that somebody repairs by hand
}

// modes answers for every random mode of a world.
func (a *fabricAnswer) modes(w *model.World, lead float64) {
	a.Modes = []modeAnswer{}
	var all, gray []reliability.Population
	for i := range w.Modes {
		m := &w.Modes[i]
		units := m.Population(w.Fabric, w.Groups)
		if units == 0 {
			continue
		}
		p := reliability.Population{Count: units, MTBF: m.Life.Mean() / 3600e9, MTTR: m.Dwell() / 3600e9}
		one := modeOf(m.Name, p)
		one.Kind, one.On, one.Life, one.Dwell = m.Kind.String(), m.On.String(), p.MTBF, p.MTTR
		if m.On == failure.OnGroup {
			one.On = "group:" + m.Group
		}
		if !m.HandsOn.Zero() {
			n := reliability.Spares(lead, cover, cycling(p))
			one.Spares = &n
		}
		a.Modes = append(a.Modes, one)
		all = append(all, p)
		if m.Kind.Gray() {
			gray = append(gray, p)
		}
	}
	if len(all) > 0 {
		any := modeOf("any", all...)
		a.Any = &any
	}
	if len(gray) > 0 {
		half := modeOf("gray", gray...)
		a.Gray = &half
	}
}

// cycling is a population whose units count their failures over up and down
// time both, as a unit with a fault cannot get the same fault again.
func cycling(p reliability.Population) reliability.Population {
	return reliability.Population{Count: p.Count, MTBF: p.MTBF + p.MTTR}
}

// modeOf answers for one or more populations.
func modeOf(name string, fleet ...reliability.Population) modeAnswer {
	rate := 0.0
	one := modeAnswer{Name: name, Present: brokenOf(fleet...)}
	for _, p := range fleet {
		rate += cycling(p).Rate()
		one.Units += p.Count
	}
	if rate > 0 {
		one.Dwell = one.Present.Mean / rate
	}
	one.Gap, one.PerDay, one.PerMonth = number(1/rate), counted(rate*24), counted(rate*720)
	return one
}

func (a *fabricAnswer) modesText(b *strings.Builder) {
	fmt.Fprintf(b, "Faults to expect, what is broken now, and spares for a lead time of %s (%s)\n", period(a.Lead), share(a.Cover))
	var rows [][]string
	row := func(m *modeAnswer) {
		spares := ""
		if m.Spares != nil {
			spares = grouped(int64(*m.Spares))
		}
		rows = append(rows, []string{m.Name, m.Kind, m.On, grouped(int64(m.Units)), period(float64(m.Gap)), ranged(m.PerMonth),
			period(m.Dwell), figure(m.Present.Mean, 3), grouped(int64(m.Present.P99)), spares})
	}
	for i := range a.Modes {
		row(&a.Modes[i])
	}
	if a.Gray != nil {
		row(a.Gray)
	}
	if a.Any != nil {
		row(a.Any)
	}
	table(b, 3, []string{"mode", "kind", "on", "parts", "one every", "a month", "lasts", "now", "p99", "spares"}, rows)
	note(b, "A month: mean and the range that holds 95 % of months of 30 d. Lasts: mean from onset to repair of a fault that is "+
		"seen at once; gray ones last longer by the time nobody sees them, which only a simulation tells. Now: mean number "+
		"present at a random moment, and the number that 99 % of moments stay within.")
}
