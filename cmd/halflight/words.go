package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// figure writes a number with at most n significant digits, digits grouped by
// three, and powers of ten for what is very small or large.
func figure(v float64, n int) string {
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
		return grouped(int64(math.Round(v)))
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// grouped writes a whole number with its digits grouped by three.
func grouped(n int64) string {
	text := strconv.FormatInt(n, 10)
	for i := len(text) - 3; i > 0 && text[i-1] != '-'; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	return text
}

// share writes a share as a percentage of three significant digits.
func share(v float64) string { return figure(v*100, 3) + " %" }

// period writes a time given in hours in a unit a reader can picture.
func period(h float64) string {
	for _, u := range []struct {
		name        string
		hours, most float64 // used below most
	}{
		{"ms", 1 / 3.6e6, 1 / 3600.0}, {"s", 1 / 3600.0, 1 / 30.0}, {"min", 1 / 60.0, 2}, {"h", 1, 10 * 24}, {"d", 24, 2 * 8760},
		{"y", 8760, math.Inf(1)},
	} {
		if h < u.most {
			return figure(h/u.hours, 4) + " " + u.name
		}
	}
	return "never"
}

// clock writes a time of day and days: 1d 02:00:10.250, in ms or, when fine, in
// ns.
func clock(ns int64, fine bool) string {
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
