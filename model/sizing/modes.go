package sizing

import (
	"halflight/model"
	"halflight/model/failure"
	"halflight/model/reliability"
)

// Mode is how often a mode strikes and how much of it is there. Times are
// hours.
type Mode struct {
	Name     string  `json:"name"`
	Kind     string  `json:"kind,omitempty"`
	On       string  `json:"on,omitempty"`
	Units    int     `json:"units"`
	Life     float64 `json:"life_h,omitempty"` // mean time from use, or the end of the fault before, to the next
	Dwell    float64 `json:"dwell_h"`          // mean time to repair of a fault seen at once, all visits counted
	Gap      Number  `json:"gap_h"`
	PerDay   Count   `json:"per_day"`
	PerMonth Count   `json:"per_month"`
	Present  Broken  `json:"present"`
	Spares   *int    `json:"spares,omitempty"` // of modes that somebody repairs by hand
}

// modes answers for every random mode of a world.
func (a *Fabric) modes(w *model.World, lead float64) {
	a.Modes = []Mode{}
	var all, gray []reliability.Population
	for i := range w.Modes {
		m := &w.Modes[i]
		units := m.Population(w.Fabric, w.Groups)
		if units == 0 {
			continue
		}
		p := populationOf(w, m, units)
		if n := m.Bordering(w.Fabric); n > 0 && n < units { // boxes of a second kind have spares of their own
			a.row(m, m.Name, populationOf(w, m, units-n), lead)
			a.row(m, m.Name+", border", populationOf(w, m, n), lead)
		} else {
			a.row(m, m.Name, p, lead)
		}
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

// row adds one mode of one population.
func (a *Fabric) row(m *failure.Mode, name string, p reliability.Population, lead float64) {
	one := modeOf(name, p)
	one.Kind, one.On, one.Life, one.Dwell = m.Kind.String(), m.On.String(), p.MTBF, p.MTTR
	if m.On == failure.OnGroup {
		one.On = "group:" + m.Group
	}
	if !m.HandsOn.Zero() {
		n := reliability.Spares(lead, Cover, cycling(p))
		one.Spares = &n
	}
	a.Modes = append(a.Modes, one)
}

// populationOf is a mode as a population of so many units.
func populationOf(w *model.World, m *failure.Mode, units int) reliability.Population {
	return reliability.Population{Count: units, MTBF: m.Life.Mean() / 3600e9, MTTR: dwell(w, m) / 3600e9}
}

// cycling is a population whose units count their failures over up and down
// time both, as a unit with a fault cannot get the same fault again.
func cycling(p reliability.Population) reliability.Population {
	return reliability.Population{Count: p.Count, MTBF: p.MTBF + p.MTTR}
}

// modeOf answers for one or more populations.
func modeOf(name string, fleet ...reliability.Population) Mode {
	rate := 0.0
	one := Mode{Name: name, Present: brokenOf(fleet...)}
	for _, p := range fleet {
		rate += cycling(p).Rate()
		one.Units += p.Count
	}
	if rate > 0 {
		one.Dwell = one.Present.Mean / rate
	}
	one.Gap, one.PerDay, one.PerMonth = Number(1/rate), counted(rate*24), counted(rate*720)
	return one
}
