package plot

import (
	"bytes"
	"fmt"
	"image/color"
	"strings"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"halflight/results/picture"
)

// The size of a file: as wide as the text of a sheet of A4.
const (
	width  = 16.5 * vg.Centimeter
	height = 11 * vg.Centimeter
	dots   = 200 // per inch, of a PNG
	margin = 8
)

// SVG draws a picture that is there.
func SVG(p *picture.Picture) ([]byte, error) {
	c := vgsvg.New(width, tall(p))
	if err := sheet(draw.New(c), p); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	_, err := c.WriteTo(&out)
	return out.Bytes(), err
}

// PNG draws a picture that is there.
func PNG(p *picture.Picture) ([]byte, error) {
	c := vgimg.NewWith(vgimg.UseWH(width, tall(p)), vgimg.UseDPI(dots), vgimg.UseBackgroundColor(color.White))
	if err := sheet(draw.New(c), p); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	_, err := vgimg.PngCanvas{Canvas: c}.WriteTo(&out)
	return out.Bytes(), err
}

// tall is the height of a file: bars need a line each.
func tall(p *picture.Picture) vg.Length {
	if n := len(p.Bars); n > 0 {
		return vg.Length(95+14*(n+3)) + margin
	}
	return height
}

var (
	ink  = color.NRGBA{0x1d, 0x25, 0x30, 0xff}
	soft = color.NRGBA{0x50, 0x5a, 0x67, 0xff}
	rule = color.NRGBA{0xd9, 0xd4, 0xc7, 0xff}
)

// styled is the colour of a style, its dash, and the part of ink in it: they
// differ in lightness as well, and no two lines share a dash.
func styled(s picture.Style) (color.NRGBA, []vg.Length) {
	switch s {
	case picture.Uneasy:
		return color.NRGBA{0xb3, 0x52, 0x00, 0xff}, []vg.Length{6, 3}
	case picture.Other:
		return color.NRGBA{0x0b, 0x6b, 0x5d, 0xff}, []vg.Length{1.5, 2}
	case picture.Fourth:
		return color.NRGBA{0x7b, 0x3c, 0x86, 0xff}, []vg.Length{8, 2, 1.5, 2}
	case picture.Faint:
		return color.NRGBA{0x64, 0x6c, 0x78, 0xff}, []vg.Length{1, 1}
	}
	return color.NRGBA{0x1b, 0x5a, 0x94, 0xff}, nil
}

// lineOf is how a line of a style is drawn; that of the second of two results is
// wide and pale.
func lineOf(s picture.Style, second bool) draw.LineStyle {
	c, dash := styled(s)
	if second {
		c.A = 0x80
		return draw.LineStyle{Color: c, Width: 3.4, Dashes: dash}
	}
	return draw.LineStyle{Color: c, Width: 1.5, Dashes: dash}
}

// words is a style of text.
func words(size float64, c color.Color, bold bool) text.Style {
	f := font.Font{Typeface: "Liberation", Variant: "Sans"}
	if bold {
		f.Weight = xfont.WeightBold
	}
	return text.Style{Color: c, Font: font.From(f, vg.Length(size)), XAlign: draw.XLeft, YAlign: draw.YTop, Handler: text.Plain{Fonts: font.DefaultCache}}
}

// sheet draws title, conclusion and legend, and the picture below them.
func sheet(c draw.Canvas, p *picture.Picture) error {
	c = draw.Crop(c, margin, -margin, margin, -margin)
	y := c.Max.Y
	y = say(c, words(12, ink, true), y, p.Title)
	y = say(c, words(9, ink, false), y-2, p.Says)
	y = legend(c, p, y-4)
	rest := draw.Crop(c, 0, 0, 0, y-c.Max.Y-4)
	switch {
	case len(p.Bars) > 0:
		bars(rest, p)
		return nil
	case len(p.Grids) > 0:
		grids(rest, p)
		return nil
	}
	return lines(rest, p)
}

