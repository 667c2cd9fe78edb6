package kernel

import "math"

// Forever is the longest duration, 2^62 ns or 146 years: a time that is added
// to any instant of a simulation without overflow and never comes.
const Forever int64 = 1 << 62

// Nanoseconds rounds a number of nanoseconds to a whole one, half to even, and
// saturates at plus and minus [Forever]. It panics if it is given no number.
func Nanoseconds(ns float64) int64 {
	switch {
	case math.IsNaN(ns):
		panic("kernel: a duration that is not a number")
	case ns >= float64(Forever):
		return Forever
	case ns <= -float64(Forever):
		return -Forever
	}
	return int64(math.RoundToEven(ns))
}

// Seconds is Nanoseconds of a number of seconds.
func Seconds(s float64) int64 { return Nanoseconds(float64(s * 1e9)) }
