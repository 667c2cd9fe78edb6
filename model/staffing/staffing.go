// Package staffing turns what a scenario says of instruments, people and money
// into the operator on paper, and lists it as settings.
//
// It knows no fabric but its shape, and nothing of what breaks. It is
// tested through package model, by the settings of whole scenarios.
package staffing

import (
	"fmt"
	"slices"

	"halflight/model/chance"
	"halflight/model/given"
	"halflight/model/operation"
	"halflight/scenarios"
	"halflight/scenarios/operator"
)

// Bad is told of a problem with the value at a key path.
type Bad func(path, text string)

// Plan resolves who acts and who repairs; instruments are the default ones.
// busiest is the load of the busiest hour.
func Plan(o *scenarios.Operations, busiest float64, lawOf func(*scenarios.Distribution) chance.Law) operation.Plan {
	p := operation.Default(busiest)
	p.Reaction, p.Automatic = reaction(o.Reaction, lawOf)
	p.Floor, p.SoakTime = given.Or(o.Floor, p.Floor), given.Span(o.Soak, p.SoakTime)
	if o.Crew != nil && !o.Crew.Unlimited {
		p.Crew = o.Crew.Size
	}
	for _, s := range o.Shifts {
		p.Shifts = append(p.Shifts, operation.Shift{From: int64(s.From), To: int64(s.To), Crew: s.Crew})
	}
	if f := o.FirstRepair; f != nil {
		p.FirstBlind, p.FirstGuided = given.Or(f.Blind, p.FirstBlind), given.Or(f.Guided, p.FirstGuided)
	}
	if r := o.Replace; r != nil {
		p.Replace = operation.Replacement{Tickets: given.Or(r.Tickets, 0), Within: given.Span(r.Within, year)}
	}
	p.Upgrades, p.Changes = upgrades(o.Upgrades, lawOf), changes(o.Changes, lawOf)
	return p
}

// reaction resolves how long somebody takes to act, people if nothing is said.
func reaction(r *operator.Reaction, lawOf lawsOf) (takes chance.Law, automatic bool) {
	if r != nil && r.Who == operator.Measured {
		return lawOf(r.Delay), false
	}
	automatic = r != nil && r.Who == operator.Automatic
	return operation.Reaction(automatic), automatic
}

const (
	day  = 86400 * int64(1e9)
	year = 365 * day // within which tickets of a part count when nothing is said
)

// Instruments resolves the instruments that replace the default ones.
// Complaints come on top, unless there is an entry about them.
func Instruments(typed []scenarios.Instrument, bad Bad) []operation.Instrument {
	var list []operation.Instrument
	complaints := false
	for i := range typed {
		t := &typed[i]
		if t.Complaints != nil {
			complaints = true
			if t.Complaints.Off {
				continue
			}
		}
		list = append(list, instrument(t))
	}
	if complaints {
		return list
	}
	d := operation.DefaultComplaints()
	for i := range list {
		if list[i].Name == d.Name {
			bad(fmt.Sprintf("telemetry.%d.name", i), fmt.Sprintf("%q is the name of the complaints that are always on: choose another, or switch them off", d.Name))
		}
	}
	return append(list, d)
}

