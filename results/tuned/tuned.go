// Package tuned is what a search of timers came to, as it is kept and shown:
// present and best settings on replications that the search has not seen, the
// curve of what speed costs, and how flat the best is.
//
// It computes nothing but means over replications. It is tested by figures
// whose means and ratios are known, and through the verb.
package tuned

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"halflight/results"
	"halflight/results/contrast"
	"halflight/results/stat"
	"halflight/results/tuning"
	"halflight/results/unit"
)

// Answer is a search with its proof.
type Answer struct {
	Study      results.Study // of the present setting at full length, unseen replications
	Searched   Searched
	Knobs      []Knob
	Limit      float64 // of the worst 10-second busy share
	Gain       stat.Comparison
	Found      bool // the best is another than the present setting
	Conditions []Condition
	Full       *contrast.Contrast // best less present at full length; nil when nothing was found
	Curve      []Point
	Flat       []Flat
	Untuned    []string // what the search cannot turn, and why
	Sentences  []string
}

// Searched says how hard was looked.
type Searched struct {
	Start        int   `json:"start"`        // candidates, the present setting not counted
	Alive        []int `json:"alive"`        // at each block of the race
	Local        int   `json:"local"`        // evaluations of the local search
	Replications int   `json:"replications"` // played in all
}

// Knob is one timer, as a scenario has it.
type Knob struct {
	Key     string `json:"key"`
	Present string `json:"present"`
	Best    string `json:"best"`
	Floor   string `json:"floor"`
	Most    string `json:"most"`
	AtFloor bool   `json:"at_floor"`
}

// Condition is one kind of block: a flap rate, or a storm.
type Condition struct {
	Name    string        `json:"name"`
	Storm   bool          `json:"storm"`
	Present Means         `json:"present"`
	Best    Means         `json:"best"`
	P99     *jsonInterval `json:"p99_ratio"` // geometric mean of best over present, and its interval; nil where none has both
}

// Means are means over unseen replications; Busy is the largest seen.
type Means struct {
	Loss         float64 `json:"loss"` // avoidable, s per month
	P99          float64 `json:"p99"`  // mean over replications with cuts, s
	Busy         float64 `json:"busy"`
	Replications int     `json:"replications"`
}

// Point is one setting of the curve, played on unseen replications.
type Point struct {
	Label  string   `json:"label"` // present, best, or a number
	Values []string `json:"values"`
	Means  []Means  `json:"means"` // by condition
}

// Flat is how the cost changes when one knob moves from the best.
type Flat struct {
	Key    string        `json:"key"`
	To     string        `json:"to"`
	Up     bool          `json:"up"`
	Change *jsonInterval `json:"change"`
	Over   bool          `json:"over_limit"`
}