// say writes a text in as many lines as it needs and returns where it ends.
func say(c draw.Canvas, s text.Style, y vg.Length, what string) vg.Length {
	line := ""
	flush := func() {
		c.FillText(s, vg.Point{X: c.Min.X, Y: y}, line)
		y -= s.Font.Size * 1.3
	}
	for _, word := range strings.Fields(what) {
		if longer := strings.TrimSpace(line + " " + word); line != "" && s.Width(longer) > c.Max.X-c.Min.X {
			flush()
			line = word
		} else {
			line = longer
		}
	}
	if line != "" {
		flush()
	}
	return y
}

// sample is what a legend shows beside a name.
type sample struct {
	name string
	draw func(c draw.Canvas, at vg.Point)
}

const sampleWidth = 26

// legend draws the samples of all lines and keys, row by row.
func legend(c draw.Canvas, p *picture.Picture, y vg.Length) vg.Length {
	style := words(8.5, ink, false)
	x, any := c.Min.X, false
	for _, s := range samples(p) {
		wide := sampleWidth + 6 + style.Width(s.name) + 16
		if x > c.Min.X && x+wide > c.Max.X+16 {
			x, y = c.Min.X, y-13
		}
		s.draw(c, vg.Point{X: x, Y: y - 5})
		c.FillText(style, vg.Point{X: x + sampleWidth + 6, Y: y}, s.name)
		x, any = x+wide, true
	}
	if any {
		y -= 13
	}
	return y
}

func samples(p *picture.Picture) (out []sample) {
	for _, l := range p.Lines {
		out = append(out, sample{l.Name, func(c draw.Canvas, at vg.Point) {
			c.StrokeLine2(lineOf(l.Style, l.Second), at.X, at.Y, at.X+sampleWidth, at.Y)
		}})
	}
	for _, k := range p.Keys {
		out = append(out, sample{k.Name, func(c draw.Canvas, at vg.Point) {
			c.DrawGlyph(glyph(k.Style, false), vg.Point{X: at.X + sampleWidth/2, Y: at.Y})
		}})
	}
	for i, name := range picture.Steps(p.Grids) {
		out = append(out, sample{name, func(c draw.Canvas, at vg.Point) {
			box(c, at.X+4, at.Y-4, 18, 8, steps[i])
		}})
	}
	return out
}

func glyph(s picture.Style, strong bool) draw.GlyphStyle {
	c, _ := styled(s)
	g := draw.GlyphStyle{Color: c, Radius: 3, Shape: draw.CircleGlyph{}}
	switch s {
	case picture.Uneasy:
		g.Shape = draw.TriangleGlyph{}
	case picture.Other:
		g.Shape = draw.BoxGlyph{}
	case picture.Fourth:
		g.Shape = draw.PyramidGlyph{}
	case picture.Faint:
		g.Shape = draw.RingGlyph{}
	}
	if strong {
		g.Radius = 5
	}
	return g
}

// steps are the colours of a grid, light to dark.
var steps = []color.NRGBA{{0xf4, 0xf2, 0xea, 0xff}, {0xf2, 0xdd, 0xb0, 0xff}, {0xe4, 0xb2, 0x5f, 0xff}, {0xc0, 0x7a, 0x1f, 0xff},
	{0x8a, 0x49, 0x0e, 0xff}, {0x4a, 0x23, 0x05, 0xff}}

func box(c draw.Canvas, x, y, w, h vg.Length, fill color.Color) {
	c.FillPolygon(fill, []vg.Point{{X: x, Y: y}, {X: x + w, Y: y}, {X: x + w, Y: y + h}, {X: x, Y: y + h}})
}

// File is one file of a picture.
type File struct {
	Name string
	Data []byte
}

// Files draws pictures, each as SVG and as PNG. Where two results have one of a
// kind each, the second has -2 in its name.
func Files(list []picture.Picture) (out []File, err error) {
	seen := map[string]int{}
	for i := range list {
		p := &list[i]
		name := p.ID
		if seen[p.ID]++; seen[p.ID] > 1 {
			name = fmt.Sprintf("%s-%d", p.ID, seen[p.ID])
		}
		for _, form := range []struct {
			ending string
			draw   func(*picture.Picture) ([]byte, error)
		}{{".svg", SVG}, {".png", PNG}} {
			data, err := form.draw(p)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
			out = append(out, File{name + form.ending, data})
		}
	}
	return out, nil
}
