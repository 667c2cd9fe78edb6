// Package answers reads what other verbs leave in their folders, each only as far
// as a picture of it needs.
//
// It knows the shape of their files and nothing else of them. It is tested by
// small files typed by hand, through the pictures.
package answers

import (
	"encoding/json"
	"fmt"
	"slices"

	"halflight/results/phrase"
)

// All is what other verbs left behind; nil where they did not.
type All struct {
	Compare *Compared
	Sweep   *Swept
	Weigh   *Weighed
	Tune    *Tuned
}

// Add reads an answer by what it says it is. It returns false, and changes
// nothing, for a file that is none of them.
func (s *All) Add(text []byte) (bool, error) {
	var head struct {
		Halflight string `json:"halflight"`
		Format    int    `json:"format"`
	}
	if err := json.Unmarshal(text, &head); err != nil {
		return false, fmt.Errorf("is damaged: %w", err)
	}
	var into any
	switch head.Halflight {
	case "compare":
		s.Compare = &Compared{}
		into = s.Compare
	case "sweep":
		s.Sweep = &Swept{}
		into = s.Sweep
	case "weigh", "weighing":
		s.Weigh = &Weighed{}
		into = s.Weigh
	case "tune", "tuning":
		s.Tune = &Tuned{}
		into = s.Tune
	default:
		return false, nil
	}
	if head.Format != 1 {
		return false, fmt.Errorf("is of format %d, this program draws format 1; draw it with the version that wrote it", head.Format)
	}
	if err := json.Unmarshal(text, into); err != nil {
		return false, fmt.Errorf("is damaged: %w", err)
	}
	return true, nil
}

// Scenarios are the names of those that an answer is about, in its own order; none
// where it does not say.
func Scenarios(text []byte) (names []string) {
	type study struct {
		Scenario string `json:"scenario"`
	}
	var said struct {
		study
		Study study `json:"study"`
		Sides []struct {
			Study study `json:"study"`
		} `json:"sides"`
	}
	if json.Unmarshal(text, &said) != nil {
		return nil
	}
	names = append(names, said.Scenario, said.Study.Scenario)
	for _, s := range said.Sides {
		names = append(names, s.Study.Scenario)
	}
	return slices.Compact(slices.DeleteFunc(names, func(n string) bool { return n == "" }))
}

// Limits is an interval; nil where there is none.
type Limits struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Compared is compare.json.
type Compared struct {
	Sides []struct {
		Name         string `json:"name"`
		Replications int    `json:"replications"`
	} `json:"sides"`
	Measures []struct {
		Name        string     `json:"name"`
		Unit        string     `json:"unit"`
		Values      []*float64 `json:"values"`
		Differences []struct {
			Value    *float64 `json:"value"`
			Interval *Limits  `json:"interval"`
			Beyond   bool     `json:"beyond_doubt"`
		} `json:"differences"`
	} `json:"measures"`
	Sentences []string `json:"sentences"`
}

// Value writes a measure of a side, and of all sides but the first how far it is
// from that.
func (c *Compared) Value(name string, side int) string {
	for _, m := range c.Measures {
		if m.Name != name || side >= len(m.Values) || m.Values[side] == nil {
			continue
		}
		text := phrase.Words(*m.Values[side], m.Unit)
		if side == 0 || side > len(m.Differences) {
			return text
		}
		if d := m.Differences[side-1]; d.Value != nil && d.Interval != nil {
			text += " (" + signed(*d.Value, m.Unit) + ": " + signed(d.Interval.Low, m.Unit) + " to " + signed(d.Interval.High, m.Unit) + ")"
		}
		return text
	}
	return "not known"
}

func signed(v float64, in string) string {
	if v < 0 {
		return "-" + phrase.Limit(-v, in)
	}
	return "+" + phrase.Limit(v, in)
}

