package results

import (
	"math"
	"slices"

	"halflight/results/stat"
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
		return func(r *record.Replication) []record.Wait { return lessRest(of(r), r.RestWait) }
	}
	b.wait("penalty_now", less(routers), nil)
	b.wait("penalty_now.leaf", less(leaves), nil)
}

// wait adds the mean and the quantiles of one distribution of waits. mean gives
// the exact mean in ns where the record holds it; nil takes it from the pieces.
func (b *summary) wait(name string, of func(r *record.Replication) []record.Wait, mean func(r *record.Replication) float64) {
	each := make([]mixture, len(b.set.Replications))
	means := make([]float64, len(each))
	var all []record.Wait
	for i := range each {
		waits := of(&b.set.Replications[i])
		each[i] = mix(waits)
		all = append(all, waits...)
		if mean != nil {
			means[i] = mean(&b.set.Replications[i])
		} else {
			means[i] = each[i].mean()
		}
	}
	whole := mix(all)
	if whole.weight == 0 {
		b.noWait(name)
		return
	}
	b.add(name+".mean", Seconds, inSeconds(stat.Mean(means, b.o.Level).Within(0, math.Inf(1))), NoEvents)
	g := newGrid(&whole)
	p := stat.PoolWeighted(g.place(each))
	for _, q := range quantiles {
		e := p.Quantile(q.at, b.o.Level, b.set.Study.Seed)
		b.add(name+"."+q.name, Seconds, inSeconds(g.exact(e, whole.quantile(q.at))), NoEvents)
	}
	b.add(name+".max", Seconds, inSeconds(stat.Largest([]float64{whole.greatest()})), NoEvents)
}

func (b *summary) noWait(name string) {
	none := stat.Estimate{Reason: "no router time was measured"}
	b.add(name+".mean", Seconds, none, NoEvents)
	for _, q := range quantiles {
		b.add(name+"."+q.name, Seconds, none, NoEvents)
	}
	b.add(name+".max", Seconds, none, NoEvents)
}

// inSeconds turns an estimate in ns into s, dividing so that 50 ms is 0.05.
func inSeconds(e stat.Estimate) stat.Estimate {
	e.Value, e.Low, e.High = e.Value/1e9, e.Low/1e9, e.High/1e9
	return e
}

// grid turns uniform stretches into weighted points, so that a bootstrap of points
// can resample them: it gives the interval only, and the value stays exact.
type grid struct {
	edges   []float64 // ns, rising, from 0
	middles []float64 // of the cells between
}

// Cells of a grid grow from 0 to the first edge, then in proportion.
const (
	gridCells = 512
	gridFirst = 1000 // ns, far below any wait of a router
)

func newGrid(m *mixture) *grid {
	top := max(m.greatest(), 2*gridFirst)
	g := &grid{edges: make([]float64, gridCells+1), middles: make([]float64, gridCells)}
	for i := 1; i < gridCells; i++ {
		g.edges[i] = gridFirst * math.Pow(top/gridFirst, float64(i-1)/(gridCells-1))
	}
	g.edges[gridCells] = top
	for i := range g.middles {
		g.middles[i] = (g.edges[i] + g.edges[i+1]) / 2
	}
	return g
}

// place gives every mixture's points as they are, and its stretches by cell.
func (g *grid) place(each []mixture) [][]stat.Weighted {
	out := make([][]stat.Weighted, len(each))
	for r := range each {
		for _, k := range each[r].knots {
			if k.atom > 0 {
				out[r] = append(out[r], stat.Weighted{Value: k.at, Weight: k.atom})
			}
		}
		below := 0.0
		for i, middle := range g.middles {
			above := each[r].spreadUpTo(g.edges[i+1])
			if above > below {
				out[r] = append(out[r], stat.Weighted{Value: middle, Weight: above - below})
			}
			below = above
		}
	}
	return out
}

// exact puts the exact quantile in place of that of the grid, and moves limits
// that are the middle of a cell out to its edge: by 2 % of the wait or less.
func (g *grid) exact(e stat.Estimate, value float64) stat.Estimate {
	e.Value = value
	if !e.Available() {
		e.Low, e.High = value, value
		return e
	}
	if i, ok := slices.BinarySearch(g.middles, e.Low); ok {
		e.Low = g.edges[i]
	}
	if i, ok := slices.BinarySearch(g.middles, e.High); ok {
		e.High = g.edges[i+1]
	}
	e.Low, e.High = min(e.Low, value), max(e.High, value)
	return e
}

// spreadUpTo is upTo without the points.
func (m *mixture) spreadUpTo(x float64) float64 {
	sum := 0.0
	for i, k := range m.knots {
		if k.at >= x || i+1 == len(m.knots) {
			break
		}
		sum += float64(k.density * (min(x, m.knots[i+1].at) - k.at))
	}
	return sum
}
