package results

import (
	"fmt"

	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// spread adds the quantiles of a figure over faults, pooled over replications
// and resampled by replication. figure returns false for a fault that has none.
// It returns how many faults entered.
func (b *summary) spread(name, in string, doubt []stat.Warning, figure func(f *record.Fault) (float64, bool)) int {
	values := make([][]float64, len(b.set.Replications))
	for i := range values {
		faults := b.set.Replications[i].Faults
		for k := range faults {
			if v, ok := figure(&faults[k]); ok {
				values[i] = append(values[i], v)
			}
		}
	}
	p := stat.Pool(values)
	for _, q := range quantiles {
		if !b.asked(name + "." + q.name) {
			b.add(name+"."+q.name, in, unasked, p.Len())
			continue
		}
		b.add(name+"."+q.name, in, doubted(p.Quantile(q.at, b.o.Level, b.set.Study.Seed), doubt), p.Len())
		b.from(Sample{Pooled: p, At: q.at, Scale: 1})
	}
	b.add(name+".max", in, doubted(largest(p), doubt), p.Len())
	return p.Len()
}

// largest is the largest pooled value, or that there is none.
func largest(p *stat.Pooled) stat.Estimate {
	if p.Len() == 0 {
		return stat.Estimate{Reason: "no event"}
	}
	return p.Largest()
}

func doubted(e stat.Estimate, doubt []stat.Warning) stat.Estimate {
	for _, w := range doubt {
		e = e.With(w)
	}
	return e
}

// seconds turns ns of a record into s; None is not a time.
func seconds(ns int64) (float64, bool) { return float64(ns) / 1e9, ns != record.None }

// convergence adds Full Convergence Times: of cuts, by what the routers were
// doing at onset, and of all faults by kind.
func (b *summary) convergence() {
	cut := func(f *record.Fault) bool { return b.header.Modes[f.Mode].Cut() }
	b.converged("full_convergence", cut)
	b.converged("full_convergence.quiet", func(f *record.Fault) bool { return cut(f) && f.Background == record.Quiet })
	b.converged("full_convergence.noise", func(f *record.Fault) bool { return cut(f) && f.Background == record.Noise })
	for _, kind := range kindsOf(b.header) {
		b.converged("full_convergence.kind."+kind, func(f *record.Fault) bool { return b.header.Modes[f.Mode].Kind == kind })
	}
}

func (b *summary) converged(name string, pass func(f *record.Fault) bool) {
	horizon := b.set.Study.WarmUp + b.set.Study.Horizon
	open := total(b.countFaults(func(f *record.Fault) bool {
		return pass(f) && f.FullConvergence != record.None && f.End == record.None && f.Onset+f.FullConvergence >= horizon
	}))
	var doubt []stat.Warning
	if open > 0 {
		doubt = append(doubt, stat.Warning{Code: OpenAtHorizon, Text: fmt.Sprintf(
			"%s still changed the loss at the horizon and measured up to there; a longer horizon would show the rest", unit.Count(open, "fault"))})
	}
	b.spread(name, unit.Seconds, doubt, func(f *record.Fault) (float64, bool) {
		if !pass(f) {
			return 0, false
		}
		return seconds(f.FullConvergence)
	})
}

// delays adds route loss and the wait for the SPF run.
func (b *summary) delays() {
	b.spread("route_loss", unit.Seconds, nil, func(f *record.Fault) (float64, bool) { return seconds(f.RouteLoss) })
	b.spread("spf_wait", unit.Seconds, nil, func(f *record.Fault) (float64, bool) { return seconds(f.SPFWait) })
}

// gray adds how long gray faults went unnoticed and in use.
func (b *summary) gray() {
	b.reached("unnoticed", "were not sighted before their end or the horizon", func(f *record.Fault) int64 { return f.Sighted })
	b.reached("mitigation", "were not put out of use before their end or the horizon", func(f *record.Fault) int64 { return f.Mitigated })
}

// reached adds the quantiles of a time that not every gray fault reaches.
func (b *summary) reached(name, never string, at func(f *record.Fault) int64) {
	isGray := func(f *record.Fault) bool { return b.header.Modes[f.Mode].Gray }
	all := total(b.countFaults(isGray))
	without := total(b.countFaults(func(f *record.Fault) bool { return isGray(f) && at(f) == record.None }))
	var doubt []stat.Warning
	if without > 0 {
		doubt = append(doubt, stat.Warning{Code: NotAllReached, Text: fmt.Sprintf(
			"%d of %s %s and are not in it, so the whole takes longer; see unseen.<mode> for all of them, or add an instrument that sees them",
			without, unit.Count(all, "gray fault"), never)})
	}
	b.spread(name, unit.Seconds, doubt, func(f *record.Fault) (float64, bool) {
		if !isGray(f) {
			return 0, false
		}
		return seconds(at(f))
	})
}

// blast adds how far faults reached. A router outside sends and gets, and hears of
// faults, as leaves do.
func (b *summary) blast() {
	ends := float64(b.header.Leaves + b.header.Outside)
	pairs := float64(ends * (ends - 1))
	b.spread("blast.pairs", unit.Share, nil, func(f *record.Fault) (float64, bool) { return shareOf(float64(f.Pairs), pairs), true })
	b.spread("blast.routers", unit.Share, nil, func(f *record.Fault) (float64, bool) {
		return shareOf(float64(f.Touched), float64(b.header.Routers+b.header.Outside)), true
	})
}
