package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Digits writes a number with three significant digits: 0.310, 31.0, 12300;
// below 0.001 and from a million on as 2.31e-6.
func Digits(v float64) string { return digitsOf(v, usual) }

// usual is how many significant digits a number has.
const usual = 3

func digitsOf(v float64, n int) string {
	switch {
	case v == 0:
		return "0" // and not -0
	case math.IsNaN(v) || math.IsInf(v, 0):
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	e := strconv.FormatFloat(v, 'e', n-1, 64)
	mantissa, power, _ := strings.Cut(e, "e")
	exponent, _ := strconv.Atoi(power)
	if exponent < -3 || exponent >= 6 {
		return mantissa + "e" + strconv.Itoa(exponent)
	}
	rounded, _ := strconv.ParseFloat(e, 64)
	return strconv.FormatFloat(rounded, 'f', max(0, n-1-exponent), 64)
}

// scales of time: the largest unit is used whose least value is reached.
var scales = []struct {
	least float64 // s
	unit  string
	size  float64 // s
}{
	{2 * 86400, "d", 86400}, {2 * 3600, "h", 3600}, {120, "min", 60}, {1, "s", 1},
	{1e-3, "ms", 1e-3}, {1e-6, "us", 1e-6}, {0, "ns", 1e-9},
}

// Scaled writes a value of a measure as people read it: its digits, and the unit
// to put behind them, which may be empty. Times go from ns to d, shares from
// 0.1 % on are percentages, and what happens in a month has its unit end in /month.
func Scaled(v float64, unit string) (digits, shown string) { return scaled(v, unit, usual) }

func scaled(v float64, unit string, n int) (digits, shown string) {
	switch unit {
	case Seconds:
		return scaledTime(v, n)
	case SPerMonth:
		digits, shown = scaledTime(v, n)
		return digits, shown + "/month"
	case HPerMonth:
		return digitsOf(v, n), "h/month"
	case PerMonth:
		return digitsOf(v, n), "/month"
	case PerRouterH:
		return digitsOf(v, n), "/h"
	case PerYear:
		return digitsOf(v, n), "/year"
	case Share:
		if v == 0 || rounded(v, n) >= 1e-3 {
			return digitsOf(100*v, n), "%"
		}
	}
	return digitsOf(v, n), ""
}

func scaledTime(s float64, n int) (digits, unit string) {
	if s == 0 {
		return "0", "s"
	}
	for _, scale := range scales {
		if rounded(s, n) >= scale.least {
			return digitsOf(s/scale.size, n), scale.unit
		}
	}
	return digitsOf(s, n), "s" // below 0: no measure is, a difference may be
}

// rounded is v to so many significant digits, so that 999.9 ms is 1.00 s.
func rounded(v float64, n int) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', n-1, 64), 64)
	return r
}

// Words writes a value with its unit for a sentence.
func Words(v float64, unit string) string { return WordsTo(usual, v, unit) }

// WordsTo is Words with so many significant digits.
func WordsTo(n int, v float64, unit string) string {
	digits, shown := scaled(v, unit, n)
	if per, ok := strings.CutSuffix(shown, "/month"); ok {
		shown = strings.TrimSpace(per + " per month")
	}
	if shown == "/year" {
		shown = "per year"
	}
	if shown == "/h" {
		shown = "per router and hour"
	}
	return strings.TrimSpace(digits + " " + shown)
}

// Apart is with how many significant digits, at least three, others than a value are
// written otherwise than it.
func Apart(unit string, v float64, others ...float64) int {
	const most = 17 // tell any two numbers apart
	n := usual
	for _, o := range others {
		for n < most && o != v && WordsTo(n, o, unit) == WordsTo(n, v, unit) {
			n++
		}
	}
	return n
}

// Count writes a number of things, with an s unless it is one.
func Count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
