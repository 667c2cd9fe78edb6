package stat

import (
	"fmt"
	"math"
	"slices"
)

// Sides tells which ends of an Estimate's interval were estimated.
type Sides uint8

const (
	NoInterval Sides = iota // Low and High equal Value and mean nothing; Reason says why
	TwoSided                // Low and High are both confidence limits
	UpperBound              // only High is a limit, one-sided at Level; Low is the least possible value
	LowerBound              // only Low is a limit, one-sided at Level; High is the greatest possible value, maybe +Inf
)

// String names the kind of interval in words for tables.
func (s Sides) String() string {
	switch s {
	case NoInterval:
		return "none"
	case TwoSided:
		return "two-sided"
	case UpperBound:
		return "upper bound"
	case LowerBound:
		return "lower bound"
	}
	panic(fmt.Sprintf("stat: no kind of interval has number %d", uint8(s)))
}

// Estimate is a number with what is known about its chance error. Units are
// those of the data it was made from.
type Estimate struct {
	Value     float64   // 0 when not Known
	Low, High float64   // see Sides
	Level     float64   // of the interval; 0 without one
	N         int       // how many independent things it rests on; each function says of what
	Sides     Sides     // which ends are confidence limits
	Known     bool      // false: the data give no value, at most a bound
	Reason    string    // why there is no interval; empty when there is one
	Warnings  []Warning // doubts that travel with the number, in a fixed order, one per code
}

// Available reports whether the estimate has an interval, of one side or two.
func (e Estimate) Available() bool { return e.Sides != NoInterval }

// Half returns half the width of a two-sided interval, and false without one.
func (e Estimate) Half() (float64, bool) {
	return (e.High - e.Low) / 2, e.Sides == TwoSided
}

// Within returns e with the interval cut to [least, greatest], for figures that
// cannot leave that range though a symmetric interval does. Value stays.
func (e Estimate) Within(least, greatest float64) Estimate {
	if !e.Available() {
		return e
	}
	e.Low = min(max(e.Low, least), greatest)
	e.High = min(max(e.High, least), greatest)
	return e
}

// Scaled returns e in another unit: value and limits times a factor above 0.
func (e Estimate) Scaled(factor float64) Estimate {
	if !(factor > 0) || math.IsInf(factor, 0) {
		panic(fmt.Sprintf("stat: scale factor %v is not a positive number", factor))
	}
	e.Value = float64(e.Value * factor)
	e.Low = float64(e.Low * factor)
	e.High = float64(e.High * factor)
	return e
}

// With returns e with a warning added, unless it has one of that code already.
// The warnings of e itself are not touched.
func (e Estimate) With(w Warning) Estimate {
	for _, old := range e.Warnings {
		if old.Code == w.Code {
			return e
		}
	}
	e.Warnings = append(slices.Clone(e.Warnings), w)
	return e
}

// unknown is the estimate of nothing at all.
func unknown(reason string) Estimate {
	return Estimate{Reason: reason}
}

// valueOnly is an estimate that has a value but, for the reason given, no interval.
func valueOnly(value float64, n int, reason string) Estimate {
	return Estimate{Value: value, Low: value, High: value, N: n, Known: true, Reason: reason}
}

// twoSided is an estimate with both limits.
func twoSided(value, low, high, level float64, n int) Estimate {
	return Estimate{Value: value, Low: low, High: high, Level: level, N: n, Sides: TwoSided, Known: true}
}

// mustLevel panics unless a level lies strictly between 0 and 1.
func mustLevel(level float64) {
	if !(level > 0 && level < 1) {
		panic(fmt.Sprintf("stat: level %v does not lie between 0 and 1", level))
	}
}

// mustProbability panics unless p, of a quantile, lies in [0, 1].
func mustProbability(p float64) {
	if !(p >= 0 && p <= 1) {
		panic(fmt.Sprintf("stat: quantile %v does not lie from 0 to 1", p))
	}
}

// mustFinite panics when a value is NaN or infinite.
func mustFinite(values []float64) {
	for i, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			panic(fmt.Sprintf("stat: value %d is %v", i, v))
		}
	}
}
