// Package sizing is what can be said of a fabric without simulating it: its
// inventory, how often anything fails, what is broken at a random moment, what is
// left of a leaf's uplinks, other widths, spares.
//
// It may not know the simulation or its results; closed forms are those of
// package reliability. Times are hours, shares are of 1. It is tested against the
// published counts and rates, and by counting small fabrics.
package sizing

import (
	"halflight/model"
	"halflight/model/reliability"
)

// Cover is the probability with which spares are to last for a lead time, and
// the level of what is broken now; Level is that of ranges.
const (
	Cover = 0.99
	Level = 0.95
)

// Count is an expected number of failures in a span of time, with its range.
type Count struct {
	Mean float64 `json:"mean"`
	Low  int     `json:"low"` // central 95 % range of a Poisson count
	High int     `json:"high"`
}

func counted(mean float64) Count {
	low, high := reliability.PoissonRange(mean, Level)
	return Count{mean, low, high}
}

// CountMost is the largest mean whose range is worked out: above it, not all whole numbers are floating-point ones.
const CountMost = 1e15

// UnitsExpect is the largest mean of a count that OfUnits will want a range of.
func UnitsExpect(units []Named, lead float64) float64 {
	rate := 0.0
	for _, p := range units {
		rate += p.Rate()
	}
	return rate * max(lead, reliability.HoursPerYear)
}

// WorldExpects is the same of OfWorld.
func WorldExpects(w *model.World, lead float64) float64 {
	rate := 0.0
	for i := range w.Modes {
		m := &w.Modes[i]
		if n := m.Population(w.Fabric, w.Groups); n > 0 {
			rate += cycling(populationOf(w, m, n)).Rate()
		}
	}
	return rate * max(lead, 720)
}

// Broken is how many units are down at a random moment.
type Broken struct {
	Mean float64 `json:"mean"`
	P99  int     `json:"p99"`
}

func brokenOf(fleet ...reliability.Population) Broken {
	return Broken{reliability.BrokenMean(fleet...), reliability.BrokenQuantile(Cover, fleet...)}
}