type jsonInterval struct {
	Value float64  `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

// MeansOf are the means of figures.
func MeansOf(list []tuning.Figures) Means {
	var m Means
	var loss, p99 stat.RunningSum
	cuts := 0
	for _, f := range list {
		loss.Add(f.Loss)
		m.Busy = max(m.Busy, f.Busy)
		if f.Cuts > 0 {
			p99.Add(f.P99)
			cuts++
		}
	}
	m.Replications = len(list)
	if len(list) > 0 {
		m.Loss = loss.Value() / float64(len(list))
	}
	if cuts > 0 {
		m.P99 = p99.Value() / float64(cuts)
	}
	return m
}

// RatioOf compares times of convergence pair by pair: the geometric mean of b over
// a, with the t interval of the logarithms; nil if no pair has both.
func RatioOf(b, a []tuning.Figures) *jsonInterval {
	var logs []float64
	for i := range a {
		if a[i].Cuts > 0 && b[i].Cuts > 0 && a[i].P99 > 0 && b[i].P99 > 0 {
			logs = append(logs, math.Log(b[i].P99/a[i].P99))
		}
	}
	if len(logs) == 0 {
		return nil
	}
	e := stat.Mean(logs, 0.95)
	ratio := &jsonInterval{Value: math.Exp(e.Value)}
	if e.Sides == stat.TwoSided {
		low, high := math.Exp(e.Low), math.Exp(e.High)
		ratio.Low, ratio.High = &low, &high
	}
	return ratio
}

// ChangeOf is a change of cost for keeping.
func ChangeOf(c stat.Comparison) *jsonInterval {
	out := &jsonInterval{Value: c.Difference.Value}
	if c.Difference.Sides == stat.TwoSided {
		out.Low, out.High = &c.Difference.Low, &c.Difference.High
	}
	return out
}

// Beyond says whether the gain is beyond chance.
func (a *Answer) Beyond() bool {
	return a.Found && a.Gain.Difference.Sides == stat.TwoSided && a.Gain.Difference.High < 0
}

// Words says what was found.
func (a *Answer) Words() []string {
	first := "No setting did better than the present one in the race and the local search, so there is no gain to report."
	switch e := a.Gain.Difference; {
	case a.Beyond():
		first = fmt.Sprintf("The best setting costs %.3g less than the present one on replications the search has not seen (95 %% interval %.3g to %.3g; 0.69 is a halving of both loss in convergence and its p99).",
			-e.Value, -e.High, -e.Low)
	case a.Found && e.Sides == stat.TwoSided:
		first = fmt.Sprintf("On replications the search has not seen the best setting gains nothing beyond chance: its cost differs by %.3g (95 %% interval %.3g to %.3g). Keep the present one.", e.Value, e.Low, e.High)
	case a.Found:
		first = "The best setting of the search was played on too few unseen replications to say whether it gains."
	}
	list := []string{first}
	floors := 0
	for _, k := range a.Knobs {
		if a.Found && k.AtFloor {
			floors++
		}
	}
	if floors > 0 {
		stand := "One setting stands at its floor"
		if floors > 1 {
			stand = fmt.Sprintf("%d settings stand at their floors", floors)
		}
		list = append(list, stand+": what lies below was not looked at, since routers may not keep up there. --floor KEY=VALUE lowers one.")
	}
	if worse := a.worse(); len(worse) > 0 {
		list = append(list, "The best setting is worse than the present one under "+strings.Join(worse, "; under ")+".")
	}
	for _, c := range a.Conditions {
		if a.Found && c.Best.Busy > a.Limit {
			list = append(list, fmt.Sprintf("In %s the best setting passes the limit on unseen replications: a router was busy for %s of its worst 10 s.", c.Name, unit.Words(c.Best.Busy, unit.Share)))
		}
	}
	return list
}

// worse names the conditions under which the best setting loses more than the
// present one, or converges later, by more than a tenth.
func (a *Answer) worse() (list []string) {
	if !a.Found {
		return nil
	}
	for _, c := range a.Conditions {
		text := ""
		if c.Best.Loss > 1.1*c.Present.Loss {
			text = fmt.Sprintf("avoidable loss %s against %s", unit.Words(c.Best.Loss, unit.SPerMonth), unit.Words(c.Present.Loss, unit.SPerMonth))
		}
		if c.Best.P99 > 1.1*c.Present.P99 {
			if text != "" {
				text += ", "
			}
			text += fmt.Sprintf("p99 convergence %s against %s", unit.Words(c.Best.P99, unit.Seconds), unit.Words(c.Present.P99, unit.Seconds))
		}
		if text != "" {
			list = append(list, c.Name+" ("+text+")")
		}
	}
	return list
}

// WriteJSON writes all of it as one JSON value.
func (a *Answer) WriteJSON(to io.Writer) error {
	out := struct {
		Halflight  string          `json:"halflight"` // "tune"
		Format     int             `json:"format"`
		Study      results.Study   `json:"study"`
		Searched   Searched        `json:"searched"`
		Limit      float64         `json:"busy_limit"`
		Found      bool            `json:"found"`
		Beyond     bool            `json:"gain_beyond_chance"`
		Gain       *jsonInterval   `json:"cost_change"`
		Knobs      []Knob          `json:"knobs"`
		Conditions []Condition     `json:"conditions"`
		Full       json.RawMessage `json:"full_length,omitempty"`
		Curve      []Point         `json:"curve"`
		Flat       []Flat          `json:"flatness"`
		Untuned    []string        `json:"not_tuned"`
		Sentences  []string        `json:"sentences"`
	}{"tune", 1, a.Study, a.Searched, a.Limit, a.Found, a.Beyond(), ChangeOf(a.Gain), a.Knobs, a.Conditions, nil, a.Curve, a.Flat, a.Untuned, a.Sentences}
	if a.Full != nil {
		var full rawWriter
		if err := a.Full.WriteJSON(&full); err != nil {
			return err
		}
		out.Full = json.RawMessage(full)
	}
	e := json.NewEncoder(to)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(out)
}

type rawWriter []byte

func (w *rawWriter) Write(p []byte) (int, error) {
	*w = append(*w, p...)
	return len(p), nil
}
