package results

import (
	"encoding/json"
	"io"
	"math"

	"halflight/sim/record"
)

// The shapes of summary.json. No value is infinite or NaN: what cannot be said is
// null and has a reason.
type (
	jsonSummary struct {
		Halflight    string        `json:"halflight"` // "summary"
		Format       int           `json:"format"`
		Study        Study         `json:"study"`
		Part         Range         `json:"part"`
		Replications int           `json:"replications"`
		Partial      bool          `json:"partial"`
		Missing      []Range       `json:"missing"`
		Level        float64       `json:"level"`
		Fabric       jsonFabric    `json:"fabric"`
		Modes        []record.Mode `json:"modes"`
		Currency     string        `json:"currency"`
		Measures     []jsonMeasure `json:"measures"`
		Sentences    []string      `json:"sentences"`
		Inputs       jsonInputs    `json:"inputs"`
		Ended        Ended         `json:"ended"`
		Doubts       []jsonWarning `json:"doubts"`
		Objectives   []Verdict     `json:"objectives"`
	}
	jsonFabric struct {
		Routers int `json:"routers"`
		Leaves  int `json:"leaves"`
		Links   int `json:"links"`
	}
	jsonInputs struct {
		Varied bool    `json:"varied"`
		Bar    *Varied `json:"bar,omitempty"`
		Unsure []Input `json:"unsure"`
	}
	jsonMeasure struct {
		Name         string        `json:"name"`
		Unit         string        `json:"unit"`
		Value        *float64      `json:"value"`
		Interval     *jsonInterval `json:"interval"`
		Replications int           `json:"replications"`
		Events       *int          `json:"events"`
		Available    bool          `json:"available"`
		Reason       string        `json:"reason,omitempty"` // why value or interval is null
		Warnings     []jsonWarning `json:"warnings"`
	}
	jsonInterval struct {
		Low   *float64 `json:"low"`
		High  *float64 `json:"high"`
		Level float64  `json:"level"`
		Sides string   `json:"sides"`
	}
	jsonWarning struct {
		Code string `json:"code"`
		Text string `json:"text"`
	}
)

// WriteJSON writes the summary as one JSON value with a line a field.
func (s *Summary) WriteJSON(to io.Writer) error {
	out := jsonSummary{
		Halflight: "summary", Format: 1, Study: s.Study, Part: s.Part, Replications: s.Replications, Partial: s.Partial(),
		Missing: filled(s.Missing), Level: s.Level, Fabric: jsonFabric{s.Routers, s.Leaves, s.Links}, Modes: filled(s.Modes), Currency: s.Currency,
		Measures: make([]jsonMeasure, len(s.Measures)), Sentences: filled(s.Sentences), Inputs: jsonInputs{Varied: s.Varied != nil, Bar: s.Varied, Unsure: filled(s.Unsure)},
		Ended: s.Ended, Doubts: []jsonWarning{}, Objectives: filled(s.Verdicts),
	}
	for _, w := range s.Doubts {
		out.Doubts = append(out.Doubts, jsonWarning{string(w.Code), w.Text})
	}
	for i := range s.Measures {
		out.Measures[i] = s.Measures[i].json()
	}
	e := json.NewEncoder(to)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(out)
}

// Save puts the summary into a file of the folder: whole, or not at all.
func (s *Summary) Save(to Folder, name string) error { return Put(to, name, s.WriteJSON) }

// Partial reports whether replications are missing.
func (s *Summary) Partial() bool { return len(s.Missing) > 0 }

func (m *Measure) json() jsonMeasure {
	e := m.Estimate
	out := jsonMeasure{
		Name: m.Name, Unit: m.Unit, Replications: m.Replications, Available: m.Available(), Reason: e.Reason, Warnings: []jsonWarning{},
	}
	if m.Events != NoEvents {
		out.Events = &m.Events
	}
	if e.Known {
		out.Value = Finite(e.Value)
	}
	if e.Available() {
		out.Interval = &jsonInterval{Finite(e.Low), Finite(e.High), e.Level, e.Sides.String()}
	}
	lost := (e.Known && out.Value == nil) || (out.Interval != nil && (out.Interval.Low == nil || out.Interval.High == nil))
	if lost && out.Reason == "" {
		out.Reason = "not a finite number"
	}
	out.Available = out.Value != nil
	for _, w := range e.Warnings {
		out.Warnings = append(out.Warnings, jsonWarning{string(w.Code), w.Text})
	}
	return out
}

// Finite is a number for JSON, null if it is none.
func Finite(v float64) *float64 {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return nil
	}
	return &v
}

// filled is a list that JSON writes as [] when it is empty.
func filled[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
