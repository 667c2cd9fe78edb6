package unit

import (
	"math"
	"math/big"
	"regexp"
	"strings"

	"halflight/scenarios/wording"
)

// The units of time in nanoseconds. A year is 365 days; a month has no fixed length and is no unit.
var timeUnits = []struct {
	name string
	ns   int64
}{
	{"y", 365 * 86400e9}, {"w", 7 * 86400e9}, {"d", 86400e9}, {"h", 3600e9}, {"min", 60e9},
	{"s", 1e9}, {"ms", 1e6}, {"us", 1e3}, {"ns", 1},
}

// What people write for a unit of time, and what they may have meant.
var timeMeant = map[string]string{
	"m": "min for minutes; months have no fixed length: say 30d", "M": "min for minutes; months have no fixed length: say 30d",
	"mo": "a number of days; months have no fixed length", "month": "a number of days; months have no fixed length",
	"months": "a number of days; months have no fixed length",
	"sec":    "s", "secs": "s", "second": "s", "seconds": "s", "S": "s",
	"mins": "min", "minute": "min", "minutes": "min", "hr": "h", "hrs": "h", "hour": "h", "hours": "h", "H": "h",
	"day": "d", "days": "d", "D": "d", "week": "w", "weeks": "w", "W": "w", "year": "y", "years": "y", "yr": "y", "Y": "y",
	"msec": "ms", "millis": "ms", "MS": "ms", "µs": "us", "μs": "us", "usec": "us", "micros": "us", "nsec": "ns", "nanos": "ns",
}

// number is how numbers are written: no sign, no leading zero, no digits grouped.
var number = regexp.MustCompile(`^(?:0|[1-9][0-9]{0,30})(?:\.[0-9]{1,30})?(?:[eE][+-]?[0-9]{1,2})?`)

// zeros finds a leading zero, which some take for octal.
var zeros = regexp.MustCompile(`^0[0-9]`)

// leading reads the number at the beginning of s and returns what follows it. It is nil when there is none.
func leading(s string) (*big.Rat, string) {
	digits := number.FindString(s)
	if digits == "" || zeros.MatchString(s) {
		return nil, s
	}
	r, ok := new(big.Rat).SetString(digits)
	if !ok {
		return nil, s
	}
	return r, s[len(digits):]
}

// notNumber says what is wrong with s, which does not begin with a number, where kind was wanted.
func notNumber(s, kind, example string) *wording.Fault {
	switch {
	case strings.HasPrefix(s, "-"):
		return wording.Wrong("cannot be negative", "")
	case zeros.MatchString(s):
		return wording.Wrong("has a leading zero", "it could be read as octal: write "+wording.Clip(strings.TrimLeft(s, "0")))
	case strings.HasPrefix(s, "."):
		return wording.Wrong("is not "+kind, "write 0"+wording.Clip(s))
	}
	return wording.Wrong("is not "+kind, "such as "+example)
}

// exact reads a duration such as 90d, 1.5h or 1h30min and returns it in nanoseconds, exactly.
func exact(s string) (*big.Rat, *wording.Fault) {
	sum, rest, last := new(big.Rat), s, -1
	for rest != "" {
		n, after := leading(rest)
		if n == nil {
			return nil, notNumber(rest, "a duration", "50ms, 1.5h, 90d")
		}
		after = strings.TrimPrefix(after, " ")
		end := strings.IndexAny(after, "0123456789.- +,")
		if end < 0 {
			end = len(after)
		}
		unit := after[:end]
		i := timeUnit(unit)
		if i < 0 {
			return nil, badUnit(s, unit)
		}
		if i <= last {
			return nil, wording.Wrong("does not go from larger to smaller units", "such as 1h30min")
		}
		last = i
		sum.Add(sum, n.Mul(n, new(big.Rat).SetInt64(timeUnits[i].ns)))
		rest = strings.TrimPrefix(after[end:], " ")
	}
	if last < 0 {
		return nil, wording.Wrong("is not a duration", "such as 50ms, 1.5h, 90d")
	}
	return sum, nil
}

// timeUnit returns the index of a unit of time, -1 when it is none.
func timeUnit(name string) int {
	for i, u := range timeUnits {
		if u.name == name {
			return i
		}
	}
	return -1
}

// badUnit says what is wrong with a unit of time.
func badUnit(s, unit string) *wording.Fault {
	if unit == "" {
		return wording.Wrong("has no unit of time", "say "+wording.Clip(s)+"s, or ns us ms s min h d w y")
	}
	if meant, ok := timeMeant[unit]; ok {
		if unit == "m" || unit == "M" {
			return wording.Wrong(`has the unit "`+unit+`", which could be minutes or months`, "say "+meant)
		}
		return wording.Wrong("has an unknown unit "+wording.Quote(unit), "say "+meant)
	}
	return wording.Wrong("has an unknown unit "+wording.Quote(unit), "units: ns us ms s min h d w y")
}

