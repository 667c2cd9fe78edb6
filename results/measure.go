package results

import (
	"halflight/results/stat"
	"halflight/sim/record"
)

// month is 30 days, in ns.
const month = 30 * 86400e9

// Measure is one figure of a summary with what is known about its chance error.
type Measure struct {
	Name         string // stable; see Dictionary
	Unit         string
	Estimate     stat.Estimate // in Unit, with the warnings that travel with it
	Replications int           // that it was made from
	Events       int           // faults, states or counts it rests on; NoEvents where there is no such number
	Sample       Sample        // what it was made from; empty for a largest or least value
}

// Sample is what an estimate was made from, for comparing it with that of another
// set: one figure per replication whose mean it is, or pooled values.
type Sample struct {
	Each   []float64    // by replication, in the unit of the measure; nil for a quantile
	Pooled *stat.Pooled // in the unit of the measure times Scale; nil for a mean
	At     float64      // the quantile, in (0, 1)
	Scale  float64      // 1, or 1e9 where times are pooled in ns
}

// NoEvents says that a figure does not rest on a number of events.
const NoEvents = -1

// Codes of doubts that only this package knows. Like those of stat they are
// stable.
const (
	OpenAtHorizon  stat.Code = "open-at-horizon" // some faults had not converged at the horizon
	NotAllReached  stat.Code = "not-all-reached" // some faults never were sighted or put out of use
	BeforeWindow   stat.Code = "before-window"   // caused by faults older than the measured window
	ShortWarmUp    stat.Code = "short-warm-up"   // the first half of the window is not like the second
	Overfull       stat.Code = "overfull"        // links asked for more than they carry
	CrewOverloaded stat.Code = "crew-overloaded" // offered work above what a crew can do in time
)

// Available reports whether the figure has a value.
func (m *Measure) Available() bool { return m.Estimate.Known }

// Summary is the meaning of a set.
type Summary struct {
	Study        Study
	Part         Range
	Missing      []Range // of Part: not empty for a partial result
	Replications int
	Level        float64 // of all intervals
	Modes        []record.Mode
	Routers      int
	Leaves       int
	Links        int
	Currency     string    // of what costs: a label
	Measures     []Measure // in the order of the dictionary
	Sentences    []string  // three, in words
	Unsure       []Input   // inputs without a good source, least sure first
	Varied       *Varied   // what the unsure inputs make of it; nil: not varied
	Ended        Ended
	Doubts       []stat.Warning // about the study as a whole
	Verdicts     []Verdict      // of objectives, once judged
	index        map[string]int
}

// Input is an input of the scenario that rests on no good source.
type Input struct {
	Path  string `json:"path"` // key path in the scenario
	Value string `json:"value"`
	Range string `json:"range,omitempty"` // documented range to vary it in
	Grade string `json:"grade"`           // D: an assumption
}

// Find returns the measure of a name.
func (s *Summary) Find(name string) (*Measure, bool) {
	i, ok := s.index[name]
	if !ok {
		return nil, false
	}
	return &s.Measures[i], true
}

// Names lists the names of all measures in their order.
func (s *Summary) Names() []string {
	names := make([]string, len(s.Measures))
	for i := range s.Measures {
		names[i] = s.Measures[i].Name
	}
	return names
}
