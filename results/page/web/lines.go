package web

import (
	"fmt"
	"html/template"
	"strings"

	"halflight/results/picture"
)

// The drawing of lines and marks, in its own units: about a pixel each.
const (
	chartWidth  = 720.0
	chartHeight = 330.0
	chartLeft   = 70.0
	chartRight  = 14.0
	chartTop    = 12.0
	chartBottom = 48.0
)

// class is that of a style in the style sheet.
func class(s picture.Style, second bool) string {
	if second {
		return fmt.Sprintf("k%d other", s)
	}
	return fmt.Sprintf("k%d", s)
}

func esc(s string) string { return template.HTMLEscapeString(s) }

// lines draws lines and marks under their axes.
func lines(p *picture.Picture) template.HTML {
	x := scale{p.X, chartLeft, chartWidth - chartRight}
	y := scale{p.Y, chartHeight - chartBottom, chartTop}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart" viewBox="0 0 %g %g" role="img" aria-label="%s">`, chartWidth, chartHeight, esc(p.Title+". "+p.Says))
	frame(&b, p, x, y)
	for i := range p.Lines {
		band(&b, &p.Lines[i], x, y)
	}
	for i := range p.Lines {
		l := &p.Lines[i]
		fmt.Fprintf(&b, `<path class="line %s" d="%s"/>`, class(l.Style, l.Second), way(l.X, l.Y, l.Step, x, y))
	}
	for i := range p.Marks {
		mark(&b, &p.Marks[i], i, x, y)
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// frame draws grid lines, ticks and the words of both axes.
func frame(b *strings.Builder, p *picture.Picture, x, y scale) {
	b.WriteString(`<g class="frame">`)
	for _, t := range p.Y.Ticks(5) {
		at := px(y.at(t.At))
		fmt.Fprintf(b, `<path d="M%s %sH%s"/><text x="%s" y="%s" dy=".35em" text-anchor="end">%s</text>`,
			px(x.from), at, px(x.to), px(x.from-7), at, esc(t.Text))
	}
	for _, t := range p.X.Ticks(8) {
		at := px(x.at(t.At))
		fmt.Fprintf(b, `<path d="M%s %sV%s"/><text x="%s" y="%s" text-anchor="middle">%s</text>`,
			at, px(y.from), px(y.to), at, px(y.from+17), esc(t.Text))
	}
	fmt.Fprintf(b, `</g><g class="axis"><path d="M%s %sH%s"/><text x="%s" y="%s" text-anchor="middle">%s</text><text transform="translate(13 %s) rotate(-90)" text-anchor="middle">%s</text></g>`,
		px(x.from), px(y.from), px(x.to), px((x.from+x.to)/2), px(chartHeight-8), esc(p.X.Label), px((y.from+y.to)/2), esc(p.Y.Label))
}

// way is a path along points.
func way(xs, ys []float64, step bool, x, y scale) string {
	var b strings.Builder
	last := ""
	for i := range xs {
		px, py := px(x.at(xs[i])), px(y.at(ys[i]))
		switch {
		case i == 0:
			fmt.Fprintf(&b, "M%s %s", px, py)
		case step && py == last:
			if i == len(xs)-1 || i+1 < len(xs) {
				fmt.Fprintf(&b, "H%s", px)
			}
		case step:
			fmt.Fprintf(&b, "H%sV%s", px, py)
		default:
			fmt.Fprintf(&b, "L%s %s", px, py)
		}
		last = py
	}
	return b.String()
}

// band draws what lies between the limits of a line.
func band(b *strings.Builder, l *picture.Line, x, y scale) {
	if len(l.Low) == 0 {
		return
	}
	up := way(l.X, l.High, l.Step, x, y)
	var down strings.Builder
	for i := len(l.X) - 1; i >= 0; i-- {
		at := l.X[i]
		if l.Step && i+1 < len(l.X) {
			fmt.Fprintf(&down, "V%s", px(y.at(l.Low[i])))
			fmt.Fprintf(&down, "H%s", px(x.at(at)))
			continue
		}
		fmt.Fprintf(&down, "L%s %s", px(x.at(at)), px(y.at(l.Low[i])))
	}
	fmt.Fprintf(b, `<path class="band %s" d="%s%sZ"/>`, class(l.Style, l.Second), up, down.String())
}

// mark draws a point with its intervals and its name.
func mark(b *strings.Builder, m *picture.Mark, nth int, x, y scale) {
	cx, cy := x.at(m.X), y.at(m.Y)
	fmt.Fprintf(b, `<g class="mark %s"><title>%s</title>`, class(m.Style, m.Second), esc(m.Name))
	if m.XHigh > m.XLow {
		fmt.Fprintf(b, `<path d="M%s %sH%s"/>`, px(x.at(m.XLow)), px(cy), px(x.at(m.XHigh)))
	}
	if m.YHigh > m.YLow {
		fmt.Fprintf(b, `<path d="M%s %sV%s"/>`, px(cx), px(y.at(m.YLow)), px(y.at(m.YHigh)))
	}
	b.WriteString(shape(m.Style, cx, cy, m.Strong))
	if m.Strong {
		anchor, dx := "start", 10.0
		if cx > (x.from+x.to)/2 {
			anchor, dx = "end", -10
		}
		above := float64(nth%picture.NameRows)*14 + 8 // names of neighbours stand at different heights
		fmt.Fprintf(b, `<text x="%s" y="%s" text-anchor="%s">%s</text>`, px(cx+dx), px(max(y.to+10, cy-above)), anchor, esc(m.Name))
	}
	b.WriteString("</g>")
}

// shape is another one for each style, so that colour is not needed.
func shape(s picture.Style, x, y float64, strong bool) string {
	r := 4.0
	if strong {
		r = 6.5
	}
	switch s {
	case picture.Uneasy:
		return fmt.Sprintf(`<path d="M%s %sL%s %sL%s %sZ"/>`, px(x), px(y-r*1.2), px(x+r*1.1), px(y+r*0.8), px(x-r*1.1), px(y+r*0.8))
	case picture.Other:
		return fmt.Sprintf(`<rect x="%s" y="%s" width="%s" height="%s"/>`, px(x-r*0.9), px(y-r*0.9), px(1.8*r), px(1.8*r))
	case picture.Fourth:
		return fmt.Sprintf(`<path d="M%s %sL%s %sL%s %sL%s %sZ"/>`, px(x), px(y-r*1.3), px(x+r*1.3), px(y), px(x), px(y+r*1.3), px(x-r*1.3), px(y))
	}
	return fmt.Sprintf(`<circle cx="%s" cy="%s" r="%s"/>`, px(x), px(y), px(r))
}

// key is the legend: a sample of each line, and of each kind of mark that has a
// name for it.
type key struct {
	Sample template.HTML
	Name   string
	Line   int // its number among the lines, for the reading; -1: none
}

func keys(p *picture.Picture) (out []key) {
	for i := range p.Lines {
		l := &p.Lines[i]
		sample := fmt.Sprintf(`<svg class="sample" viewBox="0 0 34 12" aria-hidden="true"><path class="line %s" d="M1 6H33"/></svg>`, class(l.Style, l.Second))
		out = append(out, key{template.HTML(sample), l.Name, i})
	}
	for _, k := range p.Keys {
		sample := fmt.Sprintf(`<svg class="sample" viewBox="0 0 34 12" aria-hidden="true"><g class="mark %s">%s</g></svg>`, class(k.Style, k.Second), shape(k.Style, 17, 6, false))
		out = append(out, key{template.HTML(sample), k.Name, -1})
	}
	return out
}
