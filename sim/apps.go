package sim

import (
	"fmt"
	"math"
	"slices"

	"halflight/model"
	"halflight/model/traffic"
	"halflight/sim/record"
	"halflight/sim/series"
)

// felt is what a class felt at a leaf: the integral of its slow share (share x ns)
// and the time over budget (ns).
type felt func(leaf int32) (integral float64, over int64)

// planesOf lists the classes that deliveries are kept of: those of a world, and
// after them what tells how late their requests are.
func planesOf(w *model.World) []traffic.Class {
	list := slices.Clone(w.Classes)
	for i := range w.Classes {
		list = append(list, w.Classes[i].Later()...)
	}
	return list
}

// classOf is a class as the measures need it.
func classOf(c *traffic.Class, leafHour float64) record.Class {
	out := record.Class{Name: c.Name, Budget: c.Budget, LeafHour: leafHour, Delays: c.Delays()}
	for _, b := range c.Burn {
		out.Windows = append(out.Windows, record.Window{Name: lengthName(b.Window), Rate: b.Rate})
	}
	return out
}

// lengthName writes a length of time in whole units, so that it can be part of the
// name of a measure.
func lengthName(ns int64) string {
	for _, u := range []struct {
		name string
		ns   int64
	}{{"d", 86400e9}, {"h", 3600e9}, {"min", 60e9}, {"s", 1e9}, {"ms", 1e6}, {"us", 1e3}} {
		if ns%u.ns == 0 {
			return fmt.Sprintf("%d%s", ns/u.ns, u.name)
		}
	}
	return fmt.Sprintf("%dns", ns)
}

// keepBurn has the burn of error budgets kept.
func (e *engine) keepBurn() {
	for i := range e.w.Classes {
		c := &e.w.Classes[i]
		var windows []series.Window
		for _, b := range c.Burn {
			windows = append(windows, series.Window{Length: b.Window, Rate: b.Rate})
		}
		e.ledger.Apps[i].Burn = series.NewBurn(e.w.WarmUp, e.until, e.f.Leaves, c.Budget, windows)
		e.ledger.Apps[i].Burn.Weigh(e.w.Traffic.Mix.Weight, e.f.Foreign)
	}
}

// recordApplications reads what classes felt.
func (e *engine) recordApplications(r *record.Replication, of func(plane int) felt, length float64) {
	next := len(e.w.Classes)
	for i := range e.w.Classes {
		a := e.application(of(i), length)
		for range e.w.Classes[i].Delays() {
			a.Late = append(a.Late, e.application(of(next), length).SlowShare)
			next++
		}
		r.Applications = append(r.Applications, a)
	}
}

// application is what a class felt: of all its units, and at the leaves of the fabric.
// Each leaf, and what lies outside, counts by the units that it has a part in.
func (e *engine) application(slow felt, length float64) record.Application {
	var out record.Application
	var shares []float64
	for leaf := range int32(e.f.Leaves) {
		integral, over := slow(leaf)
		// Told by steps of 5 ms, a stretch beside a change from outside may count twice.
		share := min(integral/length, 1)
		out.SlowShare += float64(share*e.w.Traffic.Mix.Weight(leaf)) / float64(e.f.Leaves)
		if e.f.Foreign(leaf) {
			continue
		}
		shares = append(shares, share)
		out.DegradedLeafHours += float64(min(over, int64(length))) / 3.6e12
	}
	slices.Sort(shares)
	out.WorstLeaf = shares[len(shares)-1]
	out.P99Leaf = shares[int(math.Ceil(0.99*float64(len(shares))))-1]
	return out
}
