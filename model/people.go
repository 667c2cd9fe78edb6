package model

import (
	"fmt"

	"halflight/model/operation"
	"halflight/model/traffic"
	"halflight/scenarios"
)

// traffic resolves demand and application classes.
func (b *builder) traffic() {
	s, w := b.s, b.w
	d := traffic.Default()
	d.Load = or(s.Traffic.Load, d.Load)
	d.Busiest = or(s.Traffic.Busiest, max(d.Busiest, d.Load))
	d.Access = speed(s.Fabric.Speed.Access, d.Access)
	if d.Busiest < d.Load {
		b.bad("traffic.load", fmt.Sprintf("the mean load is above that of the busiest hour, %g", d.Busiest))
	}
	w.Traffic = d
	if !s.ApplicationsGiven {
		w.Classes = []traffic.Class{traffic.Calls()}
	}
	for i := range s.Applications {
		w.Classes = append(w.Classes, class(&s.Applications[i]))
	}
}

// class resolves one application.
func class(a *scenarios.Application) traffic.Class {
	c := traffic.Calls()
	c.Name = a.Name
	r := a.Request
	if r == nil {
		return c // refused by scenarios
	}
	c.Packets, c.FanOut = or(r.Packets, c.Packets), or(r.FanOut, c.FanOut)
	c.TimeOut, c.Budget = span(r.TimeOut, c.TimeOut), or(r.Budget, c.Budget)
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

// operation resolves what watches, who acts and who repairs.
func (b *builder) operation() {
	o := &b.s.Operations
	p := operation.Default(b.w.Traffic.Busiest)
	if r := o.Reaction; r != nil {
		p.Automatic = r.Who == scenarios.Automatic
		p.Reaction = operation.Reaction(p.Automatic)
		if r.Who == scenarios.Measured {
			p.Reaction = lawOf(r.Delay)
		}
	}
	p.Floor, p.SoakTime = or(o.Floor, p.Floor), span(o.Soak, p.SoakTime)
	if o.Crew != nil && !o.Crew.Unlimited {
		p.Crew = o.Crew.Size
	}
	if f := o.FirstRepair; f != nil {
		p.FirstBlind, p.FirstGuided = or(f.Blind, p.FirstBlind), or(f.Guided, p.FirstGuided)
	}
	if b.s.TelemetryGiven {
		p.Instruments = b.instruments()
	}
	b.w.Operation = p
}

// instruments resolves the instruments that replace the default ones.
// Complaints come on top, unless there is an entry about them.
func (b *builder) instruments() []operation.Instrument {
	var list []operation.Instrument
	complaints := false
	for i := range b.s.Telemetry {
		t := &b.s.Telemetry[i]
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
			b.bad(fmt.Sprintf("telemetry.%d.name", i), fmt.Sprintf("%q is the name of the complaints that are always on: choose another, or switch them off", d.Name))
		}
	}
	return append(list, d)
}

// instrument resolves one instrument.
func instrument(t *scenarios.Instrument) operation.Instrument {
	switch {
	case t.Polling != nil:
		d, p := operation.DefaultPolling(), t.Polling
		d.Every, d.Threshold, d.InARow = span(p.Every, d.Every), or(p.Threshold, d.Threshold), or(p.InARow, d.InARow)
		d.Name, d.WrongLink = t.Name, or(p.WrongLink, d.WrongLink)
		return d
	case t.Probes != nil:
		return probes(t)
	}
	d := operation.DefaultComplaints()
	d.Name = t.Name
	if p := t.Complaints; p != nil {
		d.Rate = float64(or(p.Rate, scenarios.Rate(d.Rate)))
		d.Threshold = or(p.Threshold, d.Threshold)
		d.RateMax = float64(or(p.AtMost, scenarios.Rate(d.RateMax)))
	}
	return d
}

// probes resolves active probes. A budget of false alarms replaces the number
// of losses in a row.
func probes(t *scenarios.Instrument) operation.Instrument {
	d, p := operation.DefaultProbes(), t.Probes
	d.Name = t.Name
	d.Rate = float64(or(p.Rate, scenarios.Rate(d.Rate)))
	if p.Sizes != nil {
		d.Sizes = nil
		for _, size := range p.Sizes {
			d.Sizes = append(d.Sizes, float64(size))
		}
	}
	d.PortsVaried, d.TimeOut = or(p.PortsVaried, d.PortsVaried), span(p.TimeOut, d.TimeOut)
	d.InARow, d.WrongLink = or(p.InARow, d.InARow), or(p.WrongLink, d.WrongLink)
	if p.FalseAlarms != nil {
		d.InARow, d.FalseAlarms = 0, float64(*p.FalseAlarms)
	}
	return d
}
