package results

import (
	"math"
	"strings"

	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// backoff adds the shares of router time in each back-off state.
func (b *summary) backoff() {
	for i, state := range b.header.States {
		share := b.each(func(r *record.Replication) float64 {
			return min(1, shareOf(r.StateTime[i], r.RouterTime)) // rounding
		})
		b.addMean("backoff."+strings.ToLower(state), unit.Share, stat.MeanBounded(share, 1, b.o.Level), NoEvents, share)
	}
}

// faults adds rates of onset and mean numbers present and unseen.
func (b *summary) faults() {
	onsets := make([][]int, len(b.header.Modes))
	for m, mode := range b.header.Modes {
		onsets[m] = b.counts(func(r *record.Replication) int64 { return r.Onsets[m] })
		b.addRate("faults."+mode.Name, onsets[m])
	}
	if b.header.External > 0 {
		b.addRate("external_faults", b.countFaults(func(f *record.Fault) bool { return f.External }))
	}
	for m, mode := range b.header.Modes {
		present := b.each(func(r *record.Replication) float64 { return r.Present[m] })
		b.addMean("present."+mode.Name, unit.One, b.number(present, onsets[m]), total(onsets[m]), present)
	}
	for m, mode := range b.header.Modes {
		unseen := b.each(func(r *record.Replication) float64 { return r.Unseen[m] })
		b.addMean("unseen."+mode.Name, unit.One, b.number(unseen, onsets[m]), total(onsets[m]), unseen)
	}
}

// addRate adds how often a month something counted in each replication happened.
func (b *summary) addRate(name string, counts []int) {
	each := make([]float64, len(counts))
	for i, n := range counts {
		each[i] = float64(n) / b.months
	}
	b.addMean(name, unit.PerMonth, stat.RateOver(counts, b.months, b.o.Level), total(counts), each)
}

// counts collects one count per replication.
func (b *summary) counts(figure func(r *record.Replication) int64) []int {
	list := make([]int, len(b.set.Replications))
	for i := range list {
		list[i] = int(figure(&b.set.Replications[i]))
	}
	return list
}

// number estimates a mean number of things without a known greatest.
func (b *summary) number(figures []float64, events []int) stat.Estimate {
	return b.amount(figures, math.Inf(1), events)
}

// load adds the work of the control plane.
func (b *summary) load() {
	runs := b.each(func(r *record.Replication) float64 {
		return shareOf(float64(r.SPFRuns), r.RouterTime/3600e9)
	})
	b.addMean("spf_runs", unit.PerRouterH, stat.Mean(runs, b.o.Level).Within(0, math.Inf(1)), NoEvents, runs)
	busy := b.each(func(r *record.Replication) float64 { return r.BusyWorst10s })
	b.add("busy.worst10s", unit.Share, extreme(busy, 1), NoEvents)
}

// extreme is the largest value seen (sign 1) or the least (sign -1): without
// interval, since no sample bounds what was not in it.
func extreme(values []float64, sign float64) stat.Estimate {
	if len(values) == 0 {
		return stat.Estimate{Reason: "no replication"}
	}
	signed := make([]float64, len(values))
	for i, v := range values {
		signed[i] = float64(sign * v)
	}
	e := stat.Largest(signed)
	if sign < 0 {
		e.Value, e.Low, e.High = -e.Value, -e.Low, -e.High
		e.Reason = "least seen; no sample bounds what was not in it"
	}
	return e
}
