package stat

import (
	"fmt"
	"math"
)

// Comparison is the difference of two scenarios' means.
type Comparison struct {
	Difference  Estimate // of a less b; N counts pairs, or replications of both when not Paired
	Paired      bool     // replication i of a was compared with replication i of b
	Correlation float64  // achieved by the common draws; 0 when Correlated is false
	Correlated  bool     // whether there is a correlation: pairs, and spread in both
	Reduction   float64  // (var a + var b) / var(a-b): how many times fewer replications pairing needs; +Inf when the difference is constant; 1 when not Paired
	DF          float64  // degrees of freedom of the interval; 0 without one
	P           float64  // two-sided probability of so large a difference by chance; 1 without spread
}

// Paired compares figures a[i] and b[i] of replication i played with the same
// draws: t interval of the differences. When the correlation is not positive the
// pairs have cost more than they gave, and the interval is Welch's, with a warning.
// a and b have equal length.
func Paired(a, b []float64, level float64) Comparison {
	mustLevel(level)
	mustFinite(a)
	mustFinite(b)
	if len(a) != len(b) {
		panic(fmt.Sprintf("stat: %d figures paired with %d", len(a), len(b)))
	}
	d := make([]float64, len(a))
	for i := range a {
		d[i] = a[i] - b[i]
	}
	if len(d) < 2 || allEqual(d) {
		return constantDifference(a, b, d, level)
	}
	r, ok := correlation(a, b)
	if !(r > 0) {
		c := Welch(a, b, level)
		c.Correlation, c.Correlated = r, ok
		c.Difference = c.Difference.With(unpaired(r))
		return c
	}
	df := float64(len(d) - 1)
	spread := variance(d)
	return Comparison{
		Difference: Mean(d, level), Paired: true, Correlation: r, Correlated: true,
		Reduction: (variance(a) + variance(b)) / spread,
		DF:        df,
		P:         tTwoSidedP(df, mean(d)/math.Sqrt(spread/float64(len(d)))),
	}
}

// unpaired warns that pairing was dropped.
func unpaired(r float64) Warning {
	return Warning{Unpaired, fmt.Sprintf(
		"common draws gave a correlation of %.2f, so the two were compared as unrelated; only more replications narrow this", r)}
}

// constantDifference compares when no pair differs from another in its
// difference, or there are fewer than two pairs: there is nothing to test.
func constantDifference(a, b, d []float64, level float64) Comparison {
	c := Comparison{Difference: Mean(d, level), Paired: true, Reduction: 1, P: 1}
	if len(d) < 2 {
		return c
	}
	c.Correlation, c.Correlated = correlation(a, b)
	if c.Correlated {
		c.Reduction = math.Inf(1)
	}
	if d[0] == 0 {
		c.Difference.Reason = fmt.Sprintf("no difference in any of %d pairs", len(d))
		return c
	}
	c.P = 0
	c.DF = float64(len(d) - 1)
	return c
}

// Welch compares two independent sets of figures whose spreads may differ:
// Welch, Biometrika 34 (1947), degrees of freedom by Satterthwaite.
func Welch(a, b []float64, level float64) Comparison {
	mustLevel(level)
	mustFinite(a)
	mustFinite(b)
	c := Comparison{Reduction: 1, P: 1}
	n := len(a) + len(b)
	if len(a) == 0 || len(b) == 0 {
		c.Difference = unknown("no replication on one side")
		return c
	}
	value := mean(a) - mean(b)
	if len(a) < 2 || len(b) < 2 {
		c.Difference = valueOnly(value, n, fmt.Sprintf("one replication shows no spread; run at least %d of each", LookFirst))
		return c
	}
	va, vb := variance(a)/float64(len(a)), variance(b)/float64(len(b))
	if va+vb == 0 {
		c.Difference = valueOnly(value, n, "neither side shows any spread")
		return c
	}
	c.DF = float64((va+vb)*(va+vb)) / (float64(va*va)/float64(len(a)-1) + float64(vb*vb)/float64(len(b)-1))
	se := math.Sqrt(va + vb)
	half := float64(tUpper(c.DF, (1-level)/2) * se)
	c.P = tTwoSidedP(c.DF, value/se)
	c.Difference = withReplications(twoSided(value, value-half, value+half, level, n), min(len(a), len(b)))
	return c
}

// correlation returns Pearson's coefficient, in [-1, 1], of two or more pairs,
// and false when one side has no spread.
func correlation(a, b []float64) (r float64, ok bool) {
	va, vb := variance(a), variance(b)
	if va == 0 || vb == 0 {
		return 0, false
	}
	ma, mb := mean(a), mean(b)
	var s RunningSum
	for i := range a {
		s.Add(float64((a[i] - ma) * (b[i] - mb)))
	}
	r = s.Value() / float64(len(a)-1) / math.Sqrt(va) / math.Sqrt(vb)
	return min(max(r, -1), 1), true
}
