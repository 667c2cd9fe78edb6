// Package work turns classes of applications as typed into what they are, and
// lists them as settings.
//
// It knows what a class can bear, not what happens to it. It is tested through
// package model, by round trips of whole scenarios.
package work

import (
	"halflight/model/chance"
	"halflight/model/given"
	"halflight/model/traffic"
	"halflight/scenarios"
	"halflight/scenarios/objective"
)

// Of resolves one class; law resolves a law as typed.
func Of(a *scenarios.Application, law func(*scenarios.Distribution) chance.Law) traffic.Class {
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
		c.Sizes = law(r.Bytes)
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
	f.RoundTrip = float64(given.Span(g.RoundTrip, int64(float64(f.RoundTrip*1e9)+0.5))) / 1e9
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
