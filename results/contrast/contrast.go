// Package contrast says in what sets of replications differ: measure by measure,
// paired where they were played with common draws, with intervals of each
// difference and intervals that hold for all differences at once.
//
// It knows sets and summaries, not scenarios or how they were played. It is
// tested by sets worked by hand, by R's paired test, by the coverage of its
// intervals and by the share of equal sets that it calls different.
package contrast

import (
	"fmt"
	"math"
	"slices"

	"halflight/results"
	"halflight/results/stat"
	"halflight/results/unit"
)

// Side is one of the things compared.
type Side struct {
	Name string // distinct among the sides
	Set  *results.Set
}

// Contrast is what came of comparing every other side with the first.
type Contrast struct {
	Sides    []Side // with the replications that were compared
	Level    float64
	Rows     []Row
	Members  int      // differences that have an interval: the family of the wide ones
	Common   bool     // replications of all sides were played with the same draws
	LeftOut  int      // replications that some sides have and others lack
	Fabrics  bool     // the fabrics are not of one size
	Measured bool     // warm-up and horizon are the same on all sides
	Partial  string   // why replications are missing; empty when none is
	Turning  *Turning // what inputs without a source make of it; nil: not played
}

// Row is one measure on all sides.
type Row struct {
	Name, Unit  string
	Values      []Value      // by side
	Differences []Difference // of sides 1, 2, ... less side 0
}

// Value is a measure of one side; not Known where the side does not have it.
type Value struct {
	Value float64
	Known bool
}

// Difference is a comparison with the interval that all of the family share.
type Difference struct {
	stat.Comparison
	FamilyLow, FamilyHigh float64 // at the level for all differences at once; see stat.Family
	Sure                  bool    // 0 lies outside that interval, and there are enough pairs; see Few
}

// Of compares at least two sides. Sets with the same seed are compared pair by
// pair over the replications that all hold; others as unrelated. level, in (0, 1),
// is that of each interval and, for the wide ones, of all together. The sets have
// passed Check; each holds at least one replication that counts. only, if any,
// names the measures that are compared: patterns with * for one word.
func Of(sides []Side, level float64, only ...string) (*Contrast, error) {
	c := &Contrast{Level: level, Sides: slices.Clone(sides), Measured: true}
	if err := c.align(); err != nil {
		return nil, err
	}
	summaries := make([]*results.Summary, len(c.Sides))
	for i, s := range c.Sides {
		summaries[i] = results.Summarise(s.Set, results.Options{Level: level})
		h, first := &s.Set.Header, &c.Sides[0].Set.Header
		c.Fabrics = c.Fabrics || h.Routers != first.Routers || h.Leaves != first.Leaves || h.Links != first.Links
		st, one := &s.Set.Study, &c.Sides[0].Set.Study
		c.Measured = c.Measured && st.WarmUp == one.WarmUp && st.Horizon == one.Horizon
	}
	for _, name := range names(summaries) {
		if len(only) > 0 && !slices.ContainsFunc(only, func(p string) bool { return results.Matches(p, name) }) {
			continue
		}
		c.Rows = append(c.Rows, c.row(name, summaries))
	}
	for i := range c.Rows {
		for k := range c.Rows[i].Differences {
			d := &c.Rows[i].Differences[k]
			d.FamilyLow, d.FamilyHigh, d.Sure = d.Family(max(c.Members, 1))
			d.Sure = d.Sure && !c.Few(k+1)
			if c.Rows[i].Unit == unit.Share { // Student's t knows of no bounds
				for _, end := range []*float64{&d.Difference.Low, &d.Difference.High, &d.FamilyLow, &d.FamilyHigh} {
					*end = min(max(*end, -1), 1)
				}
			}
		}
	}
	return c, nil
}

// Pairs is how many replications side i and the first have at least, pair by pair
// or each.
func (c *Contrast) Pairs(i int) int {
	return min(len(c.Sides[0].Set.Replications), len(c.Sides[i].Set.Replications))
}

// Few says that side i and the first have too few replications for any difference
// to be beyond doubt.
func (c *Contrast) Few(i int) bool { return c.Pairs(i) < stat.PairsLeast }

