package reliability

import "math"

// smallTerm ends a sum of positive falling terms: what is left is below rounding.
const smallTerm = 1e-18

// BinomialTail returns P(X >= c) of X ~ Binomial(n, p), summed from its own side: relative error about 1e-12 however
// small it is. 1 for c <= 0, 0 for c > n.
func BinomialTail(c, n int, p float64) float64 {
	require(n >= 0 && p >= 0 && p <= 1, "a binomial needs n >= 0 and p from 0 to 1")
	return binomialTail(c, n, p, 1-p)
}

func binomialTail(c, n int, p, q float64) float64 {
	if c <= 0 {
		return 1
	}
	if float64(c) <= float64(n)*p { // the body is the small side, the same law counted from the other end
		return 1 - binomialUp(n-c+1, n, q, p)
	}
	return binomialUp(c, n, p, q)
}

// binomialUp sums the masses from c upwards; exact to rounding when c is above the mean.
func binomialUp(c, n int, p, q float64) float64 {
	term := binomialMass(c, n, p, q)
	sum := term
	for j := c; j < n && term > smallTerm*sum; j++ {
		term *= float64(n-j) / float64(j+1) * (p / q)
		sum += float64(term)
	}
	return sum
}

// PoissonTail returns P(X >= c) of X ~ Poisson(mean), summed from its own side. 1 for c <= 0.
func PoissonTail(c int, mean float64) float64 {
	if c <= 0 {
		return 1
	}
	if float64(c) <= mean {
		return 1 - poissonDown(c-1, mean)
	}
	term := PoissonMass(c, mean)
	sum := term
	for j := c + 1; term > smallTerm*sum; j++ {
		term *= mean / float64(j)
		sum += float64(term)
	}
	return sum
}

// poissonDown is P(X <= c) for c below the mean.
func poissonDown(c int, mean float64) float64 {
	term := PoissonMass(c, mean)
	sum := term
	for j := c; j > 0 && term > smallTerm*sum; j-- {
		term *= float64(j) / mean
		sum += float64(term)
	}
	return sum
}

// poissonSummed is the largest mean whose quantiles are found by summing masses.
const poissonSummed = 1e9

// expand is the quantile of a count of given mean and second to fourth cumulants by the expansion of Cornish and Fisher
// (1938, from memory). A uniform share of 1 is added to the count, which makes its law continuous and alters the even
// cumulants by 1/12 and -1/120. Its error is about 1/k2: no whole number, when k2 is large.
func expand(mean, k2, k3, k4, level float64) int {
	k2, k4 = k2+1.0/12, k4-1.0/120
	z := math.Sqrt2 * math.Erfinv(2*level-1)
	skew, peak := k3/(k2*math.Sqrt(k2)), k4/(k2*k2)
	square := float64(z * z)
	z += skew*(square-1)/6 + peak*z*(square-3)/24 - skew*skew*z*(float64(2*square)-5)/36
	return max(0, int(math.Ceil(mean+float64(math.Sqrt(k2)*z)-0.5)))
}

// PoissonQuantile returns the smallest s with P(X <= s) >= level, X ~ Poisson(mean), 0 <= level < 1.
func PoissonQuantile(mean, level float64) int {
	require(level >= 0 && level < 1, "a level must be at least 0 and below 1")
	if mean > poissonSummed {
		return expand(mean, mean, mean, mean, level)
	}
	enough := func(s int) bool { return PoissonTail(s+1, mean) <= 1-level }
	high := int(mean) + 8
	for !enough(high) {
		high += 8 + int(math.Sqrt(mean))
	}
	low := -1 // never enough by definition: the answer lies in (low, high]
	for high-low > 1 {
		if mid := low + (high-low)/2; enough(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// PoissonRange returns the central range of a Poisson count: the smallest counts whose distribution reaches (1-level)/2
// and (1+level)/2. 0 < level < 1.
func PoissonRange(mean, level float64) (low, high int) {
	require(level > 0 && level < 1, "a level must lie between 0 and 1")
	return PoissonQuantile(mean, (1-level)/2), PoissonQuantile(mean, (1+level)/2)
}
