package sizing

import (
	"math"

	"halflight/model"
	"halflight/model/control"
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/reliability"
	"halflight/model/timer"
	"halflight/model/traffic"
)

// Step is a width with what it costs and what it saves, beside the step before.
// Servers and what they send stay as they are.
type Step struct {
	Spines  int  `json:"spines_per_pod"`
	Tops    int  `json:"tops_per_plane"`
	Present bool `json:"present"`

	Optics  int     `json:"transceivers"`
	Faults  float64 `json:"faults_per_month"`
	Changes float64 `json:"changes_per_day"` // that the routers of one fabric flood and compute for: onsets, ends, flaps, hosts
	Long    Number  `json:"long_wait_share"` // of time, if changes came singly at random; infinite for other back-off than RFC 8405
	Fault   float64 `json:"loss_router"`     // share of demand that the router added takes until others act
	// Short is how many hours a year a leaf, of all, has too few uplinks for the
	// busiest hour; of tops, a leaf's pod has a spine with too few, or several. A
	// leaf counts once, so it is at most all hours of all leaves.
	Short float64 `json:"short_leaf_hours_per_year"`
	Cost  float64 `json:"cost_per_year"` // of ports, by costs.port, and of repairs
	// Pays is the price of a leaf-hour with too little capacity from which on this
	// step is worth it against the one before; infinite if it saves none, 0 for the
	// first.
	Pays Number `json:"pays_above"`
}

// Steps are the widths around the present one, spines first, then tops.
type Steps struct {
	Spines []Step  `json:"spines"`
	Tops   []Step  `json:"tops"`
	Price  float64 `json:"degraded_leaf_hour"` // of all classes together, by costs.degraded_leaf_hour
}

// stepsAround works out the steps of a world.
func stepsAround(w *model.World) Steps {
	var s Steps
	for _, p := range w.Prices.DegradedLeafHour {
		s.Price += p
	}
	c := closOf(w)
	rest := w.Traffic.Rest(w.Fabric, w.Traffic.Busiest)
	for _, spines := range around(c.Spines) {
		v := c
		v.Spines = spines
		one := stepOf(w, c, v)
		one.Short = shortLeaves(w, v, rest)
		s.Spines = append(s.Spines, one)
	}
	for _, tops := range around(c.Tops) {
		v := c
		v.Tops = tops
		one := stepOf(w, c, v)
		one.Short = shortSpines(w, v, rest)
		s.Tops = append(s.Tops, one)
	}
	pays(s.Spines)
	pays(s.Tops)
	return s
}

// Stops is the last step that pays at a price of a leaf-hour, by its place in a
// list; 0 if none does.
func Stops(list []Step, price float64) int {
	at := 0
	for i := 1; i < len(list) && float64(list[i].Pays) <= price; i++ {
		at = i
	}
	return at
}

func pays(list []Step) {
	for i := 1; i < len(list); i++ {
		saved, cost := list[i-1].Short-list[i].Short, list[i].Cost-list[i-1].Cost
		list[i].Pays = Number(math.Inf(1))
		if saved > 0 {
			list[i].Pays = Number(cost / saved)
		}
	}
}

// stepOf works out faults and costs of a fabric of another width.
func stepOf(w *model.World, now, c reliability.Clos) Step {
	n := c.Counts()
	width := widthOf(c, c == now)
	k := float64(fabricsOf(w))
	s := Step{Spines: c.Spines, Tops: c.Tops, Present: c == now, Optics: int(k) * n.Transceivers, Fault: width.Spine, Long: Number(math.Inf(1)),
		Changes: hostChanges(w) / k}
	if c.Spines == now.Spines && c.Tops != now.Tops {
		s.Fault = width.Top
	}
	calls := 0.0 // visits a year
	optics := 0.0
	for i := range w.Modes {
		m := &w.Modes[i]
		units := scaled(w, m, now, c)
		if units == 0 {
			continue
		}
		one := populationOf(w, m, 1)
		hourly := cycling(one).Rate() * units
		s.Faults += float64(hourly * 720)
		switch {
		case m.Kind == failure.Flapping:
			s.Changes += float64(hourly*24*2*m.Flaps.Mean()) / k
		case m.Kind.Converges():
			s.Changes += float64(hourly*24*2) / k
		default:
			s.Changes += float64(2*falls(w, m, now, c, hourly*one.MTTR)) / k
		}
		if !m.HandsOn.Zero() {
			calls += float64(hourly * reliability.HoursPerYear * visits(w, m))
			if !m.Routers() {
				optics += float64(hourly * reliability.HoursPerYear)
			}
		}
	}
	ports := float64(float64(2*n.Links)*w.Prices.Port) + float64(float64(n.Leaves)*w.Prices.Leaf)
	s.Cost = float64(k*ports) + float64(calls*(w.Prices.Visit+float64(handsOn*w.Prices.TechnicianHour))) + float64(optics*w.Prices.Optic)
	if t := &w.Timers.SPF; t.Family == timer.RFC8405 && s.Changes > 0 {
		b := reliability.Backoff{Initial: seconds(t.Initial), Short: seconds(t.Short), Long: seconds(t.Long), Learn: seconds(t.TimeToLearn), Holddown: seconds(t.Holddown)}
		if load, err := b.UnderPoisson(s.Changes / 86400); err == nil {
			s.Long = Number(load.LongWait)
		}
	}
	return s
}

