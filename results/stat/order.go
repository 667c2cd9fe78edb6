package stat

import (
	"fmt"
	"math"
	"sort"
)

// OrderRanks returns the ranks, counted from 1, of the two values of a sorted
// sample of n independent ones between which the quantile p in (0, 1) lies at
// least at the level, whatever the law: with B ~ Bin(n, p) and a = 1-level, the
// largest low with P(B <= low-1) <= a/2 and the smallest high > low with
// P(B <= high-1) >= 1-a/2 (David and Nagaraja, Order Statistics, 7.1). coverage
// is P(low <= B <= high-1). ok is false, and coverage 0, when low is 0 or high
// is n+1: the sample is too small and has no such values.
func OrderRanks(n int, p, level float64) (low, high int, coverage float64, ok bool) {
	mustLevel(level)
	if n < 1 || !(p > 0 && p < 1) {
		panic(fmt.Sprintf("stat: ranks for quantile %v of %d values", p, n))
	}
	tail := (1 - level) / 2
	low = sort.Search(n, func(k int) bool { return binomialAtMost(n, p, k) > tail })
	high = 1 + sort.Search(n, func(k int) bool { return binomialAtMost(n, p, k) >= 1-tail })
	high = max(high, low+1)
	if low < 1 || high > n {
		return low, high, 0, false
	}
	return low, high, binomialAtMost(n, p, high-1) - binomialAtMost(n, p, low-1), true
}

// OrderLeast returns the smallest sample for which OrderRanks finds both ranks:
// both p^n and (1-p)^n at most (1-level)/2; 36, 72 and 368 for p = 0.9, 0.95,
// 0.99 at level 0.95.
func OrderLeast(p, level float64) int {
	mustLevel(level)
	if !(p > 0 && p < 1) {
		panic(fmt.Sprintf("stat: least sample for quantile %v", p))
	}
	tail := (1 - level) / 2
	// The logarithms may be off by a rounding: start a little below.
	n := max(1, int(math.Log(tail)/math.Log(max(p, 1-p)))-1)
	for binomialAtMost(n, p, 0) > tail || binomialAtMost(n, p, n-1) < 1-tail {
		n++
	}
	return n
}

// Quantile estimates the quantile p in (0, 1) of independent values (one per
// replication, say) by type 7, with the order-statistic interval, which covers
// at least at the level. N counts values. Not available below OrderLeast values.
// Faults of one replication are not independent: see Pooled.
func Quantile(values []float64, p, level float64) Estimate {
	mustLevel(level)
	n := len(values)
	if n == 0 {
		return unknown("no value")
	}
	v := sorted(values)
	low, high, _, ok := OrderRanks(n, p, level)
	if !ok {
		return valueOnly(type7(v, p), n, tooFew(n, p, level))
	}
	return twoSided(type7(v, p), v[low-1], v[high-1], level, n)
}

// tooFew is the reason why n values give a quantile no interval.
func tooFew(n int, p, level float64) string {
	return fmt.Sprintf("not available: an interval at %.4g %% for this quantile needs %d values, there are %d",
		100*level, OrderLeast(p, level), n)
}
