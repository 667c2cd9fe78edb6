package stat

import (
	"math"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"
)

// steady rounds to twelve digits, which is what these laws are good for: the last
// bits differ between processors with and without fused multiply-add, and summaries
// must not.
func steady(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'e', 11, 64), 64) // of what was just written
	return v
}

// tUpper returns the t with probability tail above it, for df > 0 degrees of
// freedom; asked from the lower side, where a small tail loses no digits.
func tUpper(df, tail float64) float64 {
	return steady(-distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(tail))
}

// tTwoSidedP returns the probability of a |t| at least as large as the one given.
func tTwoSidedP(df, t float64) float64 {
	return steady(2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.CDF(-math.Abs(t)))
}

// zUpper returns the normal deviate with probability tail above it.
func zUpper(tail float64) float64 { return steady(-distuv.UnitNormal.Quantile(tail)) }

// chiSquare returns the quantile p of chi-square with df > 0 degrees of freedom.
func chiSquare(df, p float64) float64 { return steady(distuv.ChiSquared{K: df}.Quantile(p)) }

// betaQuantile returns the quantile p of the beta law with shapes a, b > 0. Where
// a shape is 1 the closed form is used: for 1 and 3e6 distuv is off by 1.3e-9.
func betaQuantile(a, b, p float64) float64 {
	switch {
	case a == 1:
		return steady(-math.Expm1(math.Log1p(-p) / b))
	case b == 1:
		return steady(math.Exp(math.Log(p) / a))
	}
	return steady(distuv.Beta{Alpha: a, Beta: b}.Quantile(p))
}

// binomialAtMost returns P(B <= k) for n trials of probability p; 0 for k < 0.
func binomialAtMost(n int, p float64, k int) float64 {
	switch {
	case k < 0:
		return 0
	case k >= n || p == 0:
		return 1
	case p == 1:
		return 0
	}
	return steady(distuv.Binomial{N: float64(n), P: p}.CDF(float64(k)))
}

// normalBelow returns the probability that a normal deviate is below z.
func normalBelow(z float64) float64 { return steady(distuv.UnitNormal.CDF(z)) }
