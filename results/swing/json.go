package swing

import (
	"encoding/json"
	"io"

	"halflight/results"
	"halflight/results/contrast"
	"halflight/results/stat"
)

// Grid is the settings of one or two keys.
type Grid struct {
	Keys   []string   `json:"keys"`
	Values [][]string `json:"values"` // of each key
	Cells  []GridCell `json:"cells"`  // the first key slowest
}

// GridCell is one setting; Side is its place in the comparison, 0 the present
// setting.
type GridCell struct {
	Values []string `json:"values"`
	Side   int      `json:"side"`
}

// Answer is what a sweep leaves in sweep.json: a grid, or tables of one input at a
// time, or worlds.
type Answer struct {
	Study     results.Study // of the present setting
	Grid      *Grid
	Contrast  *contrast.Contrast // of a grid and of tables
	Tables    []*Table
	Worlds    *Worlds
	Skipped   []string // unsure inputs that cannot be changed here
	Partial   string   // why replications are missing; empty when none is
	Sentences []string
}

type (
	jsonAnswer struct {
		Halflight    string        `json:"halflight"` // "sweep"
		Format       int           `json:"format"`
		Kind         string        `json:"kind"`              // grid, inputs or worlds
		Partial      string        `json:"partial,omitempty"` // why replications are missing
		Study        results.Study `json:"study"`
		Replications int           `json:"replications"` // of each setting
		Family       int           `json:"family"`       // differences whose wide intervals hold at once
		Method       string        `json:"family_method"`
		Grid         *Grid         `json:"grid,omitempty"`
		Measures     []jsonMeasure `json:"measures,omitempty"`
		Inputs       []jsonTable   `json:"inputs,omitempty"`
		Worlds       *jsonWorlds   `json:"worlds,omitempty"`
		Skipped      []string      `json:"not_varied,omitempty"`
		Sentences    []string      `json:"sentences"`
	}
	jsonMeasure struct {
		Name  string      `json:"name"`
		Unit  string      `json:"unit"`
		Sides []jsonPoint `json:"sides"` // the present setting first
	}
	jsonPoint struct {
		Setting    string        `json:"setting"`
		Value      *float64      `json:"value"`
		Difference *float64      `json:"difference"` // from the present setting
		Interval   *jsonInterval `json:"interval"`   // of the difference
		Wide       *jsonInterval `json:"family_interval"`
		Beyond     bool          `json:"beyond_doubt"`
		Paired     bool          `json:"paired"`
		Reduction  *float64      `json:"variance_reduction"`
	}
	jsonInterval struct {
		Low  float64 `json:"low"`
		High float64 `json:"high"`
	}
	jsonTable struct {
		Measure  string    `json:"measure"`
		Unit     string    `json:"unit"`
		Present  *float64  `json:"present"`
		Seen     bool      `json:"seen"` // something was, in some setting
		Rows     []jsonRow `json:"rows"`
		Sentence string    `json:"sentence"`
	}
	jsonRow struct {
		Input
		AtLow  jsonPoint `json:"at_low"`
		AtHigh jsonPoint `json:"at_high"`
		Swing  float64   `json:"swing"`
		Beyond bool      `json:"beyond_doubt"`
		Blank  bool      `json:"not_told"` // no swing, since the measure was not seen at all three values
	}
	jsonWorlds struct {
		Count        int       `json:"count"`
		Replications int       `json:"replications"`
		Level        float64   `json:"level"`
		Inputs       []Input   `json:"inputs"`
		Bars         []jsonBar `json:"bars"`
	}
	jsonBar struct {
		Measure string     `json:"measure"`
		Unit    string     `json:"unit"`
		Low     float64    `json:"low"`
		Middle  float64    `json:"median"`
		High    float64    `json:"high"`
		Worlds  int        `json:"worlds"`
		Ranks   []jsonRank `json:"rank_correlations"`
	}
	jsonRank struct {
		Key    string  `json:"key"`
		R      float64 `json:"r"`
		Beyond bool    `json:"beyond_doubt"`
	}
)

// WriteJSON writes all of it as one JSON value.
func (a *Answer) WriteJSON(to io.Writer) error {
	out := jsonAnswer{Halflight: "sweep", Format: 1, Kind: "inputs", Partial: a.Partial, Study: a.Study, Method: contrast.FamilyMethod, Grid: a.Grid,
		Skipped: a.Skipped, Sentences: a.Sentences}
	if a.Grid != nil {
		out.Kind = "grid"
	}
	if c := a.Contrast; c != nil {
		out.Family, out.Replications = c.Members, len(c.Sides[0].Set.Replications)
		for i := range c.Rows {
			out.Measures = append(out.Measures, measureJSON(c, &c.Rows[i]))
		}
	}
	for _, t := range a.Tables {
		out.Inputs = append(out.Inputs, t.json())
	}
	if a.Worlds != nil {
		out.Kind, out.Replications = "worlds", a.Worlds.Replications
		out.Worlds = a.Worlds.json()
	}
	e := json.NewEncoder(to)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(out)
}

func measureJSON(c *contrast.Contrast, r *contrast.Row) jsonMeasure {
	m := jsonMeasure{Name: r.Name, Unit: r.Unit}
	for i := range c.Sides {
		var d *contrast.Difference
		if i > 0 {
			d = &r.Differences[i-1]
		}
		m.Sides = append(m.Sides, point(c.Sides[i].Name, r.Values[i], d))
	}
	return m
}

func point(setting string, v contrast.Value, d *contrast.Difference) jsonPoint {
	p := jsonPoint{Setting: setting}
	if v.Known {
		p.Value = results.Finite(v.Value)
	}
	if d == nil || !d.Difference.Known {
		return p
	}
	p.Difference, p.Beyond, p.Paired = results.Finite(d.Difference.Value), d.Sure, d.Paired
	if d.Difference.Sides == stat.TwoSided {
		p.Interval, p.Wide = &jsonInterval{d.Difference.Low, d.Difference.High}, &jsonInterval{d.FamilyLow, d.FamilyHigh}
		p.Reduction = results.Finite(d.Reduction)
	}
	return p
}

func (t *Table) json() jsonTable {
	out := jsonTable{Measure: t.Measure, Unit: t.Unit, Seen: t.Seen, Sentence: t.Sentence()}
	if t.Present.Known {
		out.Present = results.Finite(t.Present.Value)
	}
	for i := range t.Rows {
		r := &t.Rows[i]
		out.Rows = append(out.Rows, jsonRow{Input: r.Input, AtLow: point(r.Input.Low, r.Low, &r.Less[0]), AtHigh: point(r.Input.High, r.High, &r.Less[1]),
			Swing: r.Size, Beyond: r.Sure, Blank: r.Blank})
	}
	return out
}

func (o *Worlds) json() *jsonWorlds {
	out := &jsonWorlds{Count: o.Count, Replications: o.Replications, Level: o.Level, Inputs: o.Inputs, Bars: []jsonBar{}}
	for _, b := range o.Bars {
		one := jsonBar{Measure: b.Measure, Unit: b.Unit, Low: b.Low, Middle: b.Middle, High: b.High, Worlds: b.Worlds, Ranks: []jsonRank{}}
		for _, r := range b.Ranks {
			one.Ranks = append(one.Ranks, jsonRank{o.Inputs[r.Input].Key, r.R, r.Sure})
		}
		out.Bars = append(out.Bars, one)
	}
	return out
}
