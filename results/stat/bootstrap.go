package stat

import (
	"fmt"
	"math"
	"slices"
)

// Resamples is how many resamples a bootstrap takes: a share a of the law they
// follow lies below the a(Resamples+1)-th of them, and the chance error of that
// is small beside the width of the interval.
const Resamples = 1999

// Quantile estimates quantile q in (0, 1) of the pooled values, with a bootstrap
// interval in which replications are drawn whole (Davison and Hinkley, Bootstrap
// Methods and their Application, 1997, 3.8: resample the highest level only), at
// the expanded percentiles of Hesterberg, The American Statistician 69 (2015),
// which allow for the number of replications as Student's t does. A bootstrap
// cannot draw what was not seen and so falls short towards the thin end of the
// sample: the limit on that side (high for q above 0.5, low below) is moved out to
// that of order statistics at what the sample is worth in independent values (see
// worth), if that is farther. N counts replications. Same seed, same bytes.
//
// Not available when the values are fewer than OrderLeast, when fewer
// replications hold any than a median needs, or at a level so high that no
// resample lies outside. (Not by worth: samples that by luck lack their large
// replications look worth more, and would be the ones shown.) Warns of few events
// and of one replication that holds more than a quarter of them (values only;
// time-weighted samples are no events), of few replications, and of little worth
// beyond the quantile.
func (p *Pooled) Quantile(q, level float64, seed uint64) Estimate {
	mustLevel(level)
	if !(q > 0 && q < 1) {
		panic(fmt.Sprintf("stat: pooled quantile %v does not lie between 0 and 1", q))
	}
	if len(p.values) == 0 {
		return p.warned(unknown("no event"))
	}
	value := p.quantile(p.once(), q)
	if reason := p.tooLittle(q, level); reason != "" {
		return p.warned(valueOnly(value, p.seen, reason))
	}
	low, high := p.limits(q, level, seed)
	n := p.worth(q, level)
	least, most := p.ranked(q, level, n)
	if q < 0.5 {
		low = min(low, least)
	}
	if q > 0.5 {
		high = max(high, most)
	}
	e := p.warned(twoSided(value, min(low, value), max(high, value), level, p.seen))
	if beyond := n * min(q, 1-q); beyond < BeyondLeast {
		e = e.With(fewBeyond(beyond, p.seen))
	}
	return e
}

// limits returns the expanded percentiles of the resampled quantiles.
func (p *Pooled) limits(q, level float64, seed uint64) (low, high float64) {
	seen := make([]float64, Resamples)
	t := make(times, p.replications)
	for b := range seen {
		p.take(t, draw{seed}, b)
		seen[b] = p.quantile(t, q)
	}
	slices.Sort(seen)
	cut := int(expandedTail(p.replications, level) * (Resamples + 1)) // at least 1, see tooLittle
	return seen[cut-1], seen[Resamples-cut]
}

// expandedTail is the share of resamples left out at each end: Phi(-t sqrt(n/(n-1))),
// t being the quantile of Student's law with n-1 degrees of freedom, n >= 2.
func expandedTail(n int, level float64) float64 {
	df := float64(n - 1)
	return normalBelow(-tUpper(df, (1-level)/2) * math.Sqrt(float64(n)/df))
}

// tooLittle returns why there is no interval, or nothing.
func (p *Pooled) tooLittle(q, level float64) string {
	if p.weights == nil && len(p.values) < OrderLeast(q, level) {
		return tooFew(len(p.values), q, level)
	}
	holding := 0
	for _, n := range p.counts {
		if n > 0 {
			holding++
		}
	}
	if least := max(2, OrderLeast(0.5, level)); holding < least {
		return fmt.Sprintf("not available: resampling needs %d replications that hold values, there are %d", least, holding)
	}
	if expandedTail(p.replications, level)*(Resamples+1) < 1 {
		return fmt.Sprintf("not available: %d resamples show no interval at %.6g %%", Resamples, 100*level)
	}
	return ""
}

// warned adds the warnings that the pooled values call for.
func (p *Pooled) warned(e Estimate) Estimate {
	if p.weights == nil {
		e = e.WithEvents(p.counts)
	}
	return withReplications(e, p.seen)
}

// once counts every replication once: the sample itself.
func (p *Pooled) once() times {
	t := make(times, p.replications)
	for r := range t {
		t[r] = 1
	}
	return t
}
