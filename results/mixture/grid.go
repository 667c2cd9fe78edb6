package mixture

import (
	"math"
	"slices"

	"halflight/results/stat"
	"halflight/sim/record"
)

// Pooled is the waits of all replications thrown together, each still knowing its
// replication.
type Pooled struct {
	whole  *Mixture
	grid   *grid
	points *stat.Pooled
}

// Pool throws together the waits of each replication, at least one of which has
// weight.
func Pool(perReplication [][]record.Wait) *Pooled {
	n := len(perReplication)
	blocks := make([][]record.Wait, stat.BlocksOf(n))
	var all []record.Wait
	for i, waits := range perReplication {
		b := stat.Block(i, n)
		blocks[b] = append(blocks[b], waits...)
		all = append(all, waits...)
	}
	each := make([]*Mixture, len(blocks))
	for b := range blocks {
		each[b] = Of(blocks[b])
	}
	p := &Pooled{whole: Of(all)}
	p.grid = newGrid(p.whole)
	p.points = stat.PoolBlocks(p.grid.place(each), n)
	return p
}

// Weight is the weight of all waits, ns of router time.
func (p *Pooled) Weight() float64 { return p.whole.weight }

// Quantile estimates quantile q in (0, 1) of the waits, in ns: the value is exact,
// the interval as stat.Pooled gives it.
func (p *Pooled) Quantile(q, level float64, seed uint64) stat.Estimate {
	return p.grid.exact(p.points.Quantile(q, level, seed), p.whole.Quantile(q))
}

// Points are the pooled waits, in ns, with stretches by cell: what the intervals
// of quantiles are resampled from. Quantiles of theirs are off by half a cell at
// most, 1.5 %.
func (p *Pooled) Points() *stat.Pooled { return p.points }

// Largest is the largest wait seen, in ns, without interval.
func (p *Pooled) Largest() stat.Estimate { return stat.Largest([]float64{p.whole.Greatest()}) }

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

func newGrid(m *Mixture) *grid {
	top := max(m.Greatest(), 2*gridFirst)
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
func (g *grid) place(each []*Mixture) [][]stat.Weighted {
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
func (m *Mixture) spreadUpTo(x float64) float64 {
	sum := 0.0
	for i, k := range m.knots {
		if k.at >= x || i+1 == len(m.knots) {
			break
		}
		sum += float64(k.density * (min(x, m.knots[i+1].at) - k.at))
	}
	return sum
}
