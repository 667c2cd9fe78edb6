package picture

import (
	"fmt"
	"math"

	"halflight/results/phrase"
	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

const (
	dayNs   = 86400e9
	monthNs = 30 * dayNs
)

// noSeries is why there is no picture over time.
const noSeries = "the records hold no series over time"

// series reports whether a result has a series in every replication.
func (r *Result) series() bool {
	for i := range r.Set.Replications {
		if r.Set.Replications[i].Series.Slot == 0 {
			return false
		}
	}
	return len(r.Set.Replications) > 0
}

// when is the begin of each wide slot in days since the warm-up.
func (r *Result) when() []float64 {
	s := &r.Set.Replications[0].Series
	out := make([]float64, len(s.Gray))
	for k := range out {
		out[k] = float64(int64(k)*s.Slot*int64(s.Wide)) / dayNs
	}
	return out
}

// days is the axis of time since the warm-up.
func (r *Result) days() Axis {
	return Axis{Label: "days since the warm-up", Unit: unit.One, Low: 0, High: float64(r.Set.Study.Horizon) / dayNs}
}

// overTime is the mean over replications of a series, with its interval.
func (r *Result) overTime(name string, style Style, of func(r *record.Replication) []float32) Line {
	l := Line{Name: name, Style: style, X: r.when(), Step: true}
	for k := range l.X {
		values := make([]float64, len(r.Set.Replications))
		for i := range values {
			values[i] = float64(of(&r.Set.Replications[i])[k])
		}
		e := stat.Mean(values, 0.95).Within(0, math.Inf(1))
		l.Y = append(l.Y, e.Value)
		if !e.Available() {
			e.Low, e.High = e.Value, e.Value
		}
		l.Low, l.High = append(l.Low, e.Low), append(l.High, e.High)
	}
	return l.closed(r.days().High)
}

// closed adds the end of the window to a stepped line.
func (l Line) closed(end float64) Line {
	n := len(l.X) - 1
	l.X, l.Y = append(l.X, end), append(l.Y, l.Y[n])
	l.Low, l.High = append(l.Low, l.Low[n]), append(l.High, l.High[n])
	return l
}

// top is the largest of what some lines show.
func top(lines []Line) float64 {
	most := 0.0
	for _, l := range lines {
		for k := range l.Y {
			most = max(most, l.Y[k])
			if k < len(l.High) {
				most = max(most, l.High[k])
			}
		}
	}
	if most == 0 {
		return 1
	}
	return most
}

// Backlog is the gray faults present and unseen over the measured window.
func Backlog(r *Result) Picture {
	p := Picture{ID: "gray-backlog", Title: "Gray faults over the months, seen and unseen", X: r.days(),
		Y:    Axis{Label: "gray faults at a time, mean", Unit: unit.One},
		Read: "The upper line is how many gray faults are there at a time, the lower how many of them no instrument has sighted yet; what lies between is seen and waits for repair. Means over replications; bands hold 95 % of chance."}
	if !r.series() {
		p.Without, p.Command = noSeries, r.Made.Reproduce
		return p
	}
	p.Lines = []Line{
		r.overTime("present", Calm, func(r *record.Replication) []float32 { return r.Series.Gray }),
		r.overTime("of them unseen", Uneasy, func(r *record.Replication) []float32 { return r.Series.Unseen }),
	}
	p.Y.High = 1.05 * top(p.Lines)
	present, unseen := r.gray(func(r *record.Replication) []float64 { return r.Present }), r.gray(func(r *record.Replication) []float64 { return r.Unseen })
	if present.Value == 0 {
		p.Says = "No gray fault was there in any replication."
		return p
	}
	p.Says = fmt.Sprintf("At a random moment %s gray faults are there, of which %s are unseen: %s of what drops packets is known to nobody. %s",
		phrase.With(present, unit.One), phrase.With(unseen, unit.One), phrase.Words(unseen.Value/present.Value, unit.Share), r.drift())
	p.Table = &Table{Head: []string{"mode", "onsets per month", "present", "unseen", "unseen share"}, Left: 1}
	for _, m := range r.Summary.Modes {
		if !m.Gray {
			continue
		}
		a, okA := known(r.Summary, "present."+m.Name)
		b, okB := known(r.Summary, "unseen."+m.Name)
		if !okA || !okB || a.Value == 0 {
			continue
		}
		p.Table.Rows = append(p.Table.Rows, []string{m.Name, of(r.Summary, "faults."+m.Name), phrase.With(a, unit.One), phrase.With(b, unit.One), phrase.Words(b.Value/a.Value, unit.Share)})
	}
	return p
}

// gray is a mean number over all gray modes, by replication.
func (r *Result) gray(of func(r *record.Replication) []float64) stat.Estimate {
	values := make([]float64, len(r.Set.Replications))
	for i := range values {
		list := of(&r.Set.Replications[i])
		for m, mode := range r.Set.Header.Modes {
			if mode.Gray {
				values[i] += list[m]
			}
		}
	}
	return stat.Mean(values, 0.95).Within(0, math.Inf(1))
}

// drift compares the backlog of the last third of the window with the first.
func (r *Result) drift() string {
	n := len(r.Set.Replications)
	first, last := make([]float64, n), make([]float64, n)
	for i := range first {
		g := r.Set.Replications[i].Series.Gray
		third := max(1, len(g)/3)
		for k := range third {
			first[i] += float64(g[k]) / float64(third)
			last[i] += float64(g[len(g)-1-k]) / float64(third)
		}
	}
	c := stat.Paired(last, first, 0.95)
	switch {
	case c.Difference.Sides != stat.TwoSided:
		return "Whether the backlog grows cannot be said from so few replications."
	case c.Difference.Low > 0:
		return fmt.Sprintf("It grows: the last third of the window has %s more than the first, so repairs do not keep up or the warm-up was too short.", phrase.With(c.Difference, unit.One))
	case c.Difference.High < 0:
		return "It shrinks over the window: the warm-up may have been too short to settle."
	}
	return "It neither grows nor shrinks beyond chance over the window."
}

// BackOff is the share of router time away from the first state, over time.
func BackOff(r *Result) Picture {
	p := Picture{ID: "back-off-over-time", Title: "How far back-off is wound up, over time", X: r.days(),
		Y:    Axis{Label: "router time in the state", Unit: unit.Share},
		Read: "Share of all routers' time in each state of the SPF back-off but the first, mean over replications; bands hold 95 % of chance. In the first state an event is answered after the first delay, in the last one after the longest."}
	if !r.series() || len(r.Set.Header.States) < 2 {
		p.Without, p.Command = noSeries, r.Made.Reproduce
		return p
	}
	for s := len(r.Set.Header.States) - 1; s > 0; s-- {
		style := Uneasy
		if s < len(r.Set.Header.States)-1 {
			style = Calm
		}
		p.Lines = append(p.Lines, r.overTime(r.Set.Header.States[s], style, func(r *record.Replication) []float32 { return r.Series.States[s] }))
	}
	p.Y.High = min(1, 1.05*top(p.Lines))
	last := r.Set.Header.States[len(r.Set.Header.States)-1]
	worst, at := 0.0, 0
	for k, v := range p.Lines[0].Y {
		if v > worst {
			worst, at = v, k
		}
	}
	peak, where := 0.0, uint32(0)
	for i := range r.Set.Replications {
		for _, v := range r.Set.Replications[i].Series.States[len(r.Set.Header.States)-1] {
			if float64(v) > peak {
				peak, where = float64(v), r.Set.Replications[i].Number
			}
		}
	}
	p.Says = fmt.Sprintf("Routers are in %s for %s of the time. The busiest slot of the mean is around day %s with %s; the worst single slot, in replication %d, had %s. An event at a random moment waits %s, of which %s is beyond timers at rest.",
		last, of(r.Summary, "backoff."+lower(last)), phrase.Words(p.Lines[0].X[at], unit.One), phrase.Words(worst, unit.Share), where, phrase.Words(peak, unit.Share),
		of(r.Summary, "wait_now.mean"), of(r.Summary, "penalty_now.mean"))
	p.Table = &Table{Head: []string{"state", "share of router time"}, Left: 1}
	for _, s := range r.Set.Header.States {
		p.Table.Rows = append(p.Table.Rows, []string{s, of(r.Summary, "backoff."+lower(s))})
	}
	return p
}
