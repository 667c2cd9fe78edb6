package picture

import (
	"fmt"
	"math"
	"strings"

	"halflight/results"
	"halflight/results/phrase"
	"halflight/results/stat"
	"halflight/results/unit"
)

// Axis is one axis of a picture.
type Axis struct {
	Label     string // what, in which sense
	Unit      string // of results/unit
	Log       bool   // decades are equally far apart; Low is above 0
	Low, High float64
}

// Style tells lines, marks and bars apart: a colour, a dash and a shape, so that
// grey print and colour-blind readers can too.
type Style int

// The styles by meaning. Everything drawn with one means the same everywhere.
const (
	Calm   Style = iota // quiet, seen, the present setting
	Uneasy              // noise, unseen
	Other               // a third thing
	Fourth              // and so on
	Faint               // beside the point
)

// Line is a curve, with a band around it where Low and High are given.
type Line struct {
	Name      string
	Style     Style
	X, Y      []float64
	Low, High []float64
	Step      bool // Y holds until the next X
	Second    bool // of the second of two results
}

// NameRows is at how many heights names of marks stand, in turn.
const NameRows = 4

// Mark is a point with an interval in either direction; equal limits: none.
type Mark struct {
	Name                     string
	Style                    Style
	X, Y                     float64
	XLow, XHigh, YLow, YHigh float64
	Strong                   bool // the one that the picture is about
	Second                   bool
}

// Key says what a style of marks means.
type Key struct {
	Name   string
	Style  Style
	Second bool
}

// Bar is an amount with its name.
type Bar struct {
	Group     string // bars of one group follow one another
	Name      string
	Style     Style
	From, To  float64 // where it begins and ends
	Low, High float64 // limits of To; equal: none
	Text      string  // value and interval
	Second    bool
}

// Grid is amounts by row and column; 0 is nothing, below 0 is no cell.
type Grid struct {
	Name          string
	Rows, Columns []string
	Cells         [][]float64 // by row, then column
	Unit          string
	ColumnsAre    string // what a column is, in a word
}

// Table is rows of text.
type Table struct {
	Head []string
	Rows [][]string
	Left int // columns that are words, from the left; the rest are figures
}

// Picture is one picture, or the reason why there is none.
type Picture struct {
	ID    string // of the file and of the place on the page
	Title string
	Says  string // what to conclude
	Read  string // how to read it
	X, Y  Axis
	Lines []Line
	Marks []Mark
	Keys  []Key // what the styles of marks mean
	Bars  []Bar
	Grids []Grid
	Table *Table // the figures behind it

	Without string // why there is nothing to see
	Command string // what makes it
}

// There reports whether there is something to see.
func (p *Picture) There() bool { return p.Without == "" }

// classes is how many steps of colour a grid has, each ten times the one before.
const classes = 5

// Classes returns the least values of the classes of cells, rising, each ten
// times the one before, the last one holding the largest cell. It is empty
// without a cell above 0.
func Classes(grids []Grid) []float64 {
	most := 0.0
	for _, g := range grids {
		for _, row := range g.Cells {
			for _, v := range row {
				most = max(most, v)
			}
		}
	}
	if most == 0 {
		return nil
	}
	top := math.Pow(10, math.Floor(math.Log10(most)*(1+1e-12)))
	var out []float64
	for k := classes - 1; k > 0; k-- {
		out = append(out, top/math.Pow(10, float64(k)))
	}
	return append(out, top)
}

// Steps are the words for the classes of cells, nothing first; none without
// grids.
func Steps(grids []Grid) []string {
	least := Classes(grids)
	if len(least) == 0 {
		return nil
	}
	out := []string{"nothing", "below " + bound(least[1], grids[0].Unit)}
	for _, v := range least[1:] {
		out = append(out, "from "+bound(v, grids[0].Unit)+" on")
	}
	return out
}

// bound writes a power of ten so that it looks like one.
func bound(v float64, in string) string {
	if (in == unit.Seconds || in == unit.SPerMonth) && v >= 100 {
		return fmt.Sprintf("%.0f s", v)
	}
	return phrase.Limit(v, in)
}

// Class returns the class of a cell, from 1; 0 of nothing.
func Class(v float64, least []float64) int {
	if v <= 0 {
		return 0
	}
	for k := len(least) - 1; k > 0; k-- {
		if v >= least[k] {
			return k + 1
		}
	}
	return 1
}

// of writes a measure of a summary with its interval.
func of(s *results.Summary, name string) string {
	m, ok := s.Find(name)
	if !ok {
		return "not known"
	}
	return phrase.With(m.Estimate, m.Unit)
}

// known returns the estimate of a measure that has a value.
func known(s *results.Summary, name string) (stat.Estimate, bool) {
	m, ok := s.Find(name)
	if !ok || !m.Available() {
		return stat.Estimate{}, false
	}
	return m.Estimate, true
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
