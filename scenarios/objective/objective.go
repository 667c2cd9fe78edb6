// Package objective reads objectives: what a figure of a study is to stay below or above, as typed.
//
// It knows how a limit is written and not which figures there are: that is for whoever holds a summary. It is tested by broken
// scenarios and through the whole program.
package objective

import (
	"strings"

	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
	"halflight/scenarios/wording"
)

// Form is how a limit was written.
type Form uint8

// The forms of a limit: 3 or 1e-4, 2.5%, 50ms.
const (
	Plain Form = iota
	Percent
	Time
)

// Limit is one end that a figure is to stay on the right side of. Value is in ns for a Time and a share for a Percent.
type Limit struct {
	Text  string // as typed
	Form  Form
	Value float64
}

// Objective is one objective as typed. Exactly one of AtMost and AtLeast is not nil unless there was a problem.
type Objective struct {
	Measure         string
	AtMost, AtLeast *Limit
	Confidence      *float64 // one-sided, from 0.6 to 0.9999; nil when not given
}

// Bounds of a confidence: below, a coin would do as well; above, no study of some hundred replications can tell.
const confidenceLeast, confidenceMost = 0.6, 0.9999

// Read reads one entry of the list. A problem leaves the objective incomplete.
func Read(o *outline.Object) Objective {
	o.Require("measure")
	a := Objective{Measure: o.Text("measure")}
	o.Number("confidence", &a.Confidence, unit.ParseShare, confidenceLeast, confidenceMost)
	switch o.Choice("at_most", "at_least") {
	case 0:
		a.AtMost = limit(o, "at_most")
	case 1:
		a.AtLeast = limit(o, "at_least")
	}
	o.Done()
	return a
}

func limit(o *outline.Object, key string) *Limit {
	n, path := o.Scalar(key)
	if n == nil {
		return nil
	}
	l, f := parse(n.Value)
	if f != nil {
		o.Outline().Reject(n, path, f)
		return nil
	}
	return l
}

// parse reads a number, a percentage or a time.
func parse(text string) (*Limit, *wording.Fault) {
	l := &Limit{Text: text}
	var f *wording.Fault
	if share, ok := strings.CutSuffix(text, "%"); ok {
		l.Form = Percent
		l.Value, f = unit.ParseNumber(strings.TrimSpace(share))
		l.Value /= 100
		return l, f
	}
	if l.Value, f = unit.ParseNumber(text); f == nil {
		return l, nil
	}
	if text == "" || text[0] < '0' || text[0] > '9' {
		return nil, wording.Wrong("is not a limit", "a number from 0, such as 3, 1e-4, 2.5% or 50ms")
	}
	l.Form = Time
	l.Value, f = unit.ParseTime(text)
	return l, f
}
