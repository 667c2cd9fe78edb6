package stat

import (
	"fmt"
	"math"
)

// LookFirst is the number of replications at the first look at the results, and
// the least that a study should have. Our own choice.
const LookFirst = 20

// SequentialLooks returns the numbers of replications at which a study may stop
// to look: 20, 40, 80, ... up to and including most. Looking only at doublings
// keeps the chance of stopping on a lucky streak small. Empty when most < 20.
func SequentialLooks(most int) []int {
	var looks []int
	for n := LookFirst; n <= most; n *= 2 {
		looks = append(looks, n)
		if n > math.MaxInt/2 {
			break
		}
	}
	return looks
}

// NextLook returns the first look that is above n replications.
func NextLook(n int) int {
	look := LookFirst
	for look <= n {
		look *= 2
	}
	return look
}

// ReplicationsFor returns how many replications bring the t interval of a mean
// down to +-half, given the standard deviation between replications seen so far:
// the least n >= 2 with t(n-1) sd / sqrt(n) <= half. A guide, not a promise: sd
// is itself an estimate. sd is at least 0, half above 0. ok is false when more
// than 1e9 would be needed.
func ReplicationsFor(sd, half, level float64) (n int, ok bool) {
	mustLevel(level)
	if !(sd >= 0) || !(half > 0) || math.IsInf(sd, 0) {
		panic(fmt.Sprintf("stat: no number of replications brings a spread of %v to +-%v", sd, half))
	}
	tail := (1 - level) / 2
	// t is above z, so the normal answer is a floor from which few steps remain.
	ratio := zUpper(tail) * sd / half
	floor := float64(ratio * ratio)
	if floor > 1e9 {
		return 0, false
	}
	n = max(2, int(floor))
	for tUpper(float64(n-1), tail)*sd/math.Sqrt(float64(n)) > half {
		n++
	}
	return n, true
}

// EventsFor returns how many Poisson events give a rate to the relative
// half-width (0.05 for +-5 %): (z/relative)^2, rounded up.
func EventsFor(relative, level float64) int {
	mustLevel(level)
	if !(relative > 0) {
		panic(fmt.Sprintf("stat: relative half-width %v is not above 0", relative))
	}
	ratio := zUpper((1-level)/2) / relative
	return int(math.Ceil(float64(ratio * ratio)))
}
