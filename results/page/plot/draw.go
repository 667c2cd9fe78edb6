package plot

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"halflight/results/picture"
)

// marked are the ticks of an axis, as the page has them.
type marked struct {
	axis picture.Axis
	n    int
}

// Ticks is what gonum asks for.
func (m marked) Ticks(_, _ float64) (out []plot.Tick) {
	for _, t := range m.axis.Ticks(m.n) {
		out = append(out, plot.Tick{Value: t.At, Label: t.Text})
	}
	return out
}

// dress gives an axis its range, words and ticks.
func dress(a *plot.Axis, of picture.Axis, n int) {
	a.Min, a.Max = of.Low, of.High
	a.Tick.Marker = marked{of, n}
	if of.Log {
		a.Scale = plot.LogScale{}
	}
	label, tick := words(9, ink, false), words(8, soft, false)
	label.XAlign, label.YAlign = a.Label.TextStyle.XAlign, a.Label.TextStyle.YAlign
	label.Rotation = a.Label.TextStyle.Rotation
	tick.XAlign, tick.YAlign = a.Tick.Label.XAlign, a.Tick.Label.YAlign
	a.Label.Text, a.Label.TextStyle, a.Tick.Label = of.Label, label, tick
	a.LineStyle.Color, a.Tick.LineStyle.Color = soft, soft
}

// lines draws lines and marks by gonum/plot.
func lines(c draw.Canvas, of *picture.Picture) error {
	copied := *of
	p := &copied
	// The words of the upright axis stand above it, so that nobody turns the page.
	top := say(c, words(9, ink, false), c.Max.Y, p.Y.Label)
	c = draw.Crop(c, 0, 0, 0, top-c.Max.Y-2)
	p.Y.Label = ""
	g := plot.New()
	g.BackgroundColor = nil
	dress(&g.X, p.X, 8)
	dress(&g.Y, p.Y, 5)
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Vertical.Color = rule, rule
	g.Add(grid)
	for i := range p.Lines {
		if l := &p.Lines[i]; len(l.Low) > 0 {
			fill, err := plotter.NewPolygon(around(l))
			if err != nil {
				return err
			}
			shade, _ := styled(l.Style)
			shade.A = 0x28
			fill.Color, fill.LineStyle.Width = shade, 0
			g.Add(fill)
		}
	}
	for i := range p.Lines {
		l := &p.Lines[i]
		line, err := plotter.NewLine(points(l.X, l.Y))
		if err != nil {
			return err
		}
		line.LineStyle = lineOf(l.Style, l.Second)
		if l.Step {
			line.StepStyle = plotter.PostStep
		}
		g.Add(line)
	}
	g.Add(marks{p})
	dress(&g.X, p.X, 8) // what was added may have widened the axes
	dress(&g.Y, p.Y, 5)
	g.Draw(c)
	return nil
}

func points(xs, ys []float64) plotter.XYs {
	out := make(plotter.XYs, len(xs))
	for i := range xs {
		out[i].X, out[i].Y = xs[i], ys[i]
	}
	return out
}

// around is the outline of a line's band.
func around(l *picture.Line) plotter.XYs {
	var out plotter.XYs
	add := func(x, y float64) { out = append(out, plotter.XY{X: x, Y: y}) }
	for i := range l.X {
		if l.Step && i > 0 {
			add(l.X[i], l.High[i-1])
		}
		add(l.X[i], l.High[i])
	}
	for i := len(l.X) - 1; i >= 0; i-- {
		add(l.X[i], l.Low[i])
		if l.Step && i > 0 {
			add(l.X[i], l.Low[i-1])
		}
	}
	return out
}

// marks draws the marks of a picture with their intervals and names.
type marks struct{ p *picture.Picture }

// Plot is what gonum asks for.
func (m marks) Plot(c draw.Canvas, g *plot.Plot) {
	x, y := g.Transforms(&c)
	for i := range m.p.Marks {
		k := &m.p.Marks[i]
		at := vg.Point{X: x(k.X), Y: y(k.Y)}
		line := lineOf(k.Style, false)
		line.Width, line.Dashes = 0.8, nil
		if k.XHigh > k.XLow {
			c.StrokeLine2(line, x(max(k.XLow, m.p.X.Low)), at.Y, x(min(k.XHigh, m.p.X.High)), at.Y)
		}
		if k.YHigh > k.YLow {
			c.StrokeLine2(line, at.X, y(max(k.YLow, m.p.Y.Low)), at.X, y(min(k.YHigh, m.p.Y.High)))
		}
		c.DrawGlyph(glyph(k.Style, k.Strong), at)
		if k.Strong {
			style := words(8.5, ink, true)
			style.YAlign = draw.YBottom
			dx := vg.Length(7)
			if at.X > (c.Min.X+c.Max.X)/2 {
				style.XAlign, dx = draw.XRight, -7
			}
			c.FillText(style, vg.Point{X: at.X + dx, Y: min(c.Max.Y-9, at.Y+3+vg.Length(i%picture.NameRows)*10)}, k.Name)
		}
	}
}

