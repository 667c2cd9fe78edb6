package contrast

import (
	"encoding/json"
	"io"

	"halflight/results"
	"halflight/results/stat"
)

// The shapes of compare.json. What cannot be said is null and has a reason.
type (
	jsonContrast struct {
		Halflight string     `json:"halflight"` // "compare"
		Format    int        `json:"format"`
		Partial   string     `json:"partial,omitempty"` // why replications are missing
		Level     float64    `json:"level"`
		Family    jsonFamily `json:"family"`
		Common    bool       `json:"common_draws"`
		LeftOut   int        `json:"replications_left_out"`
		Sides     []jsonSide `json:"sides"`
		Measures  []jsonRow  `json:"measures"`
		Sentences []string   `json:"sentences"`
		Turning   *jsonTurn  `json:"turning,omitempty"`
		// By other side, where servers have one attachment on one side, two on the other.
		BreakEven []jsonBreakEven `json:"break_even,omitempty"`
	}
	jsonTurn struct {
		Replications int       `json:"replications"`
		Inputs       int       `json:"inputs"`
		Ranged       int       `json:"ranges_assumed"`
		Skipped      []string  `json:"skipped"`
		Ends         []jsonEnd `json:"ends"`
		Blank        []string  `json:"too_few_replications_for"`
	}
	jsonEnd struct {
		Of      string  `json:"of"` // the side from which the first is taken
		Measure string  `json:"measure"`
		Input   string  `json:"input"`
		Value   string  `json:"value"`
		Left    float64 `json:"left"` // of the difference; below 0: turned
	}
	jsonFamily struct {
		Members int    `json:"members"`
		Method  string `json:"method"`
	}
	jsonSide struct {
		Name         string        `json:"name"`
		Study        results.Study `json:"study"`
		Replications int           `json:"replications"`
	}
	jsonRow struct {
		Name        string           `json:"name"`
		Unit        string           `json:"unit"`
		Values      []*float64       `json:"values"` // by side
		Differences []jsonDifference `json:"differences"`
	}
	jsonDifference struct {
		Of          string        `json:"of"` // the side from which the first is taken
		Value       *float64      `json:"value"`
		Interval    *jsonInterval `json:"interval"`
		Family      *jsonInterval `json:"family_interval"`
		Beyond      bool          `json:"beyond_doubt"`
		Paired      bool          `json:"paired"`
		Correlation *float64      `json:"correlation"`
		Reduction   *float64      `json:"variance_reduction"` // null: the difference is the same in every pair, or there is none
		P           float64       `json:"p"`
		Reason      string        `json:"reason,omitempty"`
		Warnings    []jsonWarning `json:"warnings"`
	}
	jsonBreakEven struct {
		One      string   `json:"one"`
		Two      string   `json:"two"`
		Share    float64  `json:"share"`
		Within   *float64 `json:"within_s"` // null: nothing need ever move
		Low      *float64 `json:"low_s"`
		High     *float64 `json:"high_s"`
		Interval bool     `json:"interval"` // low and high are known
	}
	jsonInterval struct {
		Low  float64 `json:"low"`
		High float64 `json:"high"`
	}
	jsonWarning struct {
		Code string `json:"code"`
		Text string `json:"text"`
	}
)

// FamilyMethod says how the intervals that hold all at once are made.
const FamilyMethod = "Bonferroni: each interval at 1 - (1 - level) / members, by Student's t"

// WriteJSON writes all of it as one JSON value.
func (c *Contrast) WriteJSON(to io.Writer) error {
	out := jsonContrast{Halflight: "compare", Format: 1, Partial: c.Partial, Level: c.Level, Family: jsonFamily{c.Members, FamilyMethod},
		Common: c.Common, LeftOut: c.LeftOut, Sentences: c.Sentences()}
	for _, s := range c.Sides {
		out.Sides = append(out.Sides, jsonSide{s.Name, s.Set.Study, len(s.Set.Replications)})
	}
	for i := 1; i < len(c.Sides); i++ {
		if b, ok := c.BreakEven(i); ok {
			one := jsonBreakEven{One: b.One, Two: b.Two, Share: b.Share, Within: results.Finite(b.Within), Interval: b.Known}
			if b.Known {
				one.Low, one.High = results.Finite(b.Low), results.Finite(b.High)
			}
			out.BreakEven = append(out.BreakEven, one)
		}
	}
	for i := range c.Rows {
		out.Measures = append(out.Measures, c.json(&c.Rows[i]))
	}
	if t := c.Turning; t != nil {
		out.Turning = &jsonTurn{t.Replications, t.Inputs, t.Ranged, append([]string{}, t.Skipped...), []jsonEnd{}, append([]string{}, t.Blank...)}
		for _, r := range t.Rows {
			out.Turning.Ends = append(out.Turning.Ends, jsonEnd{c.Sides[r.Side].Name, r.Measure, r.Input, r.Value, r.Left})
		}
	}
	e := json.NewEncoder(to)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(out)
}

func (c *Contrast) json(r *Row) jsonRow {
	out := jsonRow{Name: r.Name, Unit: r.Unit}
	for i := range r.Values {
		var v *float64
		if r.Values[i].Known {
			v = results.Finite(r.Values[i].Value)
		}
		out.Values = append(out.Values, v)
	}
	for i := range r.Differences {
		d := &r.Differences[i]
		one := jsonDifference{Of: c.Sides[i+1].Name, Beyond: d.Sure, Paired: d.Paired, P: d.P, Reason: d.Difference.Reason,
			Warnings: []jsonWarning{}}
		if d.Difference.Known {
			one.Value = results.Finite(d.Difference.Value)
		}
		if d.Difference.Sides == stat.TwoSided {
			one.Interval = &jsonInterval{d.Difference.Low, d.Difference.High}
			one.Family = &jsonInterval{d.FamilyLow, d.FamilyHigh}
			one.Reduction = results.Finite(d.Reduction)
		}
		if d.Correlated {
			one.Correlation = results.Finite(d.Correlation)
		}
		for _, w := range d.Difference.Warnings {
			one.Warnings = append(one.Warnings, jsonWarning{string(w.Code), w.Text})
		}
		out.Differences = append(out.Differences, one)
	}
	return out
}
