package reliability

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// MTBFBoundsTime is the two-sided interval of the mean time between failures from a test that ended at a fixed time:
// total unit-hours and failures >= 0, 0 < level < 1. The upper bound is +Inf without failures. Formula of NIST/SEMATECH
// e-Handbook 8.4.5.1: 2T/chi2(1-a/2; 2r+2), 2T/chi2(a/2; 2r).
func MTBFBoundsTime(total float64, failures int, level float64) (low, high float64) {
	requireTest(total, failures, level)
	a := (1 - level) / 2
	low, high = total/gammaUpper(failures+1, a), math.Inf(1)
	if failures > 0 {
		high = total / gammaLower(failures, a)
	}
	return low, high
}

// MTBFBoundsFailure is the same from a test that ended at its last failure, failures >= 1: 2r degrees on both sides.
func MTBFBoundsFailure(total float64, failures int, level float64) (low, high float64) {
	requireTest(total, failures, level)
	require(failures >= 1, "a test that ends at a failure has at least one")
	a := (1 - level) / 2
	return total / gammaUpper(failures, a), total / gammaLower(failures, a)
}

// MTBFAtLeast is the one-sided lower bound from a test that ended at a fixed time; T / -ln(1-level) without failures.
func MTBFAtLeast(total float64, failures int, level float64) float64 {
	requireTest(total, failures, level)
	return total / gammaUpper(failures+1, 1-level)
}

func requireTest(total float64, failures int, level float64) {
	require(total > 0 && failures >= 0 && level > 0 && level < 1,
		"MTBF bounds need unit-hours above 0, failures of at least 0 and a level between 0 and 1")
}

// gammaLower is the quantile at p of a gamma law of whole shape and scale 1: half the chi-square quantile of 2 x shape
// degrees.
func gammaLower(shape int, p float64) float64 { return mathext.GammaIncRegInv(float64(shape), p) }

// gammaUpper is the point above which the same law has probability p.
func gammaUpper(shape int, p float64) float64 { return mathext.GammaIncRegCompInv(float64(shape), p) }
