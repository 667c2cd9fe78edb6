package model

import (
	"fmt"

	"halflight/model/given"
	"halflight/model/staffing"
	"halflight/model/traffic"
	"halflight/model/work"
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
	b.external(&d)
	d.Congestion = given.Or(s.Traffic.Congestion, false)
	if d.Congestion && w.Polarised {
		b.bad("traffic.congestion", "loads are followed with independent hashing only")
	}
	w.Traffic = d
	if !s.ApplicationsGiven {
		w.Classes = []traffic.Class{traffic.Calls()}
	}
	planes := len(s.Applications)
	for i := range s.Applications {
		w.Classes = append(w.Classes, work.Of(&s.Applications[i], lawOf))
		if planes += w.Classes[i].TimeOuts; planes > traffic.MostPlanes {
			b.bad(fmt.Sprintf("applications.%d", i), fmt.Sprintf("with it there are %d classes and time-outs to follow, at most %d can be", planes, traffic.MostPlanes))
		}
		delays := w.Classes[i].Delays()
		for k := 1; k < len(delays); k++ {
			if traffic.Milliseconds(delays[k]) == traffic.Milliseconds(delays[k-1]) {
				b.bad(fmt.Sprintf("applications.%d.request.time_outs", i), "delays are told in whole ms, and two of them are the same: a time_out of 250us or more tells them apart")
				break
			}
		}
		for _, u := range w.Classes[i].Burn {
			if w.Horizon/u.Window > 1_000_000 {
				b.bad(fmt.Sprintf("applications.%d", i), "a window of the error budget is less than a millionth of the horizon")
			}
		}
	}
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
	if u := b.w.Operation.Upgrades; u != nil {
		u.Mates = b.w.Homing.Attachments == 2
	}
	staffing.Check(&b.w.Operation, b.w.Fabric.Shape, b.w.Random, b.w.Horizon, b.bad)
}

// names lists the names of classes.
func names(classes []traffic.Class) []string {
	list := make([]string, len(classes))
	for i := range classes {
		list[i] = classes[i].Name
	}
	return list
}
