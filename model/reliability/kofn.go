package reliability

import "math"

// A k-of-n system is up while at least k of its n units are up.

func requireKofN(n, k int) {
	require(k >= 1 && n >= k, "a k-of-n system needs 1 <= k <= n")
}

// MTTFNoRepair is the mean time to system failure from all units up, without repair, in units of one unit's MTBF:
// sum of 1/i over i = k..n.
func MTTFNoRepair(n, k int) float64 {
	requireKofN(n, k)
	sum := 0.0
	for i := n; i >= k; i-- { // small terms first
		sum += 1 / float64(i)
	}
	return sum
}

// Reliability is the probability that at least k of n independent units are up, each with probability r (NIST/SEMATECH
// e-Handbook 8.1.8.4).
func Reliability(n, k int, r float64) float64 {
	requireKofN(n, k)
	return BinomialTail(k, n, r)
}

// Unreliability is the probability that fewer than k of n independent units are up, each down with probability q: one
// less Reliability at r = 1-q, without cancellation.
func Unreliability(n, k int, q float64) float64 {
	requireKofN(n, k)
	return BinomialTail(n-k+1, n, q)
}

// ReliabilityAt is the probability that a system of new units with exponential lives of mean mtbf, without repair, has
// not failed by time t; mtbf and t in any one unit.
func ReliabilityAt(n, k int, mtbf, t float64) float64 {
	requireKofN(n, k)
	require(mtbf > 0 && t >= 0, "reliability at a time needs an MTBF above 0 and a time of at least 0")
	return binomialTail(k, n, math.Exp(-t/mtbf), -math.Expm1(-t/mtbf))
}

// UnreliabilityAt is one less ReliabilityAt, without cancellation.
func UnreliabilityAt(n, k int, mtbf, t float64) float64 {
	requireKofN(n, k)
	require(mtbf > 0 && t >= 0, "reliability at a time needs an MTBF above 0 and a time of at least 0")
	return binomialTail(n-k+1, n, -math.Expm1(-t/mtbf), math.Exp(-t/mtbf))
}

// HazardAt is the system's failure rate at time t given that it has not failed before, as ReliabilityAt.
func HazardAt(n, k int, mtbf, t float64) float64 {
	r := ReliabilityAt(n, k, mtbf, t)
	exactlyK := binomialMass(k, n, math.Exp(-t/mtbf), -math.Expm1(-t/mtbf))
	return float64(k) / mtbf * exactlyK / r
}
