// Package judging holds a study against objectives: each is met, missed or
// undecided, with the reason in words.
//
// An objective is met when the limit of the figure's one-sided interval lies on
// the right side, missed when the opposite limit lies on the wrong side, and
// undecided when the interval holds the objective's limit or there is none: then
// chance may have decided, and only more replications settle it. What has no
// interval by its nature (the largest or least seen) is judged on what was seen.
//
// It knows figures and their intervals, not how they came about. It is tested by
// figures worked by hand and by how often it errs over many studies.
package judging

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"halflight/results"
	"halflight/results/money"
	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/scenarios/objective"
	"halflight/scenarios/wording"
)

// Usual is the one-sided confidence of an objective that states none.
const Usual = 0.95

// Objective is one objective with its limit in the unit of its measure.
type Objective struct {
	Measure    string
	Unit       string
	Limit      float64
	Least      bool    // the figure is to be at least Limit, not at most
	Confidence float64 // one-sided; 0: judged on what was seen
}

// Of gives an objective as typed its unit. known is a summary that has every
// measure of the scenario. The fault, nil when there is none, is about the key
// that is returned beside it.
func Of(o objective.Objective, known *results.Summary) (Objective, string, *wording.Fault) {
	m, ok := known.Find(o.Measure)
	if !ok {
		hint := "README and summary.json list them"
		if near := wording.Nearest(o.Measure, known.Names()); near != "" {
			hint = "did you mean " + near + "?"
		}
		return Objective{}, "measure", wrong(o.Measure, "is no measure of this scenario", hint)
	}
	out := Objective{Measure: m.Name, Unit: m.Unit, Least: o.AtLeast != nil, Confidence: Usual}
	key, limit := "at_most", o.AtMost
	if out.Least {
		key, limit = "at_least", o.AtLeast
	}
	var fault *wording.Fault
	if out.Limit, fault = inUnit(limit, m); fault != nil {
		return out, key, fault
	}
	switch {
	case seenOnly(m.Name) && o.Confidence != nil:
		return out, "confidence", wrong(fmt.Sprint(*o.Confidence), "cannot be had of the largest or least seen, which has no interval",
			"leave it out: the objective is then judged on what was seen")
	case seenOnly(m.Name):
		out.Confidence = 0
	case o.Confidence != nil:
		out.Confidence = *o.Confidence
	}
	return out, "", nil
}

// wrong is a fault of what was typed.
func wrong(typed, text, hint string) *wording.Fault {
	return wording.Wrong(wording.Quote(typed)+" "+text, hint)
}

// seenOnly reports whether a measure has no interval by its nature.
func seenOnly(name string) bool {
	return strings.HasSuffix(name, ".max") || name == "busy.worst10s" || name == "load.worst" ||
		name == "capacity.worst" || strings.HasSuffix(name, ".capacity.worst")
}

// Uncertain says why a measure never has an interval, so that no number of
// replications makes it more precise; empty for all others.
func Uncertain(name string) string {
	item, isCost := strings.CutPrefix(name, "cost.")
	switch {
	case seenOnly(name):
		return "is the largest or least seen and never has an interval"
	case name == "load.hottest" || isCost && money.Fixed(item):
		return "is the same in every replication and needs no interval"
	}
	return ""
}

// inUnit is a limit in the unit of a measure.
func inUnit(l *objective.Limit, m *results.Measure) (float64, *wording.Fault) {
	size := 0.0 // of the unit, in ns, if it is one of time
	switch m.Unit {
	case unit.Seconds, unit.SPerMonth:
		size = 1e9
	case unit.HPerMonth:
		size = 3600e9
	}
	is := m.Name + " is in " + m.Unit
	switch {
	case size > 0 && l.Form == objective.Time:
		return l.Value / size, nil
	case size > 0 && l.Value == 0 && l.Form == objective.Plain:
		return 0, nil
	case size > 0:
		return 0, wrong(l.Text, "needs a unit of time", is+": such as 50ms or 2min")
	case l.Form == objective.Time:
		return 0, wrong(l.Text, "is a time", is+": a number, such as 0.5")
	case l.Form == objective.Percent && m.Unit != unit.Share && m.Unit != unit.One:
		return 0, wrong(l.Text, "is a percentage", is+": a number, such as 0.5")
	}
	return l.Value, nil
}

// String says what is asked.
func (o *Objective) String() string { return o.asked(unit.Apart(o.Unit, o.Limit)) }

// asked is what is asked, with so many digits or, if a few more do, all that were typed.
func (o *Objective) asked(digits int) string {
	const few = 6
	limit := unit.WordsTo(digits, o.Limit, o.Unit)
	for n := digits; n <= few; n++ {
		if size := math.Pow(10, float64(n)-1-math.Floor(math.Log10(o.Limit))); o.Limit > 0 && math.Abs(math.Round(o.Limit*size)-o.Limit*size) < 1e-6 {
			limit = unit.WordsTo(n, o.Limit, o.Unit)
			break
		}
	}
	return fmt.Sprintf("%s at %s %s", o.Measure, o.most(), limit)
}