// ParseDuration reads a duration such as 90d, 1.5h or 1h30min, in whole nanoseconds up to 292y.
func ParseDuration(s string) (Duration, *wording.Fault) {
	r, f := exact(s)
	if f != nil {
		return 0, f
	}
	if !r.IsInt() {
		return 0, wording.Wrong("is finer than a nanosecond", "")
	}
	if !r.Num().IsInt64() {
		return 0, wording.Wrong("is too long", "at most 292y")
	}
	return Duration(r.Num().Int64()), nil
}

// ParseTime reads a duration in nanoseconds of any length up to a million years.
func ParseTime(s string) (float64, *wording.Fault) {
	r, f := exact(s)
	if f != nil {
		return 0, f
	}
	if r.Cmp(new(big.Rat).SetFloat64(1e6*365*86400e9)) > 0 {
		return 0, wording.Wrong("is too long", "at most 1e6y")
	}
	return float(r), nil
}

// ParseNumber reads a number without unit.
func ParseNumber(s string) (float64, *wording.Fault) {
	r, rest := leading(s)
	if r == nil || rest != "" {
		return 0, notNumber(s, "a number", "3, 0.5, 1e-4")
	}
	return float(r), nil
}

// ParseShare reads a share between 0 and 1, or a percentage.
func ParseShare(s string) (float64, *wording.Fault) {
	r, rest := leading(s)
	if r == nil || rest != "" && rest != "%" {
		return 0, notNumber(s, "a share", "0.025 or 2.5%")
	}
	if rest == "%" {
		r.Quo(r, big.NewRat(100, 1))
	}
	if r.Cmp(big.NewRat(1, 1)) > 0 {
		f := wording.Wrong("is more than the whole", "a share is at most 1, or 100%")
		if rest == "" && r.Cmp(big.NewRat(100, 1)) <= 0 {
			f.Hint = "did you mean " + wording.Clip(s) + "%?"
		}
		return 0, f
	}
	return float(r), nil
}

// ParseRate reads a rate such as 2e-4/d, 10/s or 1/24h, per second.
func ParseRate(s string) (float64, *wording.Fault) {
	r, rest := leading(s)
	if r == nil {
		return 0, notNumber(s, "a rate", "2e-4/d, 10/s, 1/24h")
	}
	per, ok := strings.CutPrefix(strings.TrimPrefix(rest, " "), "/")
	if !ok {
		return 0, wording.Wrong("is not a rate", "say per what: "+wording.Clip(s)+"/s, "+wording.Clip(s)+"/24h")
	}
	per = strings.TrimPrefix(per, " ")
	if timeUnit(per) >= 0 {
		per = "1" + per
	} else if _, ok := timeMeant[per]; ok {
		return 0, badUnit(s, per)
	}
	d, f := exact(per)
	if f != nil {
		return 0, f
	}
	if d.Sign() == 0 {
		return 0, wording.Wrong("is a rate per no time", "")
	}
	r.Mul(r, new(big.Rat).SetInt64(1e9))
	return float(r.Quo(r, d)), nil
}

// ParseSpeed reads a speed such as 400Gb/s, in bits per second.
func ParseSpeed(s string) (float64, *wording.Fault) {
	r, rest := leading(s)
	if r == nil {
		return 0, notNumber(s, "a speed", "400Gb/s")
	}
	rest = strings.TrimPrefix(rest, " ")
	for i, unit := range []string{"b/s", "kb/s", "Mb/s", "Gb/s", "Tb/s"} {
		if rest == unit {
			v := float(r.Mul(r, big.NewRat(int64(math.Pow10(3*i)), 1)))
			if v <= 0 || v > 1e18 {
				return 0, wording.Wrong("is out of range", "above 0, at most 1e6Tb/s")
			}
			return v, nil
		}
	}
	return 0, wording.Wrong("is not a speed", "units: b/s kb/s Mb/s Gb/s Tb/s")
}

// ParseBytes reads a size in bytes, with or without B, kB or KiB.
func ParseBytes(s string) (float64, *wording.Fault) {
	r, rest := leading(s)
	if r == nil {
		return 0, notNumber(s, "a size", "1500, 1500B, 9kB")
	}
	switch strings.TrimPrefix(rest, " ") {
	case "", "B":
	case "kB":
		r.Mul(r, big.NewRat(1000, 1))
	case "KiB":
		r.Mul(r, big.NewRat(1024, 1))
	default:
		return 0, wording.Wrong("is not a size", "units: B kB KiB")
	}
	return float(r), nil
}

// float returns the float64 nearest to r.
func float(r *big.Rat) float64 {
	f, _ := r.Float64()
	return f
}