// align keeps of each side the replications that all hold, if they share draws.
func (c *Contrast) align() error {
	c.Common = true
	for _, s := range c.Sides {
		c.Common = c.Common && s.Set.Study.Seed == c.Sides[0].Set.Study.Seed
	}
	if c.Common {
		held := map[uint32]int{}
		for _, s := range c.Sides {
			for i := range s.Set.Replications {
				held[s.Set.Replications[i].Number]++
			}
		}
		for i, s := range c.Sides {
			kept := *s.Set
			kept.Replications = nil
			for _, r := range s.Set.Replications {
				if held[r.Number] == len(c.Sides) {
					kept.Replications = append(kept.Replications, r)
				}
			}
			c.LeftOut += len(s.Set.Replications) - len(kept.Replications)
			c.Sides[i].Set = &kept
		}
	}
	for _, s := range c.Sides {
		if len(s.Set.Replications) == 0 {
			return fmt.Errorf("%s holds no replication that the others hold too", s.Name)
		}
	}
	return nil
}

// names lists the measures of all summaries, in the order of the first that has
// them.
func names(summaries []*results.Summary) []string {
	var list []string
	seen := map[string]bool{}
	for _, s := range summaries {
		at := 0 // where the next new name goes: behind the one before it
		for _, name := range s.Names() {
			if seen[name] {
				at = slices.Index(list, name) + 1
				continue
			}
			seen[name] = true
			list = slices.Insert(list, at, name)
			at++
		}
	}
	return list
}

// Find returns the first row with a pattern, nil without one.
func (c *Contrast) Find(pattern string) *Row {
	for i := range c.Rows {
		if results.Matches(pattern, c.Rows[i].Name) {
			return &c.Rows[i]
		}
	}
	return nil
}

func (c *Contrast) row(name string, summaries []*results.Summary) Row {
	r := Row{Name: name, Values: make([]Value, len(summaries))}
	measures := make([]*results.Measure, len(summaries))
	for i, s := range summaries {
		m, ok := s.Find(name)
		if !ok {
			continue
		}
		measures[i], r.Unit = m, m.Unit
		if m.Available() {
			r.Values[i] = Value{m.Estimate.Value, true}
		}
	}
	for i := 1; i < len(summaries); i++ {
		d := Difference{Comparison: c.compare(measures[i], measures[0])}
		if d.Difference.Sides == stat.TwoSided {
			c.Members++
		}
		r.Differences = append(r.Differences, d)
	}
	return r
}

// compare is measure a less measure b, by what they were made from.
func (c *Contrast) compare(a, b *results.Measure) stat.Comparison {
	switch {
	case a == nil || b == nil:
		return stat.Comparison{Reduction: 1, P: 1, Difference: stat.Estimate{Reason: "one side has no such measure"}}
	case a.Sample.Pooled != nil && b.Sample.Pooled != nil:
		return c.quantiles(a, b)
	case a.Sample.Each != nil && b.Sample.Each != nil && c.Common:
		return stat.Paired(a.Sample.Each, b.Sample.Each, c.Level)
	case a.Sample.Each != nil && b.Sample.Each != nil:
		return stat.Welch(a.Sample.Each, b.Sample.Each, c.Level)
	}
	out := stat.Comparison{Reduction: 1, P: 1, Difference: stat.Estimate{Reason: "no value on one side"}}
	if a.Available() && b.Available() {
		v := a.Estimate.Value - b.Estimate.Value
		out.Difference = stat.Estimate{Value: v, Low: v, High: v, Known: true, Reason: a.Estimate.Reason}
	}
	return out
}

func (c *Contrast) quantiles(a, b *results.Measure) stat.Comparison {
	scale := a.Sample.Scale
	x, y := math.NaN(), math.NaN()
	if a.Available() && b.Available() {
		x, y = a.Estimate.Value*scale, b.Estimate.Value*scale
	}
	out := stat.Quantiles(a.Sample.Pooled, b.Sample.Pooled, a.Sample.At, x, y, c.Level, c.Common, c.Sides[0].Set.Study.Seed)
	d := &out.Difference
	d.Value, d.Low, d.High = d.Value/scale, d.Low/scale, d.High/scale
	return out
}

// Sure lists the rows in which side i, from 1, differs from the first beyond
// doubt.
func (c *Contrast) Sure(i int) (list []*Row) {
	for k := range c.Rows {
		if c.Rows[k].Differences[i-1].Sure {
			list = append(list, &c.Rows[k])
		}
	}
	return list
}

// Paired counts the differences between side i and the first that were taken pair
// by pair, those for which pairing did not help, and the median of the factor by
// which it made replications go further; 0 without any.
func (c *Contrast) Paired(i int) (paired, not int, gain float64) {
	var gains []float64
	for k := range c.Rows {
		d := &c.Rows[k].Differences[i-1]
		switch {
		case d.Difference.Sides != stat.TwoSided:
		case d.Paired:
			paired++
			gains = append(gains, d.Reduction)
		default:
			not++
		}
	}
	if len(gains) == 0 {
		return paired, not, 0
	}
	slices.Sort(gains)
	return paired, not, gains[len(gains)/2]
}