// digits is with how many of them a figure and its limits are told from what is asked.
func (o *Objective) digits(e *stat.Estimate) int {
	var list []float64
	if e.Known {
		list = append(list, e.Value)
	}
	if e.Available() && o.Confidence > 0 {
		list = append(list, e.Low, e.High)
	}
	return unit.Apart(o.Unit, o.Limit, list...)
}

func (o *Objective) most() string {
	if o.Least {
		return "least"
	}
	return "most"
}

// Judge holds a whole study against objectives, in their order.
func Judge(set *results.Set, list []Objective) []results.Verdict {
	var out []results.Verdict
	at := summaries{set: set, list: list, made: map[float64]*results.Summary{}}
	for i := range list {
		o := &list[i]
		e := at.of(o)
		v := results.Verdict{Objective: o.asked(o.digits(&e)), Measure: o.Measure, Confidence: o.Confidence, Doubts: []string{}}
		for _, w := range e.Warnings {
			v.Doubts = append(v.Doubts, string(w.Code))
		}
		v.Answer, v.Text = o.judge(&e)
		out = append(out, v)
	}
	return out
}

// summaries makes a summary for each level that is asked for, once.
type summaries struct {
	set  *results.Set
	list []Objective
	made map[float64]*results.Summary
}

func (s *summaries) at(level float64) *results.Summary {
	if s.made[level] == nil {
		s.made[level] = results.Summarise(s.set, results.Options{Level: level, Only: func(name string) bool {
			return slices.ContainsFunc(s.list, func(o Objective) bool { return o.Measure == name })
		}})
	}
	return s.made[level]
}

// of is the figure of an objective with an interval whose ends both are one-sided
// limits at its confidence: the two-sided one at twice the rest, unless the figure
// has but one end, which is one-sided already.
func (s *summaries) of(o *Objective) stat.Estimate {
	if o.Confidence == 0 {
		return s.find(o.Measure, Usual)
	}
	e := s.find(o.Measure, 2*o.Confidence-1)
	if e.Sides == stat.UpperBound || e.Sides == stat.LowerBound {
		e = s.find(o.Measure, o.Confidence)
	}
	return e
}

func (s *summaries) find(name string, level float64) stat.Estimate {
	m, ok := s.at(level).Find(name)
	if !ok {
		panic("judging: there is no measure " + name)
	}
	return m.Estimate
}

// judge answers, and says why.
func (o *Objective) judge(e *stat.Estimate) (results.Answer, string) {
	words := func(v float64) string { return words(o.digits(e), v, o.Unit) }
	value := "no value"
	if e.Known {
		value = words(e.Value)
	}
	if o.Confidence == 0 && e.Known {
		if o.right(e.Value) {
			return results.Met, fmt.Sprintf("%s in what was seen, which bounds nothing that was not", value)
		}
		return results.Missed, fmt.Sprintf("%s was seen", value)
	}
	if !e.Available() {
		return results.Undecided, fmt.Sprintf("%s, and no interval: %s", value, e.Reason)
	}
	low, high := e.Low, e.High // an end that was not estimated is as far as it can be
	near, far, nearWord, farWord := high, low, "most", "least"
	if o.Least {
		near, far, nearWord, farWord = low, high, "least", "most"
	}
	sure := fmt.Sprintf("with %s confidence", unit.Words(o.Confidence, unit.Share))
	switch {
	case o.right(near):
		return results.Met, fmt.Sprintf("%s, at %s %s %s", value, nearWord, words(near), sure)
	case !o.right(far):
		return results.Missed, fmt.Sprintf("%s, at %s %s %s", value, farWord, words(far), sure)
	}
	text := fmt.Sprintf("%s, but chance alone may put it anywhere from %s to %s", value, words(low), words(high))
	return results.Undecided, text + o.cure(e, near, far)
}

func words(digits int, v float64, of string) string {
	if math.IsInf(v, 1) {
		return "any size"
	}
	return unit.WordsTo(digits, v, of)
}

// right reports whether a value is on the right side of the limit.
func (o *Objective) right(v float64) bool {
	if o.Least {
		return v >= o.Limit
	}
	return v <= o.Limit
}

// cureMost is the largest number of replications that is worth naming.
const cureMost = 1e6

// cure says how many replications would decide, if the value is what it seems.
func (o *Objective) cure(e *stat.Estimate, near, far float64) string {
	end := far
	if o.right(e.Value) {
		end = near
	}
	gap := math.Abs(o.Limit - e.Value)
	if e.Sides != stat.TwoSided || gap == 0 {
		return ""
	}
	times := math.Abs(end-e.Value) / gap
	n := float64(e.N) * float64(times*times)
	if e.N == 0 || n > cureMost {
		return "; no study of a sensible size would decide it"
	}
	return fmt.Sprintf("; about %d replications would decide it if the value stays", stat.NextLook(int(n)))
}

// Tally counts what was missed and what is undecided.
func Tally(list []results.Verdict) (missed, undecided int) {
	for i := range list {
		switch list[i].Answer {
		case results.Missed:
			missed++
		case results.Undecided:
			undecided++
		}
	}
	return missed, undecided
}
