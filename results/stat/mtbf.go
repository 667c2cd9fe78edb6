package stat

import (
	"fmt"
	"math"
)

// MTBFTimeCensored returns two-sided limits of a constant mean time between
// failures, from a total running time above 0 that ended at a time fixed before
// and held r >= 0 failures: NIST/SEMATECH e-Handbook 8.4.5.1, 2T/chi2(1-a/2;
// 2r+2) and 2T/chi2(a/2; 2r). high is +Inf for r = 0.
func MTBFTimeCensored(total float64, r int, level float64) (low, high float64) {
	mustRunning(total)
	least, most := PoissonInterval(r, level)
	return total / most, total / least // x/0 is +Inf, as it should be
}

// MTBFFailureCensored is the same for a time that ended at the r-th failure,
// r >= 1: 2r degrees of freedom on both sides.
func MTBFFailureCensored(total float64, r int, level float64) (low, high float64) {
	mustRunning(total)
	mustLevel(level)
	if r < 1 {
		panic("stat: a time that ended at a failure holds at least one")
	}
	tail, df := (1-level)/2, float64(2*r)
	return 2 * total / chiSquare(df, 1-tail), 2 * total / chiSquare(df, tail)
}

// MTBFLower returns the one-sided lower limit for a time fixed before,
// 2T/chi2(level; 2r+2); T/(-ln(1-level)) for r = 0.
func MTBFLower(total float64, r int, level float64) float64 {
	mustRunning(total)
	mustCount(r)
	mustLevel(level)
	return 2 * total / chiSquare(float64(2*r+2), level)
}

// MTBF estimates the mean time between failures from r failures in a total
// running time fixed before; N counts failures. No failure gives no value (Known
// is false), but a one-sided lower bound.
func MTBF(total float64, r int, level float64) Estimate {
	if r == 0 {
		low := MTBFLower(total, 0, level)
		e := Estimate{Low: low, High: math.Inf(1), Level: level, Sides: LowerBound}
		return e.With(Warning{ZeroSeen, fmt.Sprintf(
			"no failure seen; what stands is a one-sided lower bound at %.4g %%, and twice the running time without one would double it", 100*level)})
	}
	low, high := MTBFTimeCensored(total, r, level)
	e := twoSided(total/float64(r), low, high, level, r)
	if r < EventsLeast {
		e = e.With(fewEvents(r))
	}
	return e
}

func mustRunning(total float64) {
	if !(total > 0) || math.IsInf(total, 0) {
		panic(fmt.Sprintf("stat: running time %v is not a positive number", total))
	}
}
