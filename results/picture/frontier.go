package picture

import (
	"math"
	"slices"

	"halflight/results/phrase"
	"halflight/results/unit"
)

// Frontier is p99 convergence against the worst 10-second busy share, one line a
// flap rate, the present setting marked.
func Frontier(r *Result) Picture {
	p := Picture{ID: "back-off-frontier", Title: "What back-off trades: convergence against the worst 10 seconds of work",
		X:    Axis{Label: "worst share of 10 s that a router computed or wrote", Unit: unit.Share},
		Y:    Axis{Label: "p99 convergence of cuts, mean", Unit: unit.Seconds, Log: true, Low: math.Inf(1)},
		Read: "One line a flap rate; each place on it is a setting of the timers, played on replications that the search had not seen. Down is faster, left is less work. The large marks are the present setting and the best one; no interval is kept for a single setting of the curve."}
	t := r.Answers.Tune
	if t == nil || len(t.Curve) == 0 {
		p.Without, p.Command = "no search over timers is in the folder", r.again("tune", "")
		return p
	}
	p.Table = &Table{Head: []string{"condition", "setting", "busy", "p99 convergence", "avoidable loss"}, Left: 2}
	style, c := Calm, -1 // the curve has the flap rates only, in their order
	for _, condition := range t.Conditions {
		if condition.Storm || style > Fourth {
			continue
		}
		c++
		l := Line{Name: condition.Name, Style: style}
		type place struct{ x, y float64 }
		var places []place
		for _, s := range t.Curve {
			if c >= len(s.Means) || s.Means[c].P99 <= 0 {
				continue
			}
			m := s.Means[c]
			places = append(places, place{m.Busy, m.P99})
			p.X.High, p.Y.Low, p.Y.High = max(p.X.High, 1.1*m.Busy), min(p.Y.Low, m.P99), max(p.Y.High, m.P99)
			p.Table.Rows = append(p.Table.Rows, []string{condition.Name, s.Label, phrase.Words(m.Busy, unit.Share), phrase.Words(m.P99, unit.Seconds), phrase.Words(m.Loss, unit.SPerMonth)})
			named := s.Label == "present" || s.Label == "best"
			mark := Mark{Name: s.Label, Style: style, Strong: named, X: m.Busy, XLow: m.Busy, XHigh: m.Busy, Y: m.P99, YLow: m.P99, YHigh: m.P99}
			if !named {
				mark.Name = condition.Name + ", setting " + s.Label
			}
			p.Marks = append(p.Marks, mark)
		}
		slices.SortFunc(places, func(a, b place) int {
			switch {
			case a.x < b.x || a.x == b.x && a.y > b.y:
				return -1
			case a == b:
				return 0
			}
			return 1
		})
		for _, at := range places {
			l.X, l.Y = append(l.X, at.x), append(l.Y, at.y)
		}
		if len(places) > 0 {
			p.Lines = append(p.Lines, l)
			style++
		}
	}
	if len(p.Lines) == 0 {
		p.Without, p.Command = "the search over timers met no cut", r.again("tune", " --set horizon=90d")
		return p
	}
	p.Y.Low, p.Y.High = decade(p.Y.Low, math.Floor), decade(p.Y.High*1.0001, math.Ceil)
	if p.X.High == 0 {
		p.X.High = 1
	}
	if p.Says = "The search says nothing more."; len(t.Sentences) > 0 {
		p.Says = t.Sentences[0]
	}
	return p
}
