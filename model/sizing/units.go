package sizing

import (
	"halflight/model/reliability"
)

// Units is what can be said of populations and groups alone. Times are
// hours.
type Units struct {
	Populations []Population `json:"populations"`
	Together    *Together    `json:"together,omitempty"`
	Groups      []Group      `json:"groups"`
	Lead        float64      `json:"lead_h"`
	Cover       float64      `json:"spares_cover"`
}

// Together is one population, or several at once.
type Together struct {
	Units    int     `json:"units"`
	Gap      float64 `json:"gap_h"` // mean time between any two failures
	PerDay   Count   `json:"per_day"`
	PerMonth Count   `json:"per_month"` // 30 d
	PerYear  Count   `json:"per_year"`
	Broken   Broken  `json:"broken_now"`
	Spares   int     `json:"spares"`
}

// Named is a population with its name.
type Named struct {
	Name string
	reliability.Population
}

// Population is what can be said of one population.
type Population struct {
	Name string `json:"name"`
	Together
	MTBF           float64 `json:"mtbf_h"`
	MTTR           float64 `json:"mttr_h"`
	FIT            float64 `json:"fit"` // failures in 1e9 unit-hours
	AFR            float64 `json:"afr"` // probability that a unit fails within a year
	FailuresYear   float64 `json:"failures_per_unit_year"`
	Unavailability float64 `json:"unavailability"`
	DownSeconds    float64 `json:"down_seconds_per_unit_year"`
}

// Group is what can be said of a k-of-n group.
type Group struct {
	Units          int     `json:"n"`
	Need           int     `json:"need"`
	MTBF           float64 `json:"mtbf_h"`
	MTTR           float64 `json:"mttr_h"`
	Crew           int     `json:"crew"` // 0: unlimited
	Unavailability float64 `json:"unavailability"`
	MTTF           Number  `json:"mttf_h"` // from all units up
	MeanUp         Number  `json:"mean_up_h"`
	MeanDown       Number  `json:"mean_down_h"`
	PerYear        float64 `json:"failures_per_year"`
}

// OfUnits answers for populations and groups; lead is in hours.
func OfUnits(units []Named, parts []reliability.Group, lead float64) *Units {
	a := &Units{Populations: []Population{}, Groups: []Group{}, Lead: lead, Cover: Cover}
	var all []reliability.Population
	for _, p := range units {
		all = append(all, p.Population)
		a.Populations = append(a.Populations, Population{
			Name: p.Name, Together: together(lead, p.Population), MTBF: p.MTBF, MTTR: p.MTTR,
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
		a.Groups = append(a.Groups, Group{g.Units, g.Need, g.MTBF, g.MTTR, g.Crew, f.Unavailability, Number(f.MTTF),
			Number(f.MeanUp), Number(f.MeanDown), f.Frequency * reliability.HoursPerYear})
	}
	return a
}

func together(lead float64, fleet ...reliability.Population) Together {
	rate := reliability.FleetRate(fleet...)
	t := Together{Gap: reliability.FleetGap(fleet...), PerDay: counted(rate * 24), PerMonth: counted(rate * 720),
		PerYear: counted(rate * reliability.HoursPerYear), Broken: brokenOf(fleet...), Spares: reliability.Spares(lead, Cover, fleet...)}
	for _, p := range fleet {
		t.Units += p.Count
	}
	return t
}