// bars draws a picture's bars, a line each.
func bars(c draw.Canvas, p *picture.Picture) {
	const row, names, values = 14, 205, 122
	name, value, head := words(8.5, ink, false), words(8, ink, false), words(8.5, soft, true)
	value.XAlign = draw.XRight
	left, right := c.Min.X+names, c.Max.X-values
	at := func(v float64) vg.Length {
		return left + vg.Length(p.X.Share(v))*(right-left)
	}
	y := c.Max.Y
	c.FillText(words(8.5, soft, false), vg.Point{X: c.Min.X, Y: y}, p.X.Label)
	y -= row
	group := ""
	for i := range p.Bars {
		b := &p.Bars[i]
		if b.Group != group {
			group = b.Group
			c.FillText(head, vg.Point{X: c.Min.X, Y: y}, group)
			y -= row
		}
		c.FillText(name, vg.Point{X: c.Min.X + 6, Y: y}, fitted(b.Name, name, names-10))
		fill, _ := styled(b.Style)
		from, to := at(min(b.From, b.To)), at(max(b.From, b.To))
		box(c, from, y-row+4, max(0.8, to-from), row-5, fill)
		if b.High > b.Low {
			whisker := draw.LineStyle{Color: ink, Width: 0.8}
			middle := y - row/2 + 1.5
			c.StrokeLine2(whisker, at(b.Low), middle, at(b.High), middle)
			for _, end := range []float64{b.Low, b.High} {
				c.StrokeLine2(whisker, at(end), middle-3, at(end), middle+3)
			}
		}
		c.FillText(value, vg.Point{X: c.Max.X, Y: y}, b.Text)
		y -= row
	}
}

// fitted cuts a text to a width.
func fitted(s string, style draw.TextStyle, wide vg.Length) string {
	for r := []rune(s); style.Width(s) > wide && len(r) > 1; s = string(r) + "..." {
		r = r[:len(r)-1]
	}
	return s
}

// grids draws a picture's cells.
func grids(c draw.Canvas, p *picture.Picture) {
	least := picture.Classes(p.Grids)
	rows := 0
	for i := range p.Grids {
		rows += len(p.Grids[i].Rows)
	}
	name, below := words(8, soft, false), words(8, soft, false)
	name.XAlign, name.YAlign, below.XAlign = draw.XRight, draw.YCenter, draw.XCenter
	left := c.Min.X
	for i := range p.Grids {
		for _, r := range p.Grids[i].Rows {
			left = max(left, c.Min.X+name.Width(r)+6)
		}
	}
	tall := min(26, (c.Max.Y-c.Min.Y-vg.Length(28*len(p.Grids)))/vg.Length(rows))
	y := c.Max.Y
	for i := range p.Grids {
		g := &p.Grids[i]
		wide := min(44, (c.Max.X-left)/vg.Length(len(g.Columns)))
		for r := range g.Cells {
			if len(g.Rows) <= 12 || r%max(1, len(g.Rows)/6) == 0 {
				c.FillText(name, vg.Point{X: left - 4, Y: y - tall/2}, g.Rows[r])
			}
			for k, v := range g.Cells[r] {
				if v >= 0 {
					box(c, left+wide*vg.Length(k)+0.4, y-tall+0.4, wide-0.8, tall-0.8, steps[picture.Class(v, least)])
				}
			}
			y -= tall
		}
		for k, text := range g.Columns {
			if k%max(1, len(g.Columns)/15) == 0 {
				c.FillText(below, vg.Point{X: left + wide*(vg.Length(k)+0.5), Y: y - 3}, text)
			}
		}
		c.FillText(below, vg.Point{X: left + wide*vg.Length(len(g.Columns))/2, Y: y - 14}, g.ColumnsAre)
		y -= 28
	}
}
