package setting

import (
	"encoding/json"
	"math"
	"math/big"
	"regexp"
	"strconv"
	"strings"

	"halflight/scenarios"
)

// The functions of this file write values so that a scenario reads them back
// to the last bit.

// units of time in ns, longest first.
var units = []struct {
	name string
	ns   float64
}{
	{"y", 365 * 86400e9}, {"d", 86400e9}, {"h", 3600e9}, {"min", 60e9}, {"s", 1e9}, {"ms", 1e6}, {"us", 1e3}, {"ns", 1},
}

// Time writes a time in ns in the longest unit of which it is a whole
// number, or a number of tenths where that is shorter.
func Time(ns float64) string {
	if ns == 0 {
		return "0s"
	}
	for i, u := range units {
		n := ns / u.ns
		if n != math.Trunc(n) || n*u.ns != ns || n >= 1e9 {
			continue
		}
		// 4900us is 4.9ms.
		if tenths := math.Round(10 * ns / units[max(i-1, 0)].ns); n >= 1000 && i > 0 && tenths*units[i-1].ns == 10*ns {
			return strconv.FormatFloat(tenths/10, 'f', 1, 64) + units[i-1].name
		}
		return strconv.FormatFloat(n, 'f', -1, 64) + u.name
	}
	if ns == math.Trunc(ns) && ns < 1<<62 {
		return scenarios.Duration(int64(ns)).String()
	}
	return strconv.FormatFloat(ns, 'f', -1, 64) + "ns"
}

// Span is Time for whole ns of any size.
func Span(ns int64) string {
	if float64(ns) < 1<<53 {
		return Time(float64(ns))
	}
	return scenarios.Duration(ns).String()
}

func Number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
func Whole(v int) string      { return strconv.Itoa(v) }
func Yes(v bool) string       { return strconv.FormatBool(v) }

// Rate writes a rate a second, by the unit that needs few digits.
func Rate(perSecond float64) string {
	for _, u := range []string{"s", "min", "h", "d"} {
		if text, ok := ShortRate(perSecond, u); ok {
			return text
		}
	}
	return Number(perSecond) + "/s"
}

// ShortRate writes a rate by a unit with at most six digits, if that is exact.
func ShortRate(perSecond float64, unit string) (string, bool) {
	ns := 0.0
	for _, u := range units {
		if u.name == unit {
			ns = u.ns
		}
	}
	digits := strconv.FormatFloat(perSecond*ns/1e9, 'g', 6, 64)
	r, ok := new(big.Rat).SetString(digits)
	if !ok {
		return "", false
	}
	r.Mul(r, big.NewRat(1e9, int64(ns)))
	back, _ := r.Float64()
	return digits + "/" + unit, back == perSecond
}

// Speed writes a speed in bit/s.
func Speed(v float64) string {
	if g := v / 1e9; g*1e9 == v {
		return Number(g) + "Gb/s"
	}
	return Number(v) + "b/s"
}

// plainText is text that YAML takes for nothing but text.
var plainText = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9 ._~>#:/-]*[A-Za-z0-9]$`)

// Quoted writes a text, in quotes where YAML could take it for something else.
func Quoted(s string) string {
	if plainText.MatchString(s) && !mistaken.MatchString(s) {
		return s
	}
	text, err := json.Marshal(s)
	if err != nil {
		panic("setting: a text that cannot be Quoted: " + err.Error())
	}
	return string(text)
}

// mistaken is what looks like text and is something else in YAML.
var mistaken = regexp.MustCompile(`(?i)^(true|false|null|Yes|no|on|off|y|n)$|: | #`)

// RateOf reads a rate that Rate wrote by the day.
func RateOf(text string) (perSecond float64, ok bool) {
	digits, found := strings.CutSuffix(text, "/d")
	r, ok := new(big.Rat).SetString(digits)
	if !found || !ok {
		return 0, false
	}
	perSecond, _ = r.Quo(r, big.NewRat(86400, 1)).Float64()
	return perSecond, true
}
