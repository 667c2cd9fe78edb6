// Package phrase writes figures for people: a value, its interval, both, with
// their unit.
//
// It knows estimates and units, and nothing that they are of. It is tested by
// figures worked by hand.
package phrase

import (
	"strings"

	"halflight/results/stat"
	"halflight/results/unit"
)

// Value writes the value of an estimate with its unit.
func Value(e stat.Estimate, in string) string {
	if !e.Known {
		return "not known"
	}
	return Words(e.Value, in)
}

// Interval writes the interval of an estimate, with what it is where it is none.
func Interval(e stat.Estimate, in string) string {
	switch e.Sides {
	case stat.TwoSided:
		return Range(e.Low, e.High, in)
	case stat.UpperBound:
		return "at most " + Limit(e.High, in)
	case stat.LowerBound:
		return "at least " + Limit(e.Low, in)
	}
	if strings.HasPrefix(e.Reason, "largest seen") {
		return "largest seen"
	}
	return "no interval"
}

// Range writes two limits, with one unit where they share it and without the part
// of it that the value beside them says, such as "per month".
func Range(low, high float64, in string) string {
	a, b := Limit(low, in), Limit(high, in)
	if x, y, ok := strings.Cut(b, " "); ok && low > 0 && strings.HasSuffix(a, " "+y) {
		return strings.TrimSuffix(a, " "+y) + " to " + x + " " + y
	}
	if low == 0 {
		return "0 to " + b
	}
	return a + " to " + b
}

// Limit writes one end of an interval, without the part of the unit that the
// value beside it says.
func Limit(v float64, in string) string {
	text, _, _ := strings.Cut(Words(v, in), " per ")
	return text
}

// With writes value and interval.
func With(e stat.Estimate, in string) string {
	if !e.Known && !e.Available() {
		return "not known"
	}
	if !e.Known {
		return Interval(e, in)
	}
	return Value(e, in) + " (" + Interval(e, in) + ")"
}

// Words writes a value with its unit, without zeros that say nothing.
func Words(v float64, in string) string {
	text := unit.Words(v, in)
	digits, rest, _ := strings.Cut(text, " ")
	if strings.Contains(digits, ".") && !strings.Contains(digits, "e") {
		digits = strings.TrimRight(strings.TrimRight(digits, "0"), ".")
	}
	return strings.TrimSpace(digits + " " + rest)
}
