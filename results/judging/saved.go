package judging

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"strings"

	"halflight/results"
	"halflight/results/stat"
	"halflight/results/unit"
)

// Saved is a summary that was saved before, as far as it is compared with.
type Saved struct {
	Name     string
	Level    float64
	Quick    bool
	measures map[string]savedMeasure
}

type savedMeasure struct {
	Name     string   `json:"name"`
	Value    *float64 `json:"value"`
	Interval *struct {
		Low  *float64 `json:"low"`
		High *float64 `json:"high"`
	} `json:"interval"`
}

// ReadSaved reads a summary.json. Errors name the file.
func ReadSaved(from fs.FS, name string) (*Saved, error) {
	text, err := fs.ReadFile(from, name)
	if err != nil {
		return nil, err
	}
	var in struct {
		Halflight string  `json:"halflight"`
		Level     float64 `json:"level"`
		Study     results.Study
		Measures  []savedMeasure `json:"measures"`
	}
	if err := json.Unmarshal(text, &in); err != nil {
		return nil, fmt.Errorf("%s is no summary: %w", name, err)
	}
	if in.Halflight != "summary" || len(in.Measures) == 0 || !(in.Level > 0 && in.Level < 1) {
		return nil, errors.New(name + " is no summary of this program; take a summary.json that run or merge left behind")
	}
	s := &Saved{Name: name, Level: in.Level, Quick: in.Study.Quick, measures: map[string]savedMeasure{}}
	for _, m := range in.Measures {
		s.measures[m.Name] = m
	}
	return s, nil
}

// headline are the measures that are compared when no objective names others.
// All are better when smaller. A * stands for any one word.
var headline = []string{"app.*.slow_share", "lost_seconds.avoidable", "lost_seconds.stranded", "full_convergence.median",
	"full_convergence.p99", "wait_now.mean", "spf_runs"}

// Compared picks what is held against a saved summary: the measures of the
// objectives, or else the headlines that this summary has.
func Compared(list []Objective, s *results.Summary) []Objective {
	if len(list) > 0 {
		return list
	}
	var out []Objective
	for i := range s.Measures {
		for _, pattern := range headline {
			before, after, any := strings.Cut(pattern, "*")
			name := s.Measures[i].Name
			if name == pattern || any && strings.HasPrefix(name, before) && strings.HasSuffix(name, after) &&
				strings.Count(name, ".") == strings.Count(pattern, ".") {
				out = append(out, Objective{Measure: name, Unit: s.Measures[i].Unit, Confidence: Usual})
			}
		}
	}
	return out
}

// Against holds a summary against a saved one: no measure may be worse by more
// than a tolerance, a share of the saved value. Both have intervals at the same
// level, which are combined by squares (Zou and Donner, Statistics in Medicine 27,
// 2008: limits of a difference from the limits of its parts), as if the studies
// shared no draws: with draws in common the truth is narrower, so an answer is
// never too bold for that. Of equal draws and settings the two are the same to
// the last digit, and the answer is met.
func Against(s *results.Summary, saved *Saved, list []Objective, tolerance float64) ([]results.Verdict, error) {
	if saved.Level != s.Level {
		return nil, fmt.Errorf("%s has intervals at %v, this study at %v; they cannot be compared", saved.Name, saved.Level, s.Level)
	}
	var out []results.Verdict
	for _, o := range list {
		m, ok := s.Find(o.Measure)
		if !ok {
			panic("judging: there is no measure " + o.Measure)
		}
		v := results.Verdict{Measure: o.Measure, Confidence: (1 + s.Level) / 2, Doubts: []string{}}
		if seenOnly(o.Measure) {
			v.Confidence = 0
		}
		for _, w := range m.Estimate.Warnings {
			v.Doubts = append(v.Doubts, string(w.Code))
		}
		than := "above"
		if o.Least {
			than = "below"
		}
		v.Objective = fmt.Sprintf("%s at most %s %s that of %s", o.Measure, unit.Words(tolerance, unit.Share), than, saved.Name)
		v.Answer, v.Text = o.against(&m.Estimate, saved.measures[o.Measure], tolerance, v.Confidence)
		out = append(out, v)
	}
	return out, nil
}

func (o *Objective) against(e *stat.Estimate, old savedMeasure, tolerance, confidence float64) (results.Answer, string) {
	if old.Value == nil && !e.Known {
		return results.Met, "nothing of it was seen, now or before"
	}
	if old.Value == nil || !e.Known {
		which := "this study"
		if old.Value == nil {
			which = "the saved summary"
		}
		return results.Undecided, which + " has no value of it"
	}
	n := unit.Apart(o.Unit, e.Value, *old.Value)
	both := fmt.Sprintf("%s, before %s", unit.WordsTo(n, e.Value, o.Unit), unit.WordsTo(n, *old.Value, o.Unit))
	bound := *old.Value * (1 + tolerance)
	sign := 1.0
	if o.Least {
		bound, sign = *old.Value*(1-tolerance), -1
	}
	worse := float64(sign * (e.Value - bound)) // above 0: beyond the tolerance
	if confidence == 0 {
		if worse <= 0 {
			return results.Met, both + ", in what was seen"
		}
		return results.Missed, both + ", in what was seen"
	}
	if !e.Available() || old.Interval == nil || old.Interval.Low == nil || old.Interval.High == nil {
		if e.Value == *old.Value && !e.Available() && old.Interval == nil {
			return results.Met, both + ": the same"
		}
		return results.Undecided, both + ", and no interval of one of them"
	}
	if e.Value == *old.Value && e.Low == *old.Interval.Low && e.High == *old.Interval.High {
		return results.Met, both + ": the same to the last digit"
	}
	scale := bound / *old.Value
	if *old.Value == 0 {
		scale = 1
	}
	oldLow, oldHigh := *old.Interval.Low*scale, *old.Interval.High*scale
	low := worse - math.Hypot(e.Value-e.Low, oldHigh-bound)
	high := worse + math.Hypot(e.High-e.Value, bound-oldLow)
	if o.Least {
		low = worse - math.Hypot(e.High-e.Value, bound-oldLow)
		high = worse + math.Hypot(e.Value-e.Low, oldHigh-bound)
	}
	sure := fmt.Sprintf(", with %s confidence", unit.Words(confidence, unit.Share))
	switch {
	case high <= 0:
		return results.Met, both + sure
	case low > 0:
		return results.Missed, both + sure
	}
	return results.Undecided, both + "; chance alone may explain either answer, more replications or a pair by pair comparison would tell"
}
