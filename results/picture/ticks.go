package picture

import (
	"math"
	"strings"

	"halflight/results/phrase"
	"halflight/results/unit"
)

// Share is how far along an axis a value lies, from 0 to 1.
func (a Axis) Share(v float64) float64 {
	low, high := a.Low, a.High
	if a.Log {
		v, low, high = math.Log10(max(v, a.Low)), math.Log10(low), math.Log10(high)
	}
	if high == low {
		return 0
	}
	return min(1, max(0, (v-low)/(high-low)))
}

// Tick is a place of an axis with its words.
type Tick struct {
	At   float64
	Text string
}

// Ticks are at most about n round values of an axis.
func (a Axis) Ticks(n int) []Tick {
	if a.Log {
		return decades(a, n)
	}
	span := a.High - a.Low
	if !(span > 0) {
		return []Tick{{a.Low, label(a.Low, a.Unit)}}
	}
	size := stepOf(span/float64(n), a.Unit)
	var out []Tick
	for k := math.Ceil(a.Low/size - 1e-9); k*size <= a.High*(1+1e-9); k++ {
		out = append(out, Tick{k * size, label(k*size, a.Unit)})
	}
	return out
}

// stepOf is the round value from a rough one up: 1, 2 or 5 times a power of ten,
// for times from a minute on what clocks have.
func stepOf(rough float64, in string) float64 {
	if in == unit.Seconds || in == unit.SPerMonth {
		for _, s := range []float64{60, 120, 300, 600, 1200, 1800, 3600, 7200, 6 * 3600, 12 * 3600, 86400} {
			if rough > 30 && rough <= s {
				return s
			}
		}
	}
	power := math.Pow(10, math.Floor(math.Log10(rough)))
	for _, m := range []float64{1, 2, 5} {
		if rough <= m*power*(1+1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// longTimes are round on a clock where powers of ten are not.
var longTimes = []float64{600, 7200, 86400, 10 * 86400, 100 * 86400, 1000 * 86400}

func decades(a Axis, n int) []Tick {
	low, high := math.Floor(math.Log10(a.Low)+1e-9), math.Ceil(math.Log10(a.High)-1e-9)
	every := math.Max(1, math.Ceil((high-low)/float64(n)))
	var out []Tick
	for k := low; k <= high; k += every {
		v := math.Pow(10, k)
		if over := int(k) - 3; a.Unit == unit.Seconds && over >= 0 && over < len(longTimes) {
			v = longTimes[over]
		}
		if v >= a.Low*(1-1e-9) && v <= a.High*(1+1e-9) {
			out = append(out, Tick{v, label(v, a.Unit)})
		}
	}
	return out
}

// label writes a value beside an axis, whose words say the rest of the unit.
func label(v float64, in string) string {
	text := phrase.Words(v, in)
	text = strings.TrimSuffix(text, " per month")
	if v == 0 {
		return "0"
	}
	return text
}
