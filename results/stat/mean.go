package stat

import (
	"fmt"
	"math"
)

// Mean estimates the mean of one figure per replication with Student's t
// interval; N counts replications. Exact for normal figures, and near enough for
// others from the first look on. There is no interval from fewer than two
// replications, nor from figures that are all 0: nothing seen has no spread, yet
// proves nothing (see MeanBounded).
func Mean(perReplication []float64, level float64) Estimate {
	mustLevel(level)
	mustFinite(perReplication)
	n := len(perReplication)
	if n == 0 {
		return unknown("no replication")
	}
	value := mean(perReplication)
	if n == 1 {
		return valueOnly(perReplication[0], 1, fmt.Sprintf("one replication shows no spread; run at least %d", LookFirst)).
			With(fewReplications(1))
	}
	if allEqual(perReplication) {
		return withoutSpread(perReplication[0], level, n)
	}
	half := float64(tUpper(float64(n-1), (1-level)/2) * math.Sqrt(variance(perReplication)/float64(n)))
	return withReplications(twoSided(value, value-half, value+half, level, n), n)
}

// MeanBounded is Mean for figures that lie in [0, greatest], a share for one.
// The interval is cut to that range, and nothing seen in n replications gives an
// upper bound: with P(figure > 0) at most u = 1 - (1-level)^(1/n), the mean is
// at most greatest x u (u: Clopper-Pearson, one-sided).
func MeanBounded(perReplication []float64, greatest, level float64) Estimate {
	for i, v := range perReplication {
		if !(v >= 0 && v <= greatest) {
			panic(fmt.Sprintf("stat: value %d, %v, does not lie from 0 to %v", i, v, greatest))
		}
	}
	e := Mean(perReplication, level)
	n := len(perReplication)
	if n == 0 || !allEqual(perReplication) || perReplication[0] != 0 {
		return e.Within(0, greatest)
	}
	bound := Estimate{High: greatest * noneOf(n, level), Level: level, N: n, Sides: UpperBound, Known: true}
	return withReplications(bound.With(zeroSeen(bound)), n)
}

// withoutSpread is the estimate from n equal figures.
func withoutSpread(value, level float64, n int) Estimate {
	if value != 0 {
		return withReplications(twoSided(value, value, value, level, n).With(noSpread(n)), n)
	}
	e := valueOnly(0, n, fmt.Sprintf("none seen in %d replications", n))
	return withReplications(e.With(zeroSeen(e)), n)
}

// withReplications warns when n replications are fewer than the first look.
func withReplications(e Estimate, n int) Estimate {
	if n < LookFirst {
		return e.With(fewReplications(n))
	}
	return e
}
