package results

import (
	"math"

	"halflight/results/stat"
	"halflight/sim/record"
)

// Options of a summary. The zero value is usable.
type Options struct {
	Level float64 // of intervals, in (0, 1); 0: 0.95
	Crew  int     // technicians at work at once; 0: unlimited, or as CrewMean says
	// CrewMean is how many are there on average, of a crew that works in shifts.
	CrewMean float64
	Unsure   []Input // inputs without a good source, least sure first
	Varied   *Varied // the inputs bar, if inputs were varied
	Ended    Ended   // what ended the study
	// Only says which quantiles are worth their resampling; nil: all. Others are
	// in the summary without value.
	Only func(measure string) bool
}

// Summarise estimates every measure that the records support. The set has passed
// Check; it may be partial, even empty, and then says so. Bootstraps draw by the
// seed of the study: same set, same summary.
func Summarise(set *Set, o Options) *Summary {
	if o.Level == 0 {
		o.Level = 0.95
	}
	h := &set.Header
	b := &summary{set: set, header: h, o: o, months: float64(set.Study.Horizon) / month}
	b.out = &Summary{
		Study: set.Study, Part: set.Part, Missing: set.Missing(), Replications: len(set.Replications), Level: o.Level,
		Modes: h.Modes, Routers: h.Routers, Leaves: h.Leaves, Links: h.Links, Currency: h.Prices.Currency, Unsure: o.Unsure, Varied: o.Varied, Ended: o.Ended, index: map[string]int{},
	}
	b.hurt = b.countFaults(func(f *record.Fault) bool { return f.LostSeconds > 0 })
	b.applications()
	b.lost()
	b.convergence()
	b.waits()
	b.delays()
	b.backoff()
	b.faults()
	b.gray()
	b.blast()
	b.load()
	b.operations()
	b.halves()
	b.rare()
	b.out.Sentences = sentences(b.out, h)
	return b.out
}

// summary is a Summary in the making.
type summary struct {
	set    *Set
	header *record.Header
	o      Options
	months float64 // that each replication measured
	hurt   []int   // faults of each replication that lost traffic
	out    *Summary
}

// add puts one measure into the summary. A measure of a name that is there
// already would hide the first; no two words of a scenario may make one name.
func (b *summary) add(name, in string, e stat.Estimate, events int) {
	if _, ok := b.out.index[name]; ok {
		panic("results: two measures are named " + name)
	}
	b.out.index[name] = len(b.out.Measures)
	b.out.Measures = append(b.out.Measures, Measure{Name: name, Unit: in, Estimate: e, Replications: len(b.set.Replications), Events: events})
}

// from notes what the measure just added was made from.
func (b *summary) from(s Sample) { b.out.Measures[len(b.out.Measures)-1].Sample = s }

// addMean adds the mean of one figure per replication.
func (b *summary) addMean(name, in string, e stat.Estimate, events int, each []float64) {
	b.add(name, in, e, events)
	b.from(Sample{Each: each})
}

// unasked is the estimate of what was left out.
var unasked = stat.Estimate{Reason: "not asked for"}

// asked reports whether a quantile is worth its resampling.
func (b *summary) asked(name string) bool { return b.o.Only == nil || b.o.Only(name) }

// each collects one figure per replication.
func (b *summary) each(figure func(r *record.Replication) float64) []float64 {
	list := make([]float64, len(b.set.Replications))
	for i := range list {
		list[i] = figure(&b.set.Replications[i])
	}
	return list
}

// countFaults counts, in each replication, the faults that pass.
func (b *summary) countFaults(pass func(f *record.Fault) bool) []int {
	counts := make([]int, len(b.set.Replications))
	for i := range counts {
		faults := b.set.Replications[i].Faults
		for k := range faults {
			if pass(&faults[k]) {
				counts[i]++
			}
		}
	}
	return counts
}

// amount estimates the mean of an amount that faults cause, from 0 to greatest in
// one replication (+Inf: not known). The figures are its to change. events counts the faults behind it.
func (b *summary) amount(figures []float64, greatest float64, events []int) stat.Estimate {
	for i, v := range figures {
		if v <= greatest*(1+1e-9) {
			figures[i] = min(v, greatest) // rounding may carry a sum a little past the whole
		}
	}
	e := stat.Mean(figures, b.o.Level).Within(0, math.Inf(1))
	if !math.IsInf(greatest, 1) {
		e = stat.MeanBounded(figures, greatest, b.o.Level)
	}
	if len(figures) == 0 || e.Value == 0 {
		return e
	}
	e = e.WithShares(figures).WithSkew(figures)
	if total(events) == 0 {
		return e.With(stat.Warning{Code: BeforeWindow, Text: "rests on faults that began before the measured window, of which the records hold no number; a longer warm-up or horizon would tell"})
	}
	return e.WithEvents(events)
}

func total(counts []int) (sum int) {
	for _, n := range counts {
		sum += n
	}
	return sum
}

// shareOf is part over whole, 0 of nothing.
func shareOf(part, whole float64) float64 {
	if whole == 0 {
		return 0
	}
	return part / whole
}
