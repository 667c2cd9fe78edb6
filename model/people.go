package model

import (
	"fmt"

	"halflight/model/chance"
	"halflight/model/given"
	"halflight/model/staffing"
	"halflight/model/traffic"
	"halflight/scenarios"
	"halflight/scenarios/objective"
)

// traffic resolves demand and application classes.
func (b *builder) traffic() {
	s, w := b.s, b.w
	d := traffic.Default()
	d.Load = given.Or(s.Traffic.Load, d.Load)
	d.Busiest = given.Or(s.Traffic.Busiest, max(d.Busiest, d.Load))
	d.Access = given.Number(s.Fabric.Speed.Access, d.Access)
	d.Servers = given.Or(s.Traffic.Servers, 0)
	if d.Busiest < d.Load {
		b.bad("traffic.load", fmt.Sprintf("the mean load is above that of the busiest hour, %g", d.Busiest))
	}
	w.Traffic = d
	if !s.ApplicationsGiven {
		w.Classes = []traffic.Class{traffic.Calls()}
	}
	for i := range s.Applications {
		w.Classes = append(w.Classes, class(&s.Applications[i]))
		for _, u := range w.Classes[i].Burn {
			if w.Horizon/u.Window > 1_000_000 {
				b.bad(fmt.Sprintf("applications.%d", i), "a window of the error budget is less than a millionth of the horizon")
			}
		}
	}
}

// class resolves one application.
func class(a *scenarios.Application) traffic.Class {
	switch {
	case a.Bulk != nil:
		return flowClass(a.Name, a.Bulk, traffic.Copies())
	case a.Collective != nil:
		return flowClass(a.Name, a.Collective, traffic.Steps())
	}
	c := traffic.Calls()
	c.Name = a.Name
	r := a.Request
	if r == nil {
		return c // refused by scenarios
	}
	c.Packets, c.FanOut = given.Or(r.Packets, c.Packets), given.Or(r.FanOut, c.FanOut)
	c.TimeOut, c.Budget = given.Span(r.TimeOut, c.TimeOut), given.Or(r.Budget, c.Budget)
	c.Deadline, c.Repath = given.Span(r.Deadline, 0), given.Or(r.Repath, false)
	c.TimeOuts, c.Burn = given.Or(r.TimeOuts, 0), burns(r.Burn, c.Burn)
	if r.Bytes != nil {
		c.Sizes = lawOf(r.Bytes)
		if r.Bytes.Family == scenarios.Fixed {
			c.Bytes, c.Sizes = r.Bytes.Low, traffic.Even(r.Bytes.Low)
			return c
		}
		c.Bytes = c.Sizes.Mean()
	}
	return c
}

// flowClass resolves a class of long flows.
func flowClass(name string, g *scenarios.LongFlow, c traffic.Class) traffic.Class {
	c.Name = name
	f := c.Flow
	if g.Law != nil {
		f.Law = traffic.Law(*g.Law)
	}
	f.RoundTrip = float64(given.Span(g.RoundTrip, int64(f.RoundTrip*1e9+0.5))) / 1e9
	f.Segment = float64(given.Or(g.Segment, int64(f.Segment)))
	f.Rate, f.Least = given.Number(g.Rate, f.Rate), given.Or(g.Least, f.Least)
	c.Bytes, c.Sizes = f.Segment, chance.Constant(f.Segment)
	c.TimeOut, c.Budget, c.FanOut = given.Span(g.TimeOut, c.TimeOut), given.Or(g.Budget, c.Budget), given.Or(g.Flows, c.FanOut)
	c.Bears = f.Bearable(float64(c.TimeOut) / 1e9)
	c.Burn = burns(g.Burn, c.Burn)
	return c
}

// burns resolves the windows of an error budget.
func burns(typed []objective.Burn, otherwise []traffic.Burn) []traffic.Burn {
	if typed == nil {
		return otherwise
	}
	var list []traffic.Burn
	for _, b := range typed {
		list = append(list, traffic.Burn{Window: int64(b.Window), Rate: b.Rate})
	}
	return list
}

// operation resolves what watches, who acts, who repairs and what it costs.
func (b *builder) operation() {
	leaves := b.w.Fabric.Leaves
	b.w.Operation = staffing.Plan(&b.s.Operations, b.w.Traffic.Busiest, lawOf)
	if b.s.TelemetryGiven {
		b.w.Operation.Instruments = staffing.Instruments(b.s.Telemetry, b.bad)
	}
	staffing.Cost(b.w.Operation.Instruments, b.s.Telemetry, leaves)
	b.w.Prices = staffing.Prices(&b.s.Costs, names(b.w.Classes), b.bad)
}

// names lists the names of classes.
func names(classes []traffic.Class) []string {
	list := make([]string, len(classes))
	for i := range classes {
		list[i] = classes[i].Name
	}
	return list
}
