package plot

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"halflight/results/picture"
	"halflight/results/unit"
)

// pictures are one of each sort: lines with bands, marks, bars, grids.
func pictures() []picture.Picture {
	line := picture.Line{Name: "quiet", X: []float64{1e-3, 0.1, 1}, Y: []float64{1, 0.5, 0}, Low: []float64{0.9, 0.4, 0}, High: []float64{1, 0.6, 0.1}, Step: true}
	other := line
	other.Name, other.Style, other.Second, other.Y = "noise", picture.Uneasy, true, []float64{1, 0.9, 0.8}
	axis := picture.Axis{Label: "time since the cut", Unit: unit.Seconds, Log: true, Low: 1e-3, High: 10}
	share := picture.Axis{Label: "cuts not converged yet", Unit: unit.Share, High: 1}
	return []picture.Picture{
		{ID: "lines", Title: "Lines & bands", Says: strings.Repeat("What to conclude from it. ", 9), X: axis, Y: share, Lines: []picture.Line{line, other}},
		{ID: "marks", Title: "Marks", Says: "One is <strong>.", X: axis, Y: share, Keys: []picture.Key{{Name: "settings", Style: picture.Other}},
			Marks: []picture.Mark{{Name: "now", Strong: true, X: 0.1, Y: 0.5, XLow: 0.05, XHigh: 0.2, YLow: 0.4, YHigh: 0.6}, {X: 2, Y: 0.2, Style: picture.Fourth}}},
		{ID: "bars", Title: "Bars", Says: "The first.", X: picture.Axis{Label: "lost seconds per month", Unit: unit.SPerMonth, High: 100},
			Bars: []picture.Bar{{Group: "by kind", Name: "hard", To: 80, Low: 70, High: 95, Text: "80 s (70 to 95 s)"}, {Group: "by phase", Name: strings.Repeat("a long name ", 9), To: 3, Low: 3, High: 3}}},
		{ID: "grid", Title: "Grid", Says: "Dark.", Grids: []picture.Grid{{Rows: []string{"a", "b"}, Columns: []string{"0", "1"}, Unit: unit.Seconds, ColumnsAre: "day",
			Cells: [][]float64{{0, 5}, {-1, 0.02}}}}},
		{ID: "grid", Title: "Grid of the second", Says: "Nothing.", Grids: []picture.Grid{{Rows: []string{"a"}, Columns: []string{"0"}, Cells: [][]float64{{0}}}}},
	}
}

func files(t *testing.T) []File {
	t.Helper()
	out, err := Files(pictures())
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The same picture gives the same bytes, and each a file of its own.
func TestSameBytes(t *testing.T) {
	again := files(t)
	names := map[string]bool{}
	for i, f := range files(t) {
		if !bytes.Equal(f.Data, again[i].Data) {
			t.Errorf("%s: other bytes the second time", f.Name)
		}
		if names[f.Name] {
			t.Errorf("two files are named %s", f.Name)
		}
		names[f.Name] = true
	}
	for _, name := range []string{"lines.svg", "lines.png", "grid.svg", "grid-2.png"} {
		if !names[name] {
			t.Errorf("no %s among %v", name, names)
		}
	}
}

// Files are what they say: XML with every word in it, and an image in which
// something is drawn and nothing runs over the edge.
func TestFilesAreWhole(t *testing.T) {
	for _, f := range files(t) {
		if strings.HasSuffix(f.Name, ".svg") {
			words := ""
			d := xml.NewDecoder(bytes.NewReader(f.Data))
			for {
				token, err := d.Token()
				if err == io.EOF {
					break
				}
				if err != nil {
					t.Fatalf("%s: %v", f.Name, err)
				}
				if text, ok := token.(xml.CharData); ok {
					words += string(text)
				}
			}
			if f.Name == "lines.svg" && (!strings.Contains(words, "Lines & bands") || !strings.Contains(words, "100 ms") || !strings.Contains(words, "noise")) {
				t.Errorf("%s: words %q", f.Name, words)
			}
			continue
		}
		img, err := png.Decode(bytes.NewReader(f.Data))
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		b := img.Bounds()
		if b.Dx() != 1299 {
			t.Errorf("%s: %d dots wide, want 16.5 cm at 200 dots an inch", f.Name, b.Dx())
		}
		drawn := 0
		for y := b.Min.Y; y < b.Max.Y; y++ {
			for x := b.Min.X; x < b.Max.X; x++ {
				if gray(img, x, y) < 250 {
					drawn++
					if x < 10 || x > b.Max.X-10 || y < 10 || y > b.Max.Y-10 {
						t.Fatalf("%s: something is drawn at the edge, %d, %d", f.Name, x, y)
					}
				}
			}
		}
		if drawn < 2000 {
			t.Errorf("%s: %d dots are drawn", f.Name, drawn)
		}
	}
}

func gray(img image.Image, x, y int) int {
	return int(color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y)
}

// In grey print lines differ by dash, marks by shape, and the steps of a grid by
// lightness (CIE 1976 L*, from memory), five or more apart, darker as they rise.
func TestGrayPrint(t *testing.T) {
	seen := map[string]picture.Style{}
	for s := picture.Calm; s <= picture.Faint; s++ {
		c, dash := styled(s)
		var key strings.Builder
		for _, d := range dash {
			fmt.Fprint(&key, d, " ")
		}
		if old, ok := seen[key.String()]; ok {
			t.Errorf("styles %d and %d share a dash", old, s)
		}
		seen[key.String()] = s
		if l := lightness(c); l > 52 {
			t.Errorf("style %d is too pale for paper: L* %.0f", s, l)
		}
		for o := picture.Calm; o < s; o++ {
			if glyph(o, false).Shape == glyph(s, false).Shape {
				t.Errorf("styles %d and %d share a shape", o, s)
			}
		}
	}
	for i := 1; i < len(steps); i++ {
		if a, b := lightness(steps[i-1]), lightness(steps[i]); a-b < 5 {
			t.Errorf("steps %d and %d: L* %.0f and %.0f", i-1, i, a, b)
		}
	}
}

func lightness(c color.NRGBA) float64 {
	linear := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	y := 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
	return 116*math.Cbrt(y) - 16
}
