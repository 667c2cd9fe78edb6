package results

import (
	"math"

	"halflight/results/mixture"
	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// waits adds what an IGP event at a random moment would wait: over all routers
// and over leaves, as it is and less the wait at rest.
func (b *summary) waits() {
	routers := func(r *record.Replication) []record.Wait { return r.Waits }
	leaves := func(r *record.Replication) []record.Wait { return r.LeafWaits }
	b.wait("wait_now", routers, func(r *record.Replication) float64 { return r.WaitMean })
	b.wait("wait_now.leaf", leaves, func(r *record.Replication) float64 { return r.LeafWaitMean })
	less := func(of func(r *record.Replication) []record.Wait) func(r *record.Replication) []record.Wait {
		return func(r *record.Replication) []record.Wait { return mixture.LessRest(of(r), r.RestWait) }
	}
	b.wait("penalty_now", less(routers), nil)
	b.wait("penalty_now.leaf", less(leaves), nil)
}

// wait adds the mean and the quantiles of one distribution of waits. mean gives
// the exact mean in ns where the record holds it; nil takes it from the pieces.
func (b *summary) wait(name string, of func(r *record.Replication) []record.Wait, mean func(r *record.Replication) float64) {
	each := make([][]record.Wait, len(b.set.Replications))
	means := make([]float64, len(each))
	for i := range each {
		each[i] = of(&b.set.Replications[i])
		if mean != nil {
			means[i] = mean(&b.set.Replications[i])
		} else {
			means[i] = mixture.Of(each[i]).Mean()
		}
	}
	p := mixture.Pool(each)
	if p.Weight() == 0 {
		b.noWait(name)
		return
	}
	b.add(name+".mean", unit.Seconds, inSeconds(stat.Mean(means, b.o.Level).Within(0, math.Inf(1))), NoEvents)
	b.from(Sample{Each: eachInSeconds(means)})
	for _, q := range quantiles {
		if !b.asked(name + "." + q.name) {
			b.add(name+"."+q.name, unit.Seconds, unasked, NoEvents)
			continue
		}
		b.add(name+"."+q.name, unit.Seconds, inSeconds(p.Quantile(q.at, b.o.Level, b.set.Study.Seed)), NoEvents)
		b.from(Sample{Pooled: p.Points(), At: q.at, Scale: 1e9})
	}
	b.add(name+".max", unit.Seconds, inSeconds(p.Largest()), NoEvents)
}

func (b *summary) noWait(name string) {
	none := stat.Estimate{Reason: "no router time was measured"}
	b.add(name+".mean", unit.Seconds, none, NoEvents)
	for _, q := range quantiles {
		b.add(name+"."+q.name, unit.Seconds, none, NoEvents)
	}
	b.add(name+".max", unit.Seconds, none, NoEvents)
}

// inSeconds turns an estimate in ns into s, dividing so that 50 ms is 0.05.
func inSeconds(e stat.Estimate) stat.Estimate {
	e.Value, e.Low, e.High = e.Value/1e9, e.Low/1e9, e.High/1e9
	return e
}

// eachInSeconds does the same with figures.
func eachInSeconds(ns []float64) []float64 {
	out := make([]float64, len(ns))
	for i, v := range ns {
		out[i] = v / 1e9
	}
	return out
}
