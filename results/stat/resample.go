package stat

import "sort"

// times says how often a resample took each replication.
type times []float64

// of returns the weight of a row of marks in this resample.
func (t times) of(row []float64) float64 {
	var s RunningSum
	for r, w := range row {
		s.Add(float64(t[r] * w))
	}
	return s.Value()
}

// quantile returns quantile q of the pooled values, replication r counted t[r]
// times: what sorting the values of the replications drawn would give. The
// resample holds some value.
func (p *Pooled) quantile(t times, q float64) float64 {
	whole := t.of(p.row(p.rows() - 1))
	if p.weights != nil {
		i, _ := p.reach(t, shareOf(whole, q))
		return p.values[i]
	}
	rank, rest := rank7(int(whole), q)
	i, weight := p.reach(t, float64(rank))
	low := p.values[i]
	if rest == 0 || weight >= float64(rank+1) {
		return low // the next rank is a copy of the same value
	}
	i, _ = p.reach(t, float64(rank+1))
	return between(low, p.values[i], rest)
}

// reach returns the first pooled value at which the weight of the resample, from
// the smallest value on, is at least target, and that weight. Rounding of large
// weights may leave the target just out of reach: then it is the last value drawn.
func (p *Pooled) reach(t times, target float64) (i int, weight float64) {
	// The row before the first that reaches the target: rows only grow.
	k := sort.Search(p.rows()-1, func(k int) bool { return t.of(p.row(k+1)) >= target })
	k = min(k, p.rows()-2)
	var s RunningSum
	s.Add(t.of(p.row(k)))
	last := -1
	for i = k * stride; i < min((k+1)*stride, len(p.values)); i++ {
		n := t[p.owners[i]]
		if n == 0 {
			continue
		}
		s.Add(float64(n * p.weight(i)))
		last = i
		if s.Value() >= target {
			return i, s.Value()
		}
	}
	return p.lastDrawn(t, last, k*stride), s.Value()
}

// lastDrawn is found at once unless the stride before from held nothing drawn.
func (p *Pooled) lastDrawn(t times, last, from int) int {
	for i := from - 1; last < 0 && i >= 0; i-- {
		if t[p.owners[i]] > 0 {
			last = i
		}
	}
	if last < 0 {
		panic("stat: a resample without values was asked for a quantile")
	}
	return last
}

// take fills t with resample number b: as many replications as there are, drawn
// with replacement. A resample without any value says nothing of a quantile and
// is drawn again, up to a limit that is reached by chance never (with 6 of 1,000
// replications holding values, one draw in 400 is empty).
func (p *Pooled) take(t times, d draw, b int) {
	const again = 64
	n := p.replications
	for try := range again {
		clear(t)
		full := false
		// Counters: 2^24 replications and 64 tries per resample never overlap.
		base := (uint64(b)*again + uint64(try)) << 24
		for k := range n {
			r := d.below(base+uint64(k), n)
			t[r]++
			full = full || p.counts[r] > 0
		}
		if full {
			return
		}
	}
	panic("stat: bootstrap drew only empty replications")
}
