package picture

import (
	"fmt"
	"halflight/results/answers"
	"halflight/results/phrase"
	"math"
	"strings"
)

// inputsMost is how many inputs a picture shows.
const inputsMost = 12

// Inputs is how far a measure moves with each unsure input, one at a time over its
// documented range, coloured by grade.
func Inputs(r *Result) Picture {
	p := Picture{ID: "unsure-inputs", Title: "How far the answer hangs on each unsure input",
		Read: "Each bar goes from the least to the largest value that the measure takes as one input goes through its documented range, all else as it is. The letter is the grade of the input: D rests on an assumption alone (and has the colour of what is uneasy), C on memory, A and B on a source."}
	s := r.Answers.Sweep
	if s == nil || len(s.Inputs) == 0 || len(s.Inputs[0].Rows) == 0 {
		p.Without, p.Command = "no sweep over the unsure inputs is in the folder", r.again("sweep", "")
		return p
	}
	t := s.Inputs[0]
	if !t.Seen() {
		p.Without, p.Command = "the sweep saw nothing of "+t.Measure+" in any setting; a longer horizon would", r.again("sweep", "")
		return p
	}
	p.Title += ": " + t.Measure
	p.X = Axis{Label: t.Measure, Unit: t.Unit, Low: math.Inf(1), High: math.Inf(-1)}
	p.Table = &Table{Head: []string{"input", "grade", "from", "to", "at the low end", "at the high end", "beyond chance"}, Left: 4}
	for _, row := range t.Rows {
		low, high := at(row.AtLow, t.Present), at(row.AtHigh, t.Present)
		from, to := min(low, high), max(low, high)
		if t.Present != nil {
			from, to = min(from, *t.Present), max(to, *t.Present)
		}
		sure := "no"
		if row.Beyond {
			sure = "yes"
		}
		p.Table.Rows = append(p.Table.Rows, []string{row.Key, row.Grade, row.Low, row.High, row.AtLow.Words(t.Unit), row.AtHigh.Words(t.Unit), sure})
		if len(p.Bars) == inputsMost {
			continue
		}
		b := Bar{Name: row.Key + " (" + row.Grade + ")", Style: gradeStyle(row.Grade), From: from, To: to, Low: to, High: to, Text: phrase.Range(from, to, t.Unit)}
		if !row.Beyond {
			b.Text += ", within chance"
		}
		p.Bars = append(p.Bars, b)
		p.X.Low, p.X.High = min(p.X.Low, from), max(p.X.High, to)
	}
	if p.X.Low > 0 && p.X.High > 30*p.X.Low {
		p.X.Log = true
		p.X.Label += "; factors of ten are equally far apart"
	} else {
		p.X.Low = min(0, p.X.Low)
	}
	if p.X.High <= p.X.Low {
		p.X.High = p.X.Low + 1
	}
	p.Says = t.Sentence
	if p.Says == "" {
		p.Says = fmt.Sprintf("%s moves most with %s.", capital(t.Measure), t.Rows[0].Key)
	}
	return p
}

// at is the value of a point, or the present one.
func at(p answers.Point, present *float64) float64 {
	switch {
	case p.Value != nil:
		return *p.Value
	case present != nil:
		return *present
	}
	return 0
}

// gradeStyle is the style of an input's grade, the worst of several.
func gradeStyle(grade string) Style {
	switch {
	case strings.Contains(grade, "D"):
		return Uneasy
	case strings.Contains(grade, "CP"), strings.Contains(grade, "C"):
		return Fourth
	case grade == "":
		return Faint
	}
	return Calm
}
