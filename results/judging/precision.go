package judging

import (
	"fmt"
	"strings"

	"halflight/results"
	"halflight/results/stat"
	"halflight/results/unit"
)

// Want is a measure that a study is to know well: half its two-sided interval is
// to be at most Share of the value.
type Want struct {
	Measure string
	Share   float64 // above 0
}

// Looks are the numbers of replications at which a study may look whether it is
// precise enough: 20, 40, 80 ... up to most. Looking at doublings only keeps the
// chance of stopping on a lucky streak small: the intervals of studies stopped so
// hold the truth a little less often than their level, see the test.
func Looks(most int) []int { return stat.SequentialLooks(most) }

// Precise reports whether a set knows all that is wanted, and in words how well.
// A want without an interval is not known. Without wants it is true.
func Precise(set *results.Set, wants []Want) (bool, string) {
	if len(wants) == 0 {
		return true, ""
	}
	s := results.Summarise(set, results.Options{Only: func(name string) bool {
		for _, w := range wants {
			if w.Measure == name {
				return true
			}
		}
		return false
	}})
	all := true
	var texts []string
	for _, w := range wants {
		m, ok := s.Find(w.Measure)
		if !ok {
			panic("judging: there is no measure " + w.Measure)
		}
		half, two := m.Estimate.Half()
		asked := unit.Words(w.Share, unit.Share)
		if !two || m.Estimate.Value == 0 {
			all = false
			texts = append(texts, fmt.Sprintf("%s has no precision yet (asked for %s)", w.Measure, asked))
			continue
		}
		got := half / m.Estimate.Value
		all = all && got <= w.Share
		texts = append(texts, fmt.Sprintf("%s to within %s (asked for %s)", w.Measure, unit.Words(got, unit.Share), asked))
	}
	return all, strings.Join(texts, ", ")
}
