package failure

import "halflight/model/fabric"

// Population returns how many parts a mode can strike.
func (m *Mode) Population(f *fabric.Fabric, groups []fabric.Group) int {
	switch m.On {
	case OnLink:
		return len(f.Links)
	case OnAccess:
		return f.Access
	}
	n := 0
	for i := range f.Routers {
		if m.StrikesRouter(f, i) {
			n++
		}
	}
	for i := range groups {
		if m.Strikes(&groups[i]) {
			n++
		}
	}
	return n
}

// StrikesRouter says whether a router belongs to the mode's population.
func (m *Mode) StrikesRouter(f *fabric.Fabric, router int) bool {
	class, one := m.router()
	switch {
	case m.On == OnRouter:
		return router < len(f.Routers)-f.Outside
	case m.On == OnBorder:
		return f.Border != nil && f.Border[router]
	}
	return one && f.Routers[router].Class == class
}

// Bordering is how many of the routers that a mode strikes take traffic from outside.
func (m *Mode) Bordering(f *fabric.Fabric) (n int) {
	for i, is := range f.Border {
		if is && (m.On == OnRouter || m.StrikesRouter(f, i)) {
			n++
		}
	}
	return n
}

// router returns the class of router struck, if the mode strikes one class.
func (m *Mode) router() (fabric.Class, bool) {
	switch m.On {
	case OnLeaf:
		return fabric.Leaf, true
	case OnSpine:
		return fabric.Spine, true
	case OnTop:
		return fabric.Top, true
	}
	return 0, false
}

// Routers says whether the mode strikes single routers.
func (m *Mode) Routers() bool {
	_, one := m.router()
	return one || m.On == OnRouter || m.On == OnBorder
}

// Strikes says whether a group belongs to the mode's population.
func (m *Mode) Strikes(g *fabric.Group) bool {
	switch m.On {
	case OnLineCard:
		return g.Class == fabric.LineCard
	case OnPowerDomain:
		return g.Class == fabric.PowerDomain
	case OnBreakout:
		return g.Class == fabric.Breakout
	case OnBatch:
		return g.Class == fabric.Batch
	case OnGroup:
		return g.Name == m.Group
	}
	return false
}

// Dwell returns the mean time, in ns, from onset to repair of a fault that is
// noticed at once: lead and hands-on time, the reload of a restart, an episode
// of flaps. A gray fault waits longer, for as long as it is unseen.
func (m *Mode) Dwell() float64 {
	dwell := m.Lead.Mean() + m.HandsOn.Mean()
	switch m.Kind {
	case Slow, Unwritten:
		dwell += m.Lasts.Mean()
	case Restart:
		dwell += m.Down.Mean()
	case Flapping:
		flaps := m.Flaps.Mean()
		dwell += float64(flaps*m.Down.Mean()) + float64((flaps-1)*m.Gap.Mean())
	}
	return dwell
}

// OnsetsPerDay returns the expected onsets a day in a population whose faults
// last dwell ns on average: population / (life + dwell).
func (m *Mode) OnsetsPerDay(population int, dwell float64) float64 {
	return float64(population) * day / (m.Life.Mean() + dwell)
}

// Prevalence returns the expected share of the population that has the fault:
// rate x dwell = dwell / (life + dwell).
func (m *Mode) Prevalence(dwell float64) float64 { return dwell / (m.Life.Mean() + dwell) }

// FlapsPerDay returns the number of flaps a day that a flapping mode makes in a
// population; 0 for other kinds.
func (m *Mode) FlapsPerDay(population int) float64 {
	if m.Kind != Flapping {
		return 0
	}
	return m.OnsetsPerDay(population, m.Dwell()) * m.Flaps.Mean()
}
