package picture

import (
	"fmt"

	"halflight/results/answers"
	"halflight/results/phrase"
	"halflight/results/unit"
)

// Telemetry is what instruments cost in a year against the degraded leaf-hours
// they avoid, with the line from which on they pay.
func Telemetry(r *Result) Picture {
	p := Picture{ID: "telemetry", Title: "Which telemetry pays: yearly cost against degraded leaf-hours avoided",
		Read: "Each mark is a set of instruments against none. What lies above the line pays at the price that the scenario gives a degraded leaf-hour; bars hold the stated level for all sets at once."}
	w := r.Answers.Weigh
	if w == nil || len(w.Alone) == 0 {
		p.Without, p.Command = "no weighing of telemetry is in the folder", r.again("weigh", "")
		return p
	}
	const year = 365.0 / 30
	money := "a year"
	if w.Currency != "" {
		money = w.Currency + " a year"
	}
	p.X = Axis{Label: "cost of the instruments, " + money, Unit: unit.One}
	p.Y = Axis{Label: "degraded leaf-hours of " + w.Class + " avoided a year", Unit: unit.One}
	p.Table = &Table{Head: []string{"set", "cost, " + money, "leaf-hours avoided a year", "saving, " + money}, Left: 1}
	var pays []string
	add := func(l *answers.Line, style Style, strong bool) {
		low, high := l.Hours.Interval()
		m := Mark{Name: l.Name, Style: style, Strong: strong, X: l.CostSelf, XLow: l.CostSelf, XHigh: l.CostSelf, Y: year * l.Hours.Value, YLow: year * low, YHigh: year * high}
		p.Marks = append(p.Marks, m)
		p.X.High, p.Y.High, p.Y.Low = max(p.X.High, 1.15*m.X), max(p.Y.High, 1.05*m.YHigh), min(p.Y.Low, 1.05*m.YLow)
		saveLow, saveHigh := l.Saving.Interval()
		p.Table.Rows = append(p.Table.Rows, []string{l.Name, phrase.Words(l.CostSelf, unit.One), fmt.Sprintf("%s (%s)", phrase.Words(m.Y, unit.One), phrase.Range(m.YLow, m.YHigh, unit.One)),
			fmt.Sprintf("%s (%s)", phrase.Words(l.Saving.Value, unit.One), phrase.Range(saveLow, saveHigh, unit.One))})
		if l.Saving.Decided && l.Saving.Value > 0 {
			pays = append(pays, l.Name)
		}
	}
	for i := range w.Alone {
		add(&w.Alone[i], Calm, true)
	}
	for i := range w.Bundles {
		add(&w.Bundles[i], Other, true)
	}
	add(&w.Everything, Fourth, true)
	p.Keys = []Key{{Name: "one instrument", Style: Calm}, {Name: "all of them", Style: Fourth}}
	if len(w.Bundles) > 0 {
		p.Keys = append(p.Keys, Key{Name: "a bundle", Style: Other})
	}
	if p.X.High == 0 {
		p.X.High = 1
	}
	if p.Y.High <= p.Y.Low {
		p.Y.High = p.Y.Low + 1
	}
	if w.LeafHour > 0 {
		end := min(p.X.High, p.Y.High*w.LeafHour)
		p.Lines = []Line{{Name: fmt.Sprintf("break-even at %s a leaf-hour", phrase.Words(w.LeafHour, unit.One)), Style: Uneasy, X: []float64{0, end}, Y: []float64{0, end / w.LeafHour}}}
	}
	p.Says = "No set pays beyond doubt at this price of a degraded leaf-hour."
	if len(w.Sentences) > 0 {
		p.Says = w.Sentences[0]
	} else if len(pays) > 0 {
		p.Says = fmt.Sprintf("Beyond doubt %s pays at this price of a degraded leaf-hour.", pays[0])
	}
	return p
}