// Swept is sweep.json, of one input at a time or of worlds.
type Swept struct {
	Kind   string  `json:"kind"`
	Inputs []Table `json:"inputs"`
	Worlds *struct {
		Count int     `json:"count"`
		Level float64 `json:"level"`
		Bars  []struct {
			Measure string  `json:"measure"`
			Unit    string  `json:"unit"`
			Low     float64 `json:"low"`
			Middle  float64 `json:"median"`
			High    float64 `json:"high"`
		} `json:"bars"`
	} `json:"worlds"`
}

// Table is what each input does to one measure.
type Table struct {
	Measure  string   `json:"measure"`
	Unit     string   `json:"unit"`
	Present  *float64 `json:"present"`
	Sentence string   `json:"sentence"`
	Rows     []Row    `json:"rows"`
}

// Row is one input and the measure at both its ends.
type Row struct {
	Key    string `json:"key"`
	Value  string `json:"value"`
	Low    string `json:"low"`
	High   string `json:"high"`
	Grade  string `json:"grade"`
	AtLow  Point  `json:"at_low"`
	AtHigh Point  `json:"at_high"`
	Beyond bool   `json:"beyond_doubt"`
}

// Point is the measure at one setting.
type Point struct {
	Value    *float64 `json:"value"`
	Interval *Limits  `json:"interval"` // of the difference from the present setting
}

// Seen says whether any setting showed anything of the measure.
func (t *Table) Seen() bool {
	some := func(v *float64) bool { return v != nil && *v != 0 }
	return some(t.Present) || slices.ContainsFunc(t.Rows, func(r Row) bool { return some(r.AtLow.Value) || some(r.AtHigh.Value) })
}

// Words writes the value of a point.
func (p Point) Words(unit string) string {
	if p.Value == nil {
		return "not seen"
	}
	return phrase.Words(*p.Value, unit)
}

// Bar says what the unsure inputs may do to a measure.
func (s *Swept) Bar(measure string) string {
	if s == nil || s.Worlds == nil {
		return "inputs: not varied"
	}
	for _, b := range s.Worlds.Bars {
		if b.Measure == measure {
			return fmt.Sprintf("%s over %d worlds", phrase.Range(b.Low, b.High, b.Unit), s.Worlds.Count)
		}
	}
	return "inputs: not varied for this"
}

// Weighed is weigh.json.
type Weighed struct {
	Currency   string   `json:"currency"`
	Class      string   `json:"class"`
	LeafHour   float64  `json:"leaf_hour"`
	Everything Line     `json:"everything"`
	Alone      []Line   `json:"alone"`
	Beside     []Line   `json:"beside"`
	Bundles    []Line   `json:"bundles"`
	Sentences  []string `json:"sentences"`
}

// Line is one set of instruments against another.
type Line struct {
	Name     string  `json:"name"`
	CostSelf float64 `json:"cost_instruments"` // a year
	Hours    Figure  `json:"leaf_hours_saved"` // a month
	Saving   Figure  `json:"saving"`           // a year
}

// Figure is a mean with an interval, if it has one.
type Figure struct {
	Value   float64  `json:"value"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
	Decided bool     `json:"decided"`
}

// Interval are the limits, or the value twice.
func (f *Figure) Interval() (low, high float64) {
	if f.Low == nil || f.High == nil {
		return f.Value, f.Value
	}
	return *f.Low, *f.High
}

// Tuned is tune.json.
type Tuned struct {
	Limit      float64 `json:"busy_limit"` // of the worst 10 s
	Conditions []struct {
		Name  string `json:"name"`
		Storm bool   `json:"storm"`
	} `json:"conditions"`
	Knobs []struct {
		Key     string `json:"key"`
		Present string `json:"present"`
		Best    string `json:"best"`
	} `json:"knobs"`
	Curve     []Setting `json:"curve"`
	Sentences []string  `json:"sentences"`
}

// Setting is one setting of the curve, with what it does at each flap rate: under
// each condition that is no storm.
type Setting struct {
	Label string `json:"label"` // present, best, or a number
	Means []struct {
		Loss float64 `json:"loss"` // avoidable, s per month
		P99  float64 `json:"p99"`  // s
		Busy float64 `json:"busy"`
	} `json:"means"`
}
