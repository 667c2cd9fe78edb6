package reliability

import "math"

// An alarm of a test is c or more losses among n probes.

// AlarmThreshold is the smallest c at which the expected false alarms of m tests stay within alpha: m P(X >= c) <=
// alpha, X ~ Binomial(n, p0), p0 the loss of a healthy path. n >= 1, m >= 1, alpha > 0.
func AlarmThreshold(n int, p0, alpha float64, m int) int {
	require(n >= 1 && m >= 1 && alpha > 0, "an alarm threshold needs probes and tests of at least 1 and a budget above 0")
	c := 0
	for FalseAlarms(n, c, p0, m) > alpha {
		c++
	}
	return c
}

// FalseAlarms is the expected number of false alarms of m tests with threshold c.
func FalseAlarms(n, c int, p0 float64, m int) float64 {
	return float64(m) * BinomialTail(c, n, p0)
}

// AlarmPower is the probability that one test of a path of loss p alarms.
func AlarmPower(n, c int, p float64) float64 { return BinomialTail(c, n, p) }

// AlarmWindows is the mean number of tests, none overlapping, to the first alarm on a path of loss p.
func AlarmWindows(n, c int, p float64) float64 { return 1 / AlarmPower(n, c, p) }

// TestLevel is the level of each of m independent tests that alarm falsely at all with probability alpha: a little above
// alpha/m (Sidak 1967, from memory).
func TestLevel(alpha float64, m int) float64 {
	require(alpha > 0 && alpha < 1 && m >= 1, "a test level needs alpha between 0 and 1 and at least one test")
	return -math.Expm1(math.Log1p(-alpha) / float64(m))
}

// ProbesToSee is the smallest number of probes that shows a loss of p at least once with probability 1-miss.
func ProbesToSee(p, miss float64) int {
	require(p > 0 && p < 1 && miss > 0 && miss < 1, "probes to see a loss need both probabilities between 0 and 1")
	return int(math.Ceil(math.Log(miss) / math.Log1p(-p)))
}
