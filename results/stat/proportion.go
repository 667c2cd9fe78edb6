package stat

import (
	"fmt"
	"math"
)

// Wilson returns the score interval of x successes in n trials (n >= 1), without
// continuity correction: Wilson, JASA 22 (1927); compared with others by Newcombe,
// Statistics in Medicine 17 (1998). It covers at the level on average over the
// true share, not for every one. The limits are exactly 0 or 1 where they should be.
func Wilson(x, n int, level float64) (low, high float64) {
	mustTrials(x, n)
	mustLevel(level)
	z := zUpper((1 - level) / 2)
	share, trials, zz := float64(x)/float64(n), float64(n), float64(z*z)
	denominator := 1 + zz/trials
	middle := (share + zz/(2*trials)) / denominator
	spread := share*(1-share)/trials + zz/float64(4*trials*trials)
	half := z * math.Sqrt(spread) / denominator
	low, high = middle-half, middle+half
	if x == 0 {
		low = 0
	}
	if x == n {
		high = 1
	}
	return low, high
}

// ClopperPearson returns the exact interval of x successes in n trials (n >= 1):
// Clopper and Pearson, Biometrika 26 (1934). It covers at least at the level for
// every true share. Two-sided even when x is 0 or n; Proportion is one-sided there.
func ClopperPearson(x, n int, level float64) (low, high float64) {
	mustTrials(x, n)
	mustLevel(level)
	tail := (1 - level) / 2
	low, high = 0, 1
	if x > 0 {
		low = betaQuantile(float64(x), float64(n-x+1), tail)
	}
	if x < n {
		high = betaQuantile(float64(x+1), float64(n-x), 1-tail)
	}
	return low, high
}

// Proportion estimates the probability of success from x successes in n
// independent trials, by Clopper-Pearson; N counts trials. None seen gives an
// upper bound, none missed a lower one, both one-sided at the level.
func Proportion(x, n int, level float64) Estimate {
	mustLevel(level)
	if n == 0 && x == 0 {
		return unknown("no trial")
	}
	mustTrials(x, n)
	e := Estimate{Value: float64(x) / float64(n), Level: level, N: n, Known: true}
	switch x {
	case 0:
		e.Sides, e.High = UpperBound, noneOf(n, level)
		return e.With(zeroSeen(e))
	case n:
		e.Sides, e.Low, e.High = LowerBound, allOf(n, level), 1
	default:
		e.Sides = TwoSided
		e.Low, e.High = ClopperPearson(x, n, level)
	}
	if x < EventsLeast {
		e = e.With(fewEvents(x, 0))
	}
	return e
}

// noneOf is the one-sided upper limit of a share never seen in n trials,
// 1 - (1-level)^(1/n), written so that large n loses no digits.
func noneOf(n int, level float64) float64 {
	return -math.Expm1(math.Log1p(-level) / float64(n))
}

// allOf is the one-sided lower limit of a share that all n trials showed.
func allOf(n int, level float64) float64 {
	return math.Exp(math.Log1p(-level) / float64(n))
}

func mustTrials(x, n int) {
	if n < 1 || x < 0 || x > n {
		panic(fmt.Sprintf("stat: %d successes in %d trials", x, n))
	}
}
