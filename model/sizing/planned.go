package sizing

import (
	"math"

	"halflight/model"
	"halflight/model/failure"
	"halflight/model/operation"
	"halflight/model/reliability"
	"halflight/model/timer"
)

// Planned is what can be said of a campaign of upgrades beforehand, if the rules let
// as many boxes be out at once as it asks for.
type Planned struct {
	Boxes    int       `json:"boxes"`
	AtOnce   int       `json:"at_once"`
	Length   float64   `json:"box_s"`     // that a box is out, on average
	PerNight int64     `json:"per_night"` // boxes one after the other; 0: at any hour
	Nights   Number    `json:"nights"`    // infinite at any hour
	Exposure float64   `json:"exposure_h"`
	Restarts []Restart `json:"restarts"`
}

// Restart is what a box of a tier loses that restarts with traffic on it, in seconds
// of all demand, if nothing goes wrong.
type Restart struct {
	Tier  string  `json:"tier"`
	Cold  float64 `json:"cold_s"` // its tables forgotten
	Kept  float64 `json:"kept_s"` // its tables kept: to second faults, on average
	Pays  Number  `json:"pays_below_s"`
	Grace float64 `json:"grace_s"` // how long neighbours wait; a longer restart is as a cold one from then on
}

// plannedOf works out a campaign; nil without upgrades.
func plannedOf(w *model.World) *Planned {
	u := w.Operation.Upgrades
	if u == nil {
		return nil
	}
	soak := w.Operation.SoakTime
	c, k := closOf(w), fabricsOf(w)
	n := c.Counts()
	p := &Planned{AtOnce: u.AtOnce, Length: seconds(u.Length(soak)), PerNight: u.PerNight(soak), Nights: Number(math.Inf(1))}
	prune, converge := seconds(w.Timers.Signal+w.Timers.PruneDelay), seconds(converges(&w.Timers))
	links, spines, tops := paces(w, failure.OnLink), paces(w, failure.OnSpine), paces(w, failure.OnTop)
	work := u.Work.Mean() / 1e9
	for _, tier := range []struct {
		tier  operation.Tier
		boxes int
		stale reliability.Stale
		cold  func(l float64) float64
	}{
		{operation.Leaves, n.Leaves, c.StaleLeaf(), func(l float64) float64 { return c.ColdLeaf() * l }},
		{operation.Spines, n.Spines, c.StaleSpine(), func(float64) float64 { return c.ColdSpine(prune, converge) }},
		{operation.Tops, n.Tops, c.StaleTop(), func(float64) float64 { return c.ColdTop(prune) }},
	} {
		if tier.boxes == 0 || u.Tier != operation.AllTiers && u.Tier != tier.tier {
			continue
		}
		p.Boxes += k * tier.boxes
		kept := func(l float64) float64 { return tier.stale.Lost(l, links, spines, tops) }
		p.Restarts = append(p.Restarts, Restart{tier.tier.String(), tier.cold(work), kept(work), Number(reliability.KeepingPays(kept, tier.cold)), seconds(w.Timers.Grace)})
	}
	rounds := math.Ceil(float64(p.Boxes) / float64(u.AtOnce))
	p.Exposure = rounds * p.Length / 3600
	if p.PerNight > 0 {
		p.Nights = Number(math.Ceil(rounds / float64(p.PerNight)))
	}
	return p
}

// converges is how long the tables of other pods take to follow a router that goes
// dark, all timers at rest: two LSPs' hops, one run, the first of its writes.
func converges(t *timer.Set) int64 {
	wait := t.SPF.First
	switch t.SPF.Family {
	case timer.RFC8405:
		wait = t.SPF.Initial
	case timer.TwoStep:
		wait = t.SPF.Rapid
	}
	return t.Signal + t.LSPGeneration.First + 3*t.PerHop + wait + t.SPFRun + t.FIBBase
}

// paces lists how often a part has hard faults, flaps or restarts by itself, and how
// long they last. Groups are left out.
func paces(w *model.World, on failure.Class) (list []reliability.Pace) {
	for i := range w.Modes {
		m := &w.Modes[i]
		if m.On != on && !(on != failure.OnLink && m.On == failure.OnRouter) || !m.Kind.Converges() {
			continue
		}
		rate, lasts := 1e9/(m.Life.Mean()+dwell(w, m)), dwell(w, m)/1e9
		if m.Kind == failure.Flapping {
			rate, lasts = rate*m.Flaps.Mean(), m.Down.Mean()/1e9
		}
		list = append(list, reliability.Pace{Rate: rate, Lasts: lasts})
	}
	return list
}
