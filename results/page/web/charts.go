package web

import (
	"math"

	"halflight/results/picture"
)

// chartData is what the page's script needs to make a chart of a picture's lines.
type chartData struct {
	X      axisData     `json:"x"`
	Y      axisData     `json:"y"`
	Lines  []lineData   `json:"lines"`
	Points [][]*float64 `json:"data"` // x, then for each line its value, and its limits where it has a band
}

type axisData struct {
	Label string  `json:"label"`
	Unit  string  `json:"unit"`
	Log   bool    `json:"log"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`

	At   []float64 `json:"at"` // ticks, and their words
	Text []string  `json:"text"`
}

type lineData struct {
	Name   string `json:"name"`
	Style  int    `json:"style"`
	Second bool   `json:"second"`
	Step   bool   `json:"step"`
	Band   bool   `json:"band"`
}

// gridPoints is how many places a chart is sampled at where its lines do not
// share their own.
const gridPoints = 300

// chartOf is the chart of a picture's lines; nil without any, or with marks,
// which have no place in it.
func chartOf(p *picture.Picture) *chartData {
	if len(p.Lines) == 0 || len(p.Marks) > 0 {
		return nil
	}
	c := &chartData{X: axisOf(p.X, 8), Y: axisOf(p.Y, 5)}
	xs := places(p)
	c.Points = append(c.Points, pointers(xs))
	for i := range p.Lines {
		l := &p.Lines[i]
		c.Lines = append(c.Lines, lineData{l.Name, int(l.Style), l.Second, l.Step, len(l.Low) > 0})
		c.Points = append(c.Points, sampled(l, l.Y, xs))
		if len(l.Low) > 0 {
			c.Points = append(c.Points, sampled(l, l.Low, xs), sampled(l, l.High, xs))
		}
	}
	return c
}

func axisOf(a picture.Axis, n int) axisData {
	out := axisData{Label: a.Label, Unit: a.Unit, Log: a.Log, Low: a.Low, High: a.High}
	for _, t := range a.Ticks(n) {
		out.At, out.Text = append(out.At, t.At), append(out.Text, t.Text)
	}
	return out
}

// places are the points that all lines share, or else a grid of them.
func places(p *picture.Picture) []float64 {
	same := true
	for i := range p.Lines {
		same = same && len(p.Lines[i].X) == len(p.Lines[0].X)
		for k := 0; same && k < len(p.Lines[i].X); k++ {
			same = p.Lines[i].X[k] == p.Lines[0].X[k]
		}
	}
	if same {
		return p.Lines[0].X
	}
	out := make([]float64, gridPoints)
	for k := range out {
		share := float64(k) / (gridPoints - 1)
		if p.X.Log {
			out[k] = p.X.Low * math.Pow(p.X.High/p.X.Low, share)
		} else {
			out[k] = p.X.Low + share*(p.X.High-p.X.Low)
		}
	}
	return out
}

// sampled is a line's values at some places: a step holds until the next, others
// are joined; nil outside the line.
func sampled(l *picture.Line, values, xs []float64) []*float64 {
	out := make([]*float64, len(xs))
	k := 0
	for i, x := range xs {
		for k+1 < len(l.X) && l.X[k+1] <= x {
			k++
		}
		switch {
		case x < l.X[0] || (!l.Step && x > l.X[len(l.X)-1]):
			continue
		case l.Step || k+1 == len(l.X):
			v := rounded(values[k], 4)
			out[i] = &v
		default:
			v := rounded(values[k]+(values[k+1]-values[k])*(x-l.X[k])/(l.X[k+1]-l.X[k]), 4)
			out[i] = &v
		}
	}
	return out
}

func pointers(xs []float64) []*float64 {
	out := make([]*float64, len(xs))
	for i := range xs {
		v, _ := math.Modf(xs[i] * 1e9)
		v /= 1e9
		if xs[i] < 1e-6 {
			v = xs[i]
		}
		out[i] = &v
	}
	return out
}
