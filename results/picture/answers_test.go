package picture

import (
	"halflight/results/answers"
	"slices"
	"strings"
	"testing"
)

func (r *Result) answered(t *testing.T, text string) *Result {
	t.Helper()
	if ok, err := r.Answers.Add([]byte(text)); err != nil || !ok {
		t.Fatalf("%v, %v", ok, err)
	}
	return r
}

// Three inputs of one measure: bars from least to largest, the present value
// among them, in the order of the sweep; grades in name and style.
func TestInputs(t *testing.T) {
	r := hand().summed().answered(t, `{"halflight": "sweep", "format": 1, "kind": "inputs", "inputs": [{"measure": "full_convergence.median", "unit": "s", "present": 0.2,
		"sentence": "What to conclude.", "rows": [
		{"key": "a.rate", "low": "1/d", "high": "9/d", "grade": "D", "at_low": {"value": 0.1}, "at_high": {"value": 40}, "beyond_doubt": true},
		{"key": "b.time", "low": "1s", "high": "2s", "grade": "B", "at_low": {"value": 0.3}, "at_high": {"value": 0.25}, "beyond_doubt": false},
		{"key": "c.time", "low": "1s", "high": "2s", "grade": "C/D", "at_low": {"value": null}, "at_high": {"value": 0.2}, "beyond_doubt": false}]}]}`)
	p := Inputs(r)
	if !p.There() || p.Says != "What to conclude." || !p.X.Log || len(p.Bars) != 3 {
		t.Fatalf("%+v", p)
	}
	a, b, c := p.Bars[0], p.Bars[1], p.Bars[2]
	if a.Name != "a.rate (D)" || a.From != 0.1 || a.To != 40 || a.Style != Uneasy || a.Text != "100 ms to 40 s" {
		t.Errorf("a: %+v", a)
	}
	if b.From != 0.2 || b.To != 0.3 || b.Style != Calm || b.Text != "200 to 300 ms, within chance" {
		t.Errorf("b: %+v", b)
	}
	if c.From != 0.2 || c.To != 0.2 || c.Style != Uneasy {
		t.Errorf("c: %+v", c)
	}
	if p.Table.Rows[2][4] != "not seen" || p.Table.Rows[2][5] != "200 ms" {
		t.Errorf("cells of c: %v", p.Table.Rows[2])
	}
	unseen := hand().summed().answered(t, `{"halflight": "sweep", "format": 1, "kind": "inputs", "inputs": [{"measure": "full_convergence.median", "unit": "s", "present": null,
		"sentence": "Nothing was seen.", "rows": [{"key": "a.rate", "low": "1/d", "high": "9/d", "grade": "D", "at_low": {"value": null}, "at_high": {"value": null}}]}]}`)
	if p := Inputs(unseen); p.There() || !strings.Contains(p.Without, "saw nothing of full_convergence.median") {
		t.Errorf("nothing seen: %+v", p)
	}
	if e := r.evidence(); !e.Alone || e.Together {
		t.Errorf("evidence %+v", e)
	}
	if p := Inputs(hand().summed()); p.There() || !strings.HasPrefix(p.Command, "halflight sweep hand-5/as-typed.yaml --out ") {
		t.Errorf("without a sweep: %+v", p)
	}
}

// Worlds give the second bar, and a level.
func TestWorlds(t *testing.T) {
	r := hand().summed().answered(t, `{"halflight": "sweep", "format": 1, "kind": "worlds", "worlds": {"count": 64, "level": 0.95, "bars": [
		{"measure": "full_convergence.p99", "unit": "s", "low": 0.1, "median": 0.4, "high": 7}]}}`)
	if got := Options([]*Result{r}).Rows[0][5]; got != "100 ms to 7 s over 64 worlds" {
		t.Errorf("bar %q", got)
	}
	if e := r.evidence(); e.Alone || !e.Together || e.Replications != 2 {
		t.Errorf("evidence %+v", e)
	}
}

