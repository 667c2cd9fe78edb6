package stat

// times says how often a resample took each replication.
type times []float64

// of returns the weight of a row of marks in this resample.
func (t times) of(row []float64) float64 {
	sum := 0.0
	for r, w := range row {
		sum += float64(t[r] * w)
	}
	return sum
}

// quantile returns quantile q of the pooled values, replication r counted t[r]
// times: what sorting the values of the replications drawn would give. The
// resample holds some value.
func (p *Pooled) quantile(t times, q float64) float64 {
	if p.weights != nil {
		i, _ := p.reach(t, shareOf(p.whole(t), q))
		return p.values[i]
	}
	rank, rest := rank7(int(p.whole(t)), q)
	i, weight := p.reach(t, float64(rank))
	low := p.values[i]
	if rest == 0 || weight >= float64(rank+1) {
		return low // the next rank is a copy of the same value
	}
	for i++; t[p.owners[i]] == 0; i++ {
	}
	return between(low, p.values[i], rest)
}

// whole returns the weight of all values of a resample.
func (p *Pooled) whole(t times) float64 { return t.of(p.row(p.rows() - 1)) }

// reach returns the first pooled value at which the weight of the resample, from
// the smallest value on, is at least target, and that weight. Rounding of large
// weights may leave the target just out of reach: then it is the last value drawn.
func (p *Pooled) reach(t times, target float64) (i int, weight float64) {
	// The row before the first that reaches the target: rows only grow.
	low, high := 0, p.rows()-2
	for low < high {
		middle := (low + high) / 2
		if t.of(p.row(middle+1)) >= target {
			high = middle
		} else {
			low = middle + 1
		}
	}
	weight = t.of(p.row(low))
	last := -1
	for i = low * p.stride; i < min((low+1)*p.stride, len(p.values)); i++ {
		n := t[p.owners[i]]
		if n == 0 {
			continue
		}
		weight += float64(n * p.weight(i))
		last = i
		if weight >= target {
			return i, weight
		}
	}
	return p.lastDrawn(t, last, low*p.stride), weight
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
