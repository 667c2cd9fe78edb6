package stat

import (
	"fmt"
	"math"
)

// PoissonInterval returns the exact interval of the mean of a Poisson count of
// which x >= 0 were seen: Garwood, Biometrika 28 (1936). Covers at least at the
// level for every true mean. Two-sided even for x = 0; Count is one-sided there.
func PoissonInterval(x int, level float64) (low, high float64) {
	mustCount(x)
	mustLevel(level)
	tail := (1 - level) / 2
	if x > 0 {
		low = chiSquare(float64(2*x), tail) / 2
	}
	return low, chiSquare(float64(2*x+2), 1-tail) / 2
}

// Count estimates the mean of a Poisson count from x events seen; N counts
// events. None seen gives the one-sided upper bound -ln(1-level), 3.0 at 0.95.
func Count(x int, level float64) Estimate {
	mustCount(x)
	mustLevel(level)
	e := Estimate{Value: float64(x), Level: level, N: x, Known: true, Sides: TwoSided}
	if x == 0 {
		e.Sides, e.High = UpperBound, -math.Log1p(-level)
		return e.With(zeroSeen(e))
	}
	e.Low, e.High = PoissonInterval(x, level)
	if x < EventsLeast {
		e = e.With(fewEvents(x, 0))
	}
	return e
}

// Rate estimates events per unit of exposure (time, unit-hours; above 0) from x
// independent events; N counts events.
func Rate(x int, exposure, level float64) Estimate {
	if !(exposure > 0) || math.IsInf(exposure, 0) {
		panic(fmt.Sprintf("stat: exposure %v is not a positive number", exposure))
	}
	return Count(x, level).Scaled(1 / exposure)
}

// dispersionTail is the probability with which a true Poisson law is taken for
// an overdispersed one. Our own choice; the price of a false alarm is small,
// since the interval used instead holds as well.
const dispersionTail = 0.01

// RateOver estimates events per unit of exposure from the counts of replications
// that each saw the same exposure (above 0); N counts replications. The interval
// is the exact Poisson one of the total, unless the counts vary more than a
// Poisson law allows (index of dispersion, Fisher 1925): events that come in
// groups are no Poisson events, and then it is the t interval over replications.
func RateOver(perReplication []int, exposureEach, level float64) Estimate {
	n := len(perReplication)
	if n == 0 {
		mustLevel(level)
		return unknown("no replication")
	}
	total := 0
	for _, x := range perReplication {
		mustCount(x)
		total += x
	}
	e := Rate(total, float64(n)*exposureEach, level)
	e.Warnings = nil // WithEvents says the same, and knows how many replications there are
	if n > 1 && overdispersed(perReplication, total) {
		spread := Mean(toFloats(perReplication), level).Within(0, math.Inf(1)).Scaled(1 / exposureEach)
		e = spread.With(Warning{Overdispersed,
			"counts vary between replications more than independent events would, so the interval is that of the replications; more of them would narrow it"})
	}
	e.N = n
	return e.WithEvents(perReplication)
}

// overdispersed tests counts against one Poisson law: the sum of squared
// deviations over the mean is then about chi-square with n-1 degrees of freedom.
func overdispersed(counts []int, total int) bool {
	if total == 0 {
		return false
	}
	n := float64(len(counts))
	index := variance(toFloats(counts)) * (n - 1) / (float64(total) / n)
	return index > chiSquare(n-1, 1-dispersionTail)
}

func toFloats(counts []int) []float64 {
	out := make([]float64, len(counts))
	for i, x := range counts {
		out[i] = float64(x)
	}
	return out
}

func mustCount(x int) {
	if x < 0 {
		panic(fmt.Sprintf("stat: count %d is below 0", x))
	}
}
