package picture

import (
	"fmt"
	"math"
	"strings"

	"halflight/results/answers"
	"halflight/results/phrase"
	"halflight/results/stat"
	"halflight/results/unit"
)

// Headline is one of the figures that a reader sees first.
type Headline struct {
	Label, Value, Interval, Note string
}

// Headlines are the figures to see first: application-visible loss, convergence
// in quiet and in noise, what nobody sees.
func Headlines(r *Result) (out []Headline) {
	add := func(label, name, note string) bool {
		e, ok := known(r.Summary, name)
		if !ok {
			return false
		}
		m, _ := r.Summary.Find(name)
		out = append(out, Headline{label, phrase.Value(e, m.Unit), phrase.Interval(e, m.Unit), note})
		return true
	}
	for _, c := range r.Set.Header.Classes[:min(1, len(r.Set.Header.Classes))] {
		add("of "+c.Name+" are slow at the worst leaf", "app."+c.Name+".slow_share.worst_leaf", "slow: a packet of the request or of its reply was lost")
		if c.Budget > 0 {
			add("times the error budget of "+c.Name+" is burned", "app."+c.Name+".budget_burn", "1 uses up what a month allows")
		}
	}
	add("of avoidable darkness", "lost_seconds.avoidable", "lost seconds: 1 s is a second of total darkness, or 100 s at 1 %")
	slowest := func(background string) string { // the highest quantile that has an interval
		for _, q := range []string{"p99", "p95"} {
			if e, ok := known(r.Summary, "full_convergence."+background+"."+q); ok && e.Available() {
				return q
			}
		}
		return "median"
	}
	q := slowest("quiet")
	add(q+" convergence of a cut in quiet", "full_convergence.quiet."+q, "RFC 6412, from the cut, or the restart of a router, to the last change")
	if m, ok := r.Summary.Find("full_convergence.noise.median"); ok && m.Available() && m.Events >= stat.EventsLeast {
		q = slowest("noise")
		add(q+" convergence of a cut in noise", "full_convergence.noise."+q, "the same, while some router's back-off was wound up")
	} else {
		add("mean wait beyond timers at rest", "penalty_now.mean", "what an event at a random moment would meet: too few cuts fell in noise")
	}
	if len(r.Set.Replications) > 0 {
		e := r.unseen()
		out = append(out, Headline{"gray faults are there that nobody sees", phrase.Value(e, unit.One), phrase.Interval(e, unit.One), "mean number at a random moment"})
	}
	return out
}

func (r *Result) unseen() stat.Estimate {
	values := make([]float64, len(r.Set.Replications))
	for i := range values {
		for m, mode := range r.Set.Header.Modes {
			if mode.Gray {
				values[i] += r.Set.Replications[i].Unseen[m]
			}
		}
	}
	return stat.Mean(values, 0.95).Within(0, math.Inf(1))
}

// Options is the one table of options: what each costs, and what it gives.
func Options(list []*Result) Table {
	t := Table{Head: []string{"option", "yearly cost", "p99 convergence", "worst-leaf slow share", "unseen gray faults, mean", "bar of inputs"}, Left: 1}
	for _, r := range list {
		worst := "full_convergence.p99"
		row := []string{r.Name + ": " + r.Setting, r.yearly(), of(r.Summary, worst), "no application", "not known", r.inputsBar(worst)}
		if c := r.Set.Header.Classes; len(c) > 0 {
			row[3] = of(r.Summary, "app."+c[0].Name+".slow_share.worst_leaf")
		}
		if len(r.Set.Replications) > 0 {
			row[4] = phrase.With(r.unseen(), unit.One)
		}
		t.Rows = append(t.Rows, row)
		if c := r.Answers.Compare; c != nil {
			for i := range c.Sides {
				t.Rows = append(t.Rows, r.side(c, i))
			}
		}
	}
	return t
}

// yearly is what a year costs, of all that has a price.
func (r *Result) yearly() string {
	for _, name := range []string{"cost.total", "cost.all"} {
		if m, ok := r.Summary.Find(name); ok && m.Available() {
			return phrase.With(m.Estimate, m.Unit)
		}
	}
	return "not priced"
}

// inputsBar says what the unsure inputs may do to a measure.
func (r *Result) inputsBar(measure string) string {
	v := r.Summary.Varied
	if v == nil {
		return r.Answers.Sweep.Bar(measure)
	}
	for _, b := range v.Bars {
		if b.Measure == measure {
			return fmt.Sprintf("%s over %d worlds", phrase.Range(b.Low, b.High, b.Unit), v.Worlds)
		}
	}
	return "inputs: not varied for this"
}

// side is a side of a comparison; figures are followed by how far they are from
// those of the first side, with the interval of that.
func (r *Result) side(c *answers.Compared, i int) []string {
	row := []string{"compared: " + c.Sides[i].Name, c.Value("cost.total", i), c.Value("full_convergence.p99", i), "no application", "", "inputs: not varied"}
	if list := r.Set.Header.Classes; len(list) > 0 {
		row[3] = c.Value("app."+list[0].Name+".slow_share.worst_leaf", i)
	}
	var parts []string
	for _, m := range r.Set.Header.Modes {
		if m.Gray {
			if text := c.Value("unseen."+m.Name, i); text != "not known" {
				parts = append(parts, m.Name+" "+text)
			}
		}
	}
	if row[4] = strings.Join(parts, "; "); row[4] == "" {
		row[4] = "not known"
	}
	return row
}

// Figures is every measure of a summary, as a table.
func Figures(r *Result) Table {
	t := Table{Head: []string{"measure", "value", "95 % interval", "events"}, Left: 1}
	for i := range r.Summary.Measures {
		m := &r.Summary.Measures[i]
		events := ""
		if m.Events >= 0 {
			events = figure(m.Events)
		}
		t.Rows = append(t.Rows, []string{m.Name, phrase.Value(m.Estimate, m.Unit), phrase.Interval(m.Estimate, m.Unit), events})
	}
	return t
}

// Doubts are the warnings that travel with the figures, each once with the
// figures it is about.
func Doubts(r *Result) (out []string) {
	at := map[string]int{}
	more := []int{}
	for i := range r.Summary.Measures {
		m := &r.Summary.Measures[i]
		for _, w := range m.Estimate.Warnings {
			code := string(w.Code)
			if k, ok := at[code]; ok {
				more[k]++
				continue
			}
			at[code] = len(out)
			out, more = append(out, m.Name+": "+w.Text+"."), append(more, 0)
		}
	}
	for k, n := range more {
		if n > 0 {
			out[k] += " The same kind of doubt goes with " + unit.Count(n, "more figure") + "; summary.json has the words for each."
		}
	}
	return out
}
