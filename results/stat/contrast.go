package stat

import (
	"fmt"
	"math"
	"slices"
)

// PairsLeast is the number of pairs, or of replications of either side where they
// are not paired, below which no difference is to be called beyond doubt: of so few
// the spread itself is chance, and two that agree by luck have intervals of next to
// no width. Our own choice.
const PairsLeast = 5

// Quantiles compares quantile q of two sets of pooled values, a less b, by a
// bootstrap in which replications are drawn whole. paired: replication i of both
// was played with the same draws, and is drawn for both; without a positive
// correlation of the resampled quantiles, or when not paired, each side is drawn
// by itself. The interval holds the expanded percentiles of the resampled
// differences (none if all of those are 0), widened on both sides of the value as far as the interval of
// either quantile had to be widened beyond its own percentiles (see
// Pooled.Quantile); there is none where one of the two has none. valueA and
// valueB are the quantiles where they are known better than by the pooled values,
// NaN otherwise. Same seed, same bytes.
func Quantiles(a, b *Pooled, q, valueA, valueB, level float64, paired bool, seed uint64) Comparison {
	ea, eb := a.Quantile(q, level, seed), b.Quantile(q, level, seed)
	c := Comparison{Reduction: 1, P: 1}
	if !ea.Known || !eb.Known {
		c.Difference = unknown("no event on one side")
		return c
	}
	if math.IsNaN(valueA) || math.IsNaN(valueB) {
		valueA, valueB = ea.Value, eb.Value
	}
	value, n := valueA-valueB, min(a.replications, b.replications)
	for _, e := range []Estimate{ea, eb} {
		if !e.Available() {
			c.Difference = valueOnly(value, n, e.Reason)
			return c
		}
	}
	if paired && a.replications != b.replications {
		panic(fmt.Sprintf("stat: %d replications paired with %d", a.replications, b.replications))
	}
	r := resampled{q: q, level: level, seed: seed}
	if paired {
		r.together(a, b)
		c.Correlation, c.Correlated = correlation(r.a, r.b)
		c.Paired = c.Correlation > 0 || !c.Correlated
	}
	if !c.Paired {
		r.apart(a, b)
	}
	c.DF = float64(n - 1)
	low, high := r.difference(n)
	if spread := variance(r.less); spread > 0 {
		c.Reduction = (variance(r.a) + variance(r.b)) / spread
	} else if c.Correlated {
		c.Reduction = math.Inf(1)
	}
	if !c.Paired {
		c.Reduction = 1
	}
	wider := max(r.widening(r.a, ea, n), r.widening(r.b, eb, n))
	low, high = value-float64((value-min(low, value))*wider), value+float64((max(high, value)-value)*wider)
	if value == 0 && low == 0 && high == 0 {
		c.Difference = valueOnly(0, n, "no difference in any resample")
		return c
	}
	c.Difference = withReplications(twoSided(value, low, high, level, n), n)
	for _, w := range slices.Concat(ea.Warnings, eb.Warnings) {
		c.Difference = c.Difference.With(w)
	}
	if paired && !c.Paired {
		c.Difference = c.Difference.With(unpaired(c.Correlation))
	}
	return c
}

// resampled is quantiles of resamples of both sides.
type resampled struct {
	q, level   float64
	seed       uint64
	a, b, less []float64
}

// together draws the same replications for both.
func (r *resampled) together(a, b *Pooled) {
	t := make(times, a.replications)
	for k := range Resamples {
		takeBoth(t, draw{r.seed}, k, a, b)
		r.put(a.quantile(t, r.q), b.quantile(t, r.q))
	}
}

// apart draws each side by itself.
func (r *resampled) apart(a, b *Pooled) {
	r.a, r.b, r.less = nil, nil, nil
	other := draw{r.seed}.at(math.MaxUint64 >> 1) // a seed of its own for the second side
	s, t := make(times, a.replications), make(times, b.replications)
	for k := range Resamples {
		a.take(s, draw{r.seed}, k)
		b.take(t, draw{other}, k)
		r.put(a.quantile(s, r.q), b.quantile(t, r.q))
	}
}

func (r *resampled) put(a, b float64) {
	r.a, r.b, r.less = append(r.a, a), append(r.b, b), append(r.less, a-b)
}

// difference returns the expanded percentiles of the differences.
func (r *resampled) difference(n int) (low, high float64) { return expanded(r.less, n, r.level) }

// widening is how many times as wide as its own percentiles an interval is.
func (r *resampled) widening(seen []float64, e Estimate, n int) float64 {
	low, high := expanded(seen, n, r.level)
	if !(high > low) {
		return 1
	}
	return max(1, (e.High-e.Low)/(high-low))
}

// expanded returns the expanded percentiles of resampled values; see limits.
func expanded(values []float64, n int, level float64) (low, high float64) {
	sorted := slices.Sorted(slices.Values(values))
	cut := max(1, int(expandedTail(n, level)*(Resamples+1)))
	return sorted[cut-1], sorted[Resamples-cut]
}

// takeBoth is take for two pools of as many replications, both of which hold a
// value afterwards.
func takeBoth(t times, d draw, b int, x, y *Pooled) {
	const again = 64
	for try := range again {
		clear(t)
		fullX, fullY := false, false
		base := (uint64(b)*again + uint64(try)) << 24
		for k := range t {
			r := d.below(base+uint64(k), len(t))
			t[r]++
			fullX, fullY = fullX || x.counts[r] > 0, fullY || y.counts[r] > 0
		}
		if fullX && fullY {
			return
		}
	}
	panic("stat: bootstrap drew only replications that are empty on one side")
}

// Family returns the ends of the difference's interval widened so that the
// intervals of a whole family of comparisons hold all at once with the level of
// one: Bonferroni's inequality, by Student's t with the comparison's degrees of
// freedom (exact for means; for quantiles the resampled interval is widened in
// proportion). sure says that 0 lies outside, or, of a difference that is the
// same in every pair, that the sign test says so at that level. members counts
// the family, at least 1.
func (c Comparison) Family(members int) (low, high float64, sure bool) {
	d := c.Difference
	if d.Sides != TwoSided || members < 1 {
		return 0, 0, false
	}
	tail := (1 - d.Level) / 2
	if d.High == d.Low {
		return d.Low, d.High, d.Value != 0 && math.Pow(0.5, float64(d.N)) <= tail/float64(members)
	}
	ratio := tUpper(c.DF, tail/float64(members)) / tUpper(c.DF, tail)
	low, high = d.Value-float64((d.Value-d.Low)*ratio), d.Value+float64((d.High-d.Value)*ratio)
	return low, high, low > 0 || high < 0
}
