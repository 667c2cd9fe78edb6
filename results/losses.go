package results

import (
	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// stranded is the phase of what had no path left; all others are avoidable.
const stranded = "stranded"

// applications adds what each class felt.
func (b *summary) applications() {
	for i, c := range b.header.Classes {
		at := func(figure func(a *record.Application) float64) []float64 {
			return b.each(func(r *record.Replication) float64 { return figure(&r.Applications[i]) })
		}
		name, hurt := "app."+c.Name, total(b.hurt)
		each := at(func(a *record.Application) float64 { return a.SlowShare })
		slow := b.amount(each, 1, b.hurt)
		b.addMean(name+".slow_share", unit.One, slow, hurt, each)
		worst := at(func(a *record.Application) float64 { return a.WorstLeaf })
		b.addMean(name+".slow_share.worst_leaf", unit.One, b.amount(worst, 1, b.hurt), hurt, worst)
		p99 := at(func(a *record.Application) float64 { return a.P99Leaf })
		b.addMean(name+".slow_share.p99_leaf", unit.One, b.amount(p99, 1, b.hurt), hurt, p99)
		if c.Budget > 0 {
			burnt := make([]float64, len(each))
			for k, v := range each {
				burnt[k] = v / c.Budget
			}
			b.addMean(name+".budget_burn", unit.One, slow.Scaled(1/c.Budget), hurt, burnt)
		} else {
			b.add(name+".budget_burn", unit.One, stat.Estimate{Reason: "not available: the class has no error budget"}, hurt)
		}
		hours := at(func(a *record.Application) float64 { return a.DegradedLeafHours / b.months })
		b.addMean(name+".degraded_leaf_hours", unit.HPerMonth, b.amount(hours, month/3600e9*float64(b.header.Leaves), b.hurt), hurt, hours)
		b.burnt(i, name+".burn.")
		b.late(i, name)
	}
}

// lost adds the lost seconds and their breakdowns by kind and by phase.
func (b *summary) lost() {
	phases := b.header.Phases
	b.lostOf("avoidable", func(_, phase int) bool { return phases[phase] != stranded })
	b.lostOf(stranded, func(_, phase int) bool { return phases[phase] == stranded })
	if b.header.External > 0 {
		figures := b.each(func(r *record.Replication) float64 { return r.LostExternal / b.months })
		events := b.countFaults(func(f *record.Fault) bool { return f.External && f.LostSeconds > 0 })
		b.addMean("lost_seconds.external", unit.SPerMonth, b.amount(figures, month/1e9, events), total(events), figures)
	}
	for _, kind := range kindsOf(b.header) {
		b.lostOf("kind."+kind, func(mode, _ int) bool { return b.header.Modes[mode].Kind == kind })
	}
	for i, phase := range phases {
		b.lostOf("phase."+phase, func(_, k int) bool { return k == i })
	}
}

// lostOf adds the lost seconds of the modes and phases that pass.
func (b *summary) lostOf(name string, pass func(mode, phase int) bool) {
	figures := b.each(func(r *record.Replication) float64 {
		var s stat.RunningSum
		for m, row := range r.LostSeconds {
			for p, seconds := range row {
				if seconds != 0 && pass(m, p) { // most are 0, which no sum feels
					s.Add(seconds)
				}
			}
		}
		return s.Value() / b.months
	})
	events := b.countFaults(func(f *record.Fault) bool {
		for p, seconds := range f.Phases {
			if seconds > 0 && pass(int(f.Mode), p) {
				return true
			}
		}
		return false
	})
	b.addMean("lost_seconds."+name, unit.SPerMonth, b.amount(figures, month/1e9, events), total(events), figures)
}
