package words

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Figure writes a number with at most n significant digits, digits grouped by
// three, and powers of ten for what is very small or large.
func Figure(v float64, n int) string {
	a := math.Abs(v)
	switch {
	case math.IsInf(v, 0):
		return "never"
	case a == 0:
		return "0"
	case a < 1e-3 || a >= 1e9:
		text := strconv.FormatFloat(v, 'e', n-1, 64)
		return strings.NewReplacer("e-0", "e-", "e+0", "e", "e+", "e").Replace(text)
	}
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', n-1, 64), 64)
	if math.Abs(rounded) >= 1000 {
		return Grouped(int64(math.Round(v)))
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// Grouped writes a whole number with its digits grouped by three.
func Grouped(n int64) string {
	text := strconv.FormatInt(n, 10)
	for i := len(text) - 3; i > 0 && text[i-1] != '-'; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	return text
}

// Share writes a share as a percentage of three significant digits.
func Share(v float64) string { return Figure(v*100, 3) + " %" }

// Period writes a time given in hours in a unit a reader can picture.
func Period(h float64) string {
	for _, u := range []struct {
		name        string
		hours, most float64 // used below most
	}{
		{"ms", 1 / 3.6e6, 1 / 3600.0}, {"s", 1 / 3600.0, 1 / 30.0}, {"min", 1 / 60.0, 2}, {"h", 1, 10 * 24}, {"d", 24, 2 * 8760},
		{"y", 8760, math.Inf(1)},
	} {
		if h < u.most {
			return Figure(h/u.hours, 4) + " " + u.name
		}
	}
	return "never"
}

// Clock writes a time of day and days: 1d 02:00:10.250, in ms or, when fine, in
// ns.
func Clock(ns int64, fine bool) string {
	days, rest := ns/86400e9, ns%86400e9
	s := fmt.Sprintf("%02d:%02d:%02d.", rest/3600e9, rest/60e9%60, rest/1e9%60)
	if fine {
		s += fmt.Sprintf("%09d", rest%1e9)
	} else {
		s += fmt.Sprintf("%03d", rest%1e9/1e6)
	}
	if days > 0 {
		s = fmt.Sprintf("%dd ", days) + s
	}
	return s
}

// Many writes a number of things.
func Many(n int, thing string) string {
	if n != 1 {
		thing += "s"
	}
	return Grouped(int64(n)) + " " + thing
}

// Span writes a duration for reading: 112 ms, 1.5 s, in at most seven digits.
func Span(ns int64) string {
	if ns == 0 {
		return "0 s"
	}
	for _, u := range []struct {
		name string
		ns   float64
		most float64
	}{{"us", 1e3, 1e6}, {"ms", 1e6, 1e9}, {"s", 1e9, 120e9}, {"min", 60e9, 7200e9}, {"h", 3600e9, 10 * 86400e9}} {
		if v := float64(ns); v < u.most {
			return Figure(v/u.ns, 7) + " " + u.name
		}
	}
	return Figure(float64(ns)/86400e9, 7) + " d"
}