// Two leaf-hours a month are 24 1/3 a year; at 10 a leaf-hour the line reaches a
// cost of 200 at 20 hours.
func TestTelemetry(t *testing.T) {
	r := hand().summed().answered(t, `{"halflight": "weighing", "format": 1, "currency": "units", "class": "calls", "leaf_hour": 10,
		"everything": {"name": "all", "cost_instruments": 200, "leaf_hours_saved": {"value": 3, "low": 1, "high": 5}, "saving": {"value": 90, "low": 9, "high": 200, "decided": true}},
		"alone": [{"name": "probes", "cost_instruments": 100, "leaf_hours_saved": {"value": 2, "low": null, "high": null}, "saving": {"value": 50, "low": null, "high": null}}],
		"bundles": [], "sentences": []}`)
	p := Telemetry(r)
	if len(p.Marks) != 2 || p.Marks[0].X != 100 || off(p.Marks[0].Y, 2*365./30) || p.Marks[0].YLow != p.Marks[0].YHigh || off(p.Marks[1].YHigh, 5*365./30) {
		t.Errorf("marks %+v", p.Marks)
	}
	l := p.Lines[0]
	if slope := (l.Y[1] - l.Y[0]) / (l.X[1] - l.X[0]); off(slope, 0.1) {
		t.Errorf("break-even rises by %v", slope)
	}
	if p.X.Label != "cost of the instruments, units a year" || p.Says != "Beyond doubt all pays at this price of a degraded leaf-hour." {
		t.Errorf("%q, %q", p.X.Label, p.Says)
	}
}

func off(a, b float64) bool { return a < b-1e-9*b || a > b+1e-9*b }

func TestCompared(t *testing.T) {
	r := hand().summed().answered(t, `{"halflight": "compare", "format": 1, "sides": [{"name": "now"}, {"name": "long=2s"}], "measures": [
		{"name": "full_convergence.p99", "unit": "s", "values": [4, 1.5], "differences": [{"value": -2.5, "interval": {"low": -3, "high": -2}, "beyond_doubt": true}]},
		{"name": "unseen.optic-dirty", "unit": "1", "values": [2, null], "differences": [{"value": null, "interval": null}]}]}`)
	rows := Options([]*Result{r}).Rows
	if want := []string{"compared: now", "not known", "4 s", "not known", "optic-dirty 2", "inputs: not varied"}; !slices.Equal(rows[1], want) {
		t.Errorf("first side %q", rows[1])
	}
	if want := []string{"compared: long=2s", "not known", "1.5 s (-2.5 s: -3 s to -2 s)", "not known", "not known", "inputs: not varied"}; !slices.Equal(rows[2], want) {
		t.Errorf("second side %q", rows[2])
	}
}

// Three settings under two flap rates and a storm: two lines, ordered by the work
// they ask for, present and best marked on each.
func TestFrontier(t *testing.T) {
	r := hand().summed().answered(t, `{"halflight": "tune", "format": 1, "busy_limit": 0.5, "sentences": ["The best."],
		"conditions": [{"name": "flaps x 1", "storm": false}, {"name": "power", "storm": true}, {"name": "flaps x 60", "storm": false}],
		"curve": [
		{"label": "present", "means": [{"p99": 0.4, "busy": 0.1}, {"p99": 5, "busy": 0.2}]},
		{"label": "best", "means": [{"p99": 0.2, "busy": 0.3}, {"p99": 2, "busy": 0.4}]},
		{"label": "2", "means": [{"p99": 0.3, "busy": 0.2}, {"p99": 0, "busy": 0.3}]}]}`)
	p := Frontier(r)
	if len(p.Lines) != 2 || !slices.Equal(p.Lines[0].X, []float64{0.1, 0.2, 0.3}) || !slices.Equal(p.Lines[0].Y, []float64{0.4, 0.3, 0.2}) ||
		p.Lines[1].Name != "flaps x 60" || len(p.Lines[1].X) != 2 {
		t.Errorf("lines %+v", p.Lines)
	}
	strong := 0
	for _, m := range p.Marks {
		if m.Strong {
			strong++
		}
	}
	if strong != 4 || len(p.Marks) != 5 || p.Says != "The best." || p.Y.Low != 0.1 || p.Y.High != 10 {
		t.Errorf("%d of %d marks are strong; axis %v to %v", strong, len(p.Marks), p.Y.Low, p.Y.High)
	}
	if p := Frontier(hand().summed()); p.There() || !strings.HasPrefix(p.Command, "halflight tune hand-5/as-typed.yaml") {
		t.Errorf("without a search: %+v", p)
	}
}

func TestAnswersRefused(t *testing.T) {
	for text, say := range map[string]string{"{": "is damaged", `{"halflight": "sweep", "format": 7}`: "is of format 7", `{"halflight": "sweep", "format": 1, "inputs": 3}`: "is damaged"} {
		var s answers.All
		if ok, err := s.Add([]byte(text)); ok || err == nil || !strings.HasPrefix(err.Error(), say) {
			t.Errorf("%s: %v, %v", text, ok, err)
		}
	}
	var s answers.All
	if ok, err := s.Add([]byte(`{"halflight": "summary", "format": 1}`)); ok || err != nil {
		t.Errorf("a summary: %v, %v", ok, err)
	}
}