// hostChanges is how many times a day the hosts that are routers of the area go away
// or come back, of all fabrics: their number is that of leaves, so every width has
// the same. What is away for less than its leaf takes to see it changes nothing.
func hostChanges(w *model.World) float64 {
	if !w.Random {
		return 0
	}
	perHost := 0.0
	for _, e := range []control.HostEvents{w.Hosts.Reboots, w.Hosts.Flaps} {
		if e.Rate > 0 {
			perHost += 2 * float64(e.Rate*86400) * e.Away.Survival(float64(w.Timers.Signal))
		}
	}
	return float64(perHost * float64(w.Hosts.Leaf*w.Fabric.Leaves))
}

// handsOn is an hour of work at each visit.
const handsOn = 1.0

func seconds(ns int64) float64 { return float64(ns) / 1e9 }

// scaled is how many units of a mode a fabric of another width has: routers and
// links are counted, cards and groups of ports go with the links, the rest stays.
func scaled(w *model.World, m *failure.Mode, now, c reliability.Clos) float64 {
	n := c.Counts()
	was := now.Counts()
	k := float64(fabricsOf(w))
	units := float64(m.Population(w.Fabric, w.Groups))
	switch m.On {
	case failure.OnLink:
		return units + float64(k*float64(n.Links-was.Links)) // links to the outside stay
	case failure.OnRouter:
		return units + float64(k*float64(n.Routers-was.Routers))
	case failure.OnSpine:
		return k * float64(n.Spines)
	case failure.OnTop:
		return k * float64(n.Tops)
	case failure.OnLineCard, failure.OnBreakout:
		return units * float64(n.Links) / float64(was.Links)
	}
	return units
}

// shortLeaves is how many hours a year leaves have fewer uplinks than the busiest
// hour needs, over all leaves; rest is what links carry in it.
func shortLeaves(w *model.World, c reliability.Clos, rest traffic.Levels) float64 {
	now, uplink := w.Fabric.Shape, w.Fabric.Ports[0][0]
	need := rest.LeafSpine * float64(now.Spines*now.Parallel) / w.Fabric.Links[0].Speed
	return leafHours(w, c) * shareShort(c.Spines*c.Parallel, need, outOf(w, uplink, failure.OnSpine))
}

// shortSpines is how many hours a year leaves have, somewhere in their pod, a spine
// whose links to tops are too few. Spines of a pod share no top and no such link, so
// with links and routers taken as independent the union over them is exact: a leaf
// with two such spines counts once.
func shortSpines(w *model.World, c reliability.Clos, rest traffic.Levels) float64 {
	if c.Tops == 0 {
		return 0
	}
	spine := w.Fabric.Ports[w.Fabric.Leaves]
	last := spine[len(spine)-1]
	need := rest.SpineTop * float64(closOf(w).Tops) / w.Fabric.Links[last.Link].Speed
	return leafHours(w, c) * reliability.AnyShort(c.Spines, shareShort(c.Tops, need, outOf(w, last, failure.OnTop)))
}

// leafHours are those of a year, of all leaves.
func leafHours(w *model.World, c reliability.Clos) float64 {
	return float64(fabricsOf(w)*c.Pods*c.Leaves) * reliability.HoursPerYear
}

// shareShort is the share of time that fewer of n links are there than are needed.
func shareShort(n int, need, out float64) float64 {
	whole := int(math.Ceil(need - 1e-9))
	switch {
	case whole > n:
		return 1
	case whole < 1:
		return 0
	}
	return reliability.UplinksShort(n, whole, out)
}

// outOf is the share of time that one port's link is out, the router behind it
// included.
func outOf(w *model.World, port fabric.Port, far failure.Class) float64 {
	var parts []float64
	for i := range w.Modes {
		if m := &w.Modes[i]; !m.Kind.Gray() {
			parts = append(parts, outShare(w, m, port, far))
		}
	}
	return reliability.Series(parts...)
}
