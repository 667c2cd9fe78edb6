package swing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"halflight/results"
	"halflight/results/stat"
	"halflight/results/unit"
)

// Worlds is what the inputs do together: each world has a value of every unsure
// input, drawn from a sample that fills their ranges.
type Worlds struct {
	Inputs       []Input
	Count        int     // worlds
	Replications int     // of each, with the same draws in all
	Level        float64 // share of the worlds that lie in a bar
	Bars         []Bar
}

// Bar is the spread of a measure over the worlds. Low and High are the quantiles
// (1-Level)/2 and (1+Level)/2 over worlds, Middle is their median.
type Bar struct {
	Measure, Unit     string
	Low, Middle, High float64
	Worlds            int // that have a value
	Ranks             []Rank
}

// Rank is how closely a measure follows an input over the worlds: Spearman's
// coefficient with the input's place in its range. Sure: beyond doubt for all
// inputs at once.
type Rank struct {
	Input int
	R     float64
	Sure  bool
}

// barLevel is the share of worlds in a bar.
const barLevel = 0.9

// leastWorlds is how many worlds a bar of barLevel needs.
const leastWorlds = 20

// OfWorlds reads sets of replications, one a world, in which input k stood at
// shares[w][k] of its range. Worlds without replications are left out. patterns
// name the measures, * standing for one word.
func OfWorlds(inputs []Input, shares [][]float64, sets []*results.Set, patterns []string) *Worlds {
	out := &Worlds{Inputs: inputs, Level: barLevel}
	var at [][]float64
	var summaries []*results.Summary
	for w, s := range sets {
		if len(s.Replications) == 0 {
			continue
		}
		at, summaries = append(at, shares[w]), append(summaries, results.Summarise(s, results.Options{}))
		out.Replications = max(out.Replications, len(s.Replications))
	}
	out.Count = len(summaries)
	if out.Count < 2 {
		return out
	}
	for i := range summaries[0].Measures {
		m := &summaries[0].Measures[i]
		if !slices.ContainsFunc(patterns, func(p string) bool { return results.Matches(p, m.Name) }) {
			continue
		}
		if b, ok := out.bar(m.Name, m.Unit, at, summaries); ok {
			out.Bars = append(out.Bars, b)
		}
	}
	return out
}

func (o *Worlds) bar(name, in string, at [][]float64, summaries []*results.Summary) (Bar, bool) {
	var values []float64
	var places [][]float64
	for w, s := range summaries {
		if m, ok := s.Find(name); ok && m.Available() {
			values, places = append(values, m.Estimate.Value), append(places, at[w])
		}
	}
	if len(values) < 2 {
		return Bar{}, false
	}
	tail := (1 - o.Level) / 2
	b := Bar{Measure: name, Unit: in, Worlds: len(values),
		Low: stat.Type7(values, tail), Middle: stat.Type7(values, 0.5), High: stat.Type7(values, 1-tail)}
	doubt := stat.RankDoubt(len(values), max(len(o.Inputs), 1), 0.95)
	for k := range o.Inputs {
		column := make([]float64, len(places))
		for w := range places {
			column[w] = places[w][k]
		}
		if r, ok := stat.RankCorrelation(column, values); ok {
			b.Ranks = append(b.Ranks, Rank{k, r, math.Abs(r) > doubt})
		}
	}
	slices.SortStableFunc(b.Ranks, func(x, y Rank) int { return cmp.Compare(math.Abs(y.R), math.Abs(x.R)) })
	return b, true
}

// Varied is the bar as a summary shows it, with the sentence of its first measure.
func (o *Worlds) Varied() *results.Varied {
	if len(o.Bars) == 0 {
		return nil
	}
	v := &results.Varied{Worlds: o.Count, Replications: o.Replications, Inputs: len(o.Inputs), Level: o.Level, Sentence: o.Sentence(&o.Bars[0])}
	for _, b := range o.Bars {
		v.Bars = append(v.Bars, results.Bar{Measure: b.Measure, Unit: b.Unit, Low: b.Low, Middle: b.Middle, High: b.High})
	}
	return v
}

// NotSeen says of a pattern of measures that too few worlds showed any; empty where
// some did.
func (o *Worlds) NotSeen(pattern string) string {
	if slices.ContainsFunc(o.Bars, func(b Bar) bool { return results.Matches(pattern, b.Measure) }) {
		return ""
	}
	return fmt.Sprintf("%s was seen in fewer than two worlds, so what decides it is not known; %s.", pattern, longer)
}

// Sentence says which inputs decide a measure.
func (o *Worlds) Sentence(b *Bar) string {
	text := fmt.Sprintf("Which input decides it: in %d worlds with %d unsure inputs drawn over their ranges, %s lies from %s to %s in %.0f %% of them",
		o.Count, len(o.Inputs), b.Measure, unit.Words(b.Low, b.Unit), unit.Words(b.High, b.Unit), 100*o.Level)
	var sure []string
	without := 0
	for _, r := range b.Ranks {
		if r.Sure && len(sure) < 3 {
			in := &o.Inputs[r.Input]
			sure = append(sure, fmt.Sprintf("%s (rank correlation %.2f, grade %s)", in.Key, r.R, in.Grade))
			if in.Sourceless() {
				without++
			}
		}
	}
	if len(sure) == 0 {
		text += "; no single input stands out"
	} else {
		text += "; it follows " + strings.Join(sure, ", ") + fmt.Sprintf("; %d of these %s no source", without, has(without))
	}
	if b.Worlds < o.Count {
		text += fmt.Sprintf("; it was seen in %d of the worlds alone", b.Worlds)
	}
	if o.Count < leastWorlds {
		text += fmt.Sprintf("; fewer than %d worlds say little", leastWorlds)
	}
	return text + "."
}

func has(n int) string {
	if n == 1 {
		return "has"
	}
	return "have"
}
