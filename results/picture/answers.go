package picture

import (
	"encoding/json"
	"fmt"
	"strings"
)

// Studies is what other verbs left behind; nil where they did not. Each is read
// only as far as a picture needs it.
type Studies struct {
	Compare *Compared
	Sweep   *Swept
	Weigh   *Weighed
	Tune    *Tuned
}

// Add reads an answer by what it says it is. It returns false, and changes
// nothing, for a file that is none of them.
func (s *Studies) Add(text []byte) (bool, error) {
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

// limits is an interval; nil where there is none.
type limits struct {
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
			Interval *limits  `json:"interval"`
			Beyond   bool     `json:"beyond_doubt"`
		} `json:"differences"`
	} `json:"measures"`
	Sentences []string `json:"sentences"`
}

// value writes a measure of a side, and of all sides but the first how far it is
// from that.
func (c *Compared) value(name string, side int) string {
	for _, m := range c.Measures {
		if m.Name != name || side >= len(m.Values) || m.Values[side] == nil {
			continue
		}
		text := Words(*m.Values[side], m.Unit)
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
		return "-" + limit(-v, in)
	}
	return "+" + limit(v, in)
}

// Swept is sweep.json, of one input at a time or of worlds.
type Swept struct {
	Kind   string       `json:"kind"`
	Inputs []sweptTable `json:"inputs"`
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

type sweptTable struct {
	Measure  string   `json:"measure"`
	Unit     string   `json:"unit"`
	Present  *float64 `json:"present"`
	Sentence string   `json:"sentence"`
	Rows     []struct {
		Key    string     `json:"key"`
		Value  string     `json:"value"`
		Low    string     `json:"low"`
		High   string     `json:"high"`
		Grade  string     `json:"grade"`
		AtLow  sweptPoint `json:"at_low"`
		AtHigh sweptPoint `json:"at_high"`
		Beyond bool       `json:"beyond_doubt"`
	} `json:"rows"`
}

type sweptPoint struct {
	Value    *float64 `json:"value"`
	Interval *limits  `json:"interval"` // of the difference from the present setting
}

// bar says what the unsure inputs may do to a measure.
func (s *Swept) bar(measure string) string {
	if s == nil || s.Worlds == nil {
		return "inputs: not varied"
	}
	for _, b := range s.Worlds.Bars {
		if b.Measure == measure {
			return fmt.Sprintf("%s over %s", Range(b.Low, b.High, b.Unit), count(s.Worlds.Count, "world"))
		}
	}
	return "inputs: not varied for this"
}

// Weighed is weigh.json.
type Weighed struct {
	Currency   string        `json:"currency"`
	Class      string        `json:"class"`
	LeafHour   float64       `json:"leaf_hour"`
	Everything weighedLine   `json:"everything"`
	Alone      []weighedLine `json:"alone"`
	Beside     []weighedLine `json:"beside"`
	Bundles    []weighedLine `json:"bundles"`
	Sentences  []string      `json:"sentences"`
}

type weighedLine struct {
	Name     string        `json:"name"`
	CostSelf float64       `json:"cost_instruments"` // a year
	Hours    weighedFigure `json:"leaf_hours_saved"` // a month
	Saving   weighedFigure `json:"saving"`           // a year
}

type weighedFigure struct {
	Value   float64  `json:"value"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
	Decided bool     `json:"decided"`
}

// interval are the limits, or the value twice.
func (f *weighedFigure) interval() (low, high float64) {
	if f.Low == nil || f.High == nil {
		return f.Value, f.Value
	}
	return *f.Low, *f.High
}

// again is a command that makes an answer and draws it.
func (r *Result) again(verb, more string) string {
	folder := strings.TrimSuffix(r.Made.Scenario, "/as-typed.yaml")
	return fmt.Sprintf("halflight %s %s%s --out %s-of-it && halflight report %s --with %s-of-it", verb, r.Made.Scenario, more, verb, folder, verb)
}
