package detection

import (
	"math"

	"halflight/sim/kernel"
)

// Phase is the law of how long before an instant that packets know nothing of the
// last one left, and of how long after it the next one does: both are the same. Gaps
// are those of [Session]: even from low to high. An instant falls into a gap with
// probability in proportion to its length, so that the time to the last packet has
// density P(gap > x) / mean gap (renewal theory: Feller vol. 2, from memory).
type Phase struct{ low, high float64 } // ns

// NewPhase returns the law of the packets of a sender. The arguments are those of
// [NewSession].
func NewPhase(multiplier int, interval int64, jitter float64) Phase {
	low, high := gaps(multiplier, jitter)
	return Phase{float64(low * float64(interval)), float64(high * float64(interval))}
}

// Away returns that time, in ns and at least 1, given one uniform draw.
func (p Phase) Away(u float64) int64 {
	mean := (p.low + p.high) / 2
	away := float64(u * mean)
	if away > p.low { // beyond the shortest gap the density falls to 0 in a line
		away = p.high - math.Sqrt(float64(2*float64(p.high-p.low))*float64(mean*(1-u)))
	}
	return max(kernel.Nanoseconds(away), 1)
}

// gaps are the shortest and the longest gap, as shares of the interval, whose packets
// leave early by up to a share of it, the jitter.
func gaps(multiplier int, jitter float64) (low, high float64) {
	low, high = 1-jitter, 1
	if multiplier == 1 && jitter > 0 {
		// With a multiplier of 1 the gap is at most 90 % (RFC 5880, section 6.8.7).
		low, high = min(low, 0.9), 0.9
	}
	return low, high
}