// instrument resolves one instrument.
func instrument(t *scenarios.Instrument) operation.Instrument {
	var d operation.Instrument
	switch {
	case t.Polling != nil:
		p := t.Polling
		d = operation.DefaultPolling()
		d.Every, d.Threshold, d.InARow = given.Span(p.Every, d.Every), given.Or(p.Threshold, d.Threshold), given.Or(p.InARow, d.InARow)
		d.FalseAlarms, d.WrongLink = given.Number(p.FalseAlarms, d.FalseAlarms), given.Or(p.WrongLink, d.WrongLink)
	case t.Probes != nil:
		d = probes(t.Probes)
	case t.Hosts != nil:
		p := t.Hosts
		d = operation.DefaultHosts()
		d.Every, d.Sample, d.FalseAlarms = given.Span(p.Every, d.Every), given.Or(p.Sample, d.Sample), given.Number(p.FalseAlarms, d.FalseAlarms)
		d.Missed, d.WrongLink = given.Or(p.Missed, d.Missed), given.Or(p.WrongLink, d.WrongLink)
	case t.Drops != nil:
		p := t.Drops
		d = operation.DefaultDrops()
		d.Every, d.FalseAlarms = given.Span(p.Every, d.Every), given.Number(p.FalseAlarms, d.FalseAlarms)
		d.Silent, d.Holes = given.Or(p.Silent, d.Silent), given.Or(p.Holes, d.Holes)
		d.Missed, d.WrongLink = given.Or(p.Missed, d.Missed), given.Or(p.WrongLink, d.WrongLink)
	case t.Optics != nil:
		p := t.Optics
		d = operation.DefaultOptics()
		d.Every, d.Threshold, d.InARow = given.Span(p.Every, d.Every), given.Or(p.Threshold, d.Threshold), given.Or(p.InARow, d.InARow)
		d.FalseAlarms, d.WrongLink = given.Number(p.FalseAlarms, d.FalseAlarms), given.Or(p.WrongLink, d.WrongLink)
	default:
		d = operation.DefaultComplaints()
		if p := t.Complaints; p != nil {
			d.Rate, d.Threshold, d.RateMax = given.Number(p.Rate, d.Rate), given.Or(p.Threshold, d.Threshold), given.Number(p.AtMost, d.RateMax)
		}
	}
	d.Name, d.From = t.Name, given.Span(t.From, -1)
	return d
}

// probes resolves active probes. A budget of false alarms replaces the number
// of losses in a row.
func probes(p *operator.Probes) operation.Instrument {
	d := operation.DefaultProbes()
	d.Rate = given.Number(p.Rate, d.Rate)
	if p.Sizes != nil {
		d.Sizes = nil
		for _, size := range p.Sizes {
			d.Sizes = append(d.Sizes, float64(size))
		}
	}
	d.PortsVaried, d.TimeOut = given.Or(p.PortsVaried, d.PortsVaried), given.Span(p.TimeOut, d.TimeOut)
	d.Pairs, d.Flows, d.Window = given.Or(p.Pairs, false), given.Or(p.Flows, d.Flows), given.Or(p.Window, d.Window)
	d.InARow, d.WrongLink = given.Or(p.InARow, d.InARow), given.Or(p.WrongLink, d.WrongLink)
	if p.FalseAlarms != nil {
		d.InARow, d.FalseAlarms = 0, float64(*p.FalseAlarms)
	}
	return d
}

// Cost sets what the instruments of a fabric of so many leaves cost a year.
func Cost(list []operation.Instrument, typed []scenarios.Instrument, leaves int) {
	for i := range list {
		d := operation.YearlyCost(list[i].Kind, leaves)
		if t := named(typed, list[i].Name); t != nil {
			d = given.Or(t.YearlyCost, d)
		}
		list[i].YearlyCost = d
	}
}

// named returns the instrument of the scenario with a name, nil when it is none.
func named(typed []scenarios.Instrument, name string) *scenarios.Instrument {
	if i := slices.IndexFunc(typed, func(t scenarios.Instrument) bool { return t.Name == name }); i >= 0 {
		return &typed[i]
	}
	return nil
}

// Prices resolves prices, by class of application.
func Prices(c *scenarios.Costs, classes []string, bad Bad) operation.Prices {
	p := operation.DefaultPrices(len(classes))
	if c.Currency != "" {
		p.Currency = c.Currency
	}
	for _, g := range c.DegradedLeafHour {
		i := slices.Index(classes, g.Class)
		if i < 0 {
			bad("costs.degraded_leaf_hour."+g.Class, fmt.Sprintf("%q is no application of this scenario", g.Class))
			continue
		}
		p.DegradedLeafHour[i] = g.Price
	}
	p.TechnicianHour, p.Visit, p.Optic = given.Or(c.TechnicianHour, p.TechnicianHour), given.Or(c.Visit, p.Visit), given.Or(c.Optic, p.Optic)
	p.Port, p.Leaf = given.Or(c.Port, p.Port), given.Or(c.Leaf, p.Leaf)
	return p
}
