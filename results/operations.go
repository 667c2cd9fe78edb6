package results

import (
	"fmt"
	"math"

	"halflight/results/money"
	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// operations adds what instruments and operators did, what they had left and what
// it cost.
func (b *summary) operations() {
	rate := func(name string, figure func(r *record.Replication) int64) {
		counts := b.counts(figure)
		b.addRate(name, counts)
	}
	rate("stalls", func(r *record.Replication) int64 { return r.Stalls })
	rate("stalls_lost", func(r *record.Replication) int64 { return r.StallsLost })
	b.servers()
	rate("tickets", func(r *record.Replication) int64 { return r.Tickets })
	tickets := b.counts(func(r *record.Replication) int64 { return r.Tickets })
	repeats := b.each(func(r *record.Replication) float64 { return shareOf(float64(r.Repeats), float64(r.Tickets)) })
	b.addMean("repeat_tickets", unit.Share, b.amount(repeats, 1, tickets), total(tickets), repeats)
	rate("averted", func(r *record.Replication) int64 { return r.Averted })
	for i, ins := range b.header.Instruments {
		rate("sightings."+ins.Name, func(r *record.Replication) int64 { return r.Watched[i].Sightings })
	}
	for i, ins := range b.header.Instruments {
		rate("false_alarms."+ins.Name, func(r *record.Replication) int64 { return r.Watched[i].FalseAlarms })
	}
	rate("false_drains", func(r *record.Replication) int64 { return r.FalseDrains })
	b.add("capacity.worst", unit.Share, extreme(b.each(func(r *record.Replication) float64 { return r.CapacityLeft() }), -1), NoEvents)
	b.add("load.worst", unit.Share, b.fullest(), NoEvents)
	if b.header.Congestion {
		over := b.each(func(r *record.Replication) float64 { return r.LoadOver })
		b.addMean("load.over", unit.Share, b.amount(over, 1, b.hurt), total(b.hurt), over)
	}
	if v := b.header.Hottest; v > 0 {
		b.add("load.hottest", unit.Share, stat.Estimate{Value: v, Known: true, Reason: "follows from the demand"}, NoEvents)
	}
	hands := b.each(func(r *record.Replication) float64 { return r.HandsOn })
	offered := stat.Mean(hands, b.o.Level).Within(0, math.Inf(1))
	if crew := b.crew(); crew > 0 && offered.Value > float64(0.9*crew) {
		offered = offered.With(stat.Warning{Code: CrewOverloaded, Text: fmt.Sprintf(
			"each of %s is asked for %.2g of the time, above 0.9: repairs queue and may never catch up; a larger crew or less hands-on time would cure it",
			technicians(crew), offered.Value/crew)})
	}
	b.addMean("technicians.offered", unit.One, offered, NoEvents, hands)
	rate("visits", func(r *record.Replication) int64 { return r.Visits })
	b.planned()
	b.cost()
}

// crew is the number of technicians there at a time, on average; 0: unlimited.
func (b *summary) crew() float64 {
	if b.o.CrewMean > 0 {
		return b.o.CrewMean
	}
	return float64(b.o.Crew)
}

func technicians(crew float64) string {
	if crew == math.Trunc(crew) {
		return unit.Count(int(crew), "technician")
	}
	return fmt.Sprintf("the %.3g technicians there on average", crew)
}

// cost adds yearly costs. Those that depend on nothing have no interval.
func (b *summary) cost() {
	var bills [][]money.Item
	for i := range b.set.Replications {
		bills = append(bills, money.Of(b.header, &b.set.Replications[i]))
	}
	for k, name := range money.Names(b.header) {
		figures := make([]float64, len(bills))
		for i := range bills {
			figures[i] = bills[i][k].PerYear
		}
		e := stat.Mean(figures, b.o.Level)
		if len(figures) > 0 && money.Fixed(name) {
			e = stat.Estimate{Value: figures[0], N: len(figures), Known: true, Reason: "given, whatever happens"}
		}
		b.addMean("cost."+name, unit.PerYear, e, NoEvents, figures)
	}
}

// fullest is how full the fullest link was: one between routers, or the busiest access link.
func (b *summary) fullest() stat.Estimate {
	core, access := b.fullestCore(), b.fullestAccess()
	// What is equal but for rounding is the core's, where it stands for faults too.
	if !access.Known || core.Known && access.Value <= float64(core.Value*(1+1e-9)) {
		return core
	}
	if access.Value > 1 {
		access = access.With(stat.Warning{Code: Overfull, Text: fmt.Sprintf(
			"in the busiest hour access links would be asked for %.3g times what they carry%s, and would lose the excess, which is not simulated: %.3g times the load (traffic.busiest) would fit",
			access.Value, b.alone(), 1/access.Value)})
	}
	return access
}

// fullestAccess is how full the fullest access link is in the busiest hour. Of two
// attachments of a group the other carries all while one is lost.
func (b *summary) fullestAccess() stat.Estimate {
	return extreme(b.each(func(r *record.Replication) float64 {
		if s := b.header.Servers; s != nil && s.Attachments == 2 && r.Servers != nil && r.Servers.Lost > 0 {
			return 2 * b.header.BusiestAccess
		}
		return b.header.BusiestAccess
	}), 1)
}

// alone says of which access links fullestAccess speaks.
func (b *summary) alone() string {
	if s := b.header.Servers; s != nil && s.Attachments == 2 {
		return ", those of servers that have lost one of two"
	}
	return ""
}

// fullestCore is how full the fullest link between routers is if the busiest hour
// meets the leaf with the least share of its uplinks, but one with none: first order, what the others
// of its links bear.
func (b *summary) fullestCore() stat.Estimate {
	if b.header.Congestion { // it was played
		return extreme(b.each(func(r *record.Replication) float64 { return r.LoadWorst }), 1)
	}
	e := extreme(b.each(func(r *record.Replication) float64 { return shareOf(b.header.BusiestUse, r.CapacityWorst) }), 1)
	if e.Known && e.Value > 1 {
		e = e.With(stat.Warning{Code: Overfull, Text: fmt.Sprintf(
			"in the busiest hour links would be asked for %.3g times what they carry, and would lose the excess, which is not simulated without traffic.congestion: a higher floor, more uplinks or less load would cure it", e.Value)})
	}
	return e
}
