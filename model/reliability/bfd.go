package reliability

import "math"

// BFD packets leave after a gap shortened at random by up to a quarter of the interval; with a multiplier of 1 the gap
// lies in 75 to 90 % of it (RFC 5880 section 6.8.7; uniform is our reading). A session is down when multiplier x
// interval has passed since the last packet that arrived.

// MultiplierMax is the largest detection multiplier: eight bits (RFC 5880 section 4.1).
const MultiplierMax = 255

func bfdMeanGap(k int) float64 {
	if k == 1 {
		return 0.825
	}
	return 0.875
}

// BFDFalseDownMean is the mean time to a session falsely down when each packet of one direction is lost independently
// with probability p: g I E + (1-g) k I, with E the mean packets to k losses in a row and g = 0.875 the mean gap
// (0.825 for k = 1). In the unit of interval I. Loss in both directions: the rates add.
func BFDFalseDownMean(p float64, k int, interval float64) float64 {
	requireBFD(p, k, interval)
	g := bfdMeanGap(k)
	return float64(g*interval*RunMean(p, k)) + float64((1-g)*float64(k)*interval)
}

// BFDFalseDownMeanJitter is the same with the packets counted that shortened gaps let in: for k >= 4 a packet more than
// k may fit into the detection time and save the session. Given that one fits, gaps are taken at their plain mean, an
// error below 1e-4.
func BFDFalseDownMeanJitter(p float64, k int, interval float64) float64 {
	requireBFD(p, k, interval)
	// A cycle runs from one arrival to the next, after m losses, or to the end of the session.
	packets := 0.0
	lost := 1.0 // p^m
	for m := 0; m < k || bfdFits(k, m-k+1) > 0; m++ {
		reached := 1.0
		if m >= k {
			reached = bfdFits(k, m-k+1)
		}
		packets += float64(float64(m+1) * lost * (1 - p) * reached)
		lost *= p
	}
	return float64(bfdMeanGap(k)*interval*packets)/BFDDeathProbability(p, k) + float64(float64(k)*interval)
}

// BFDDeathProbability is the probability that an arrival is the last one before the session goes down:
// p^k ((1-f) + f p) where f is the probability that one packet more than k fits, and so on for larger k.
func BFDDeathProbability(p float64, k int) float64 {
	requireRun(p, k)
	sum := 0.0
	for extra := 0; bfdFits(k, extra) > 0; extra++ {
		sum += float64(math.Pow(p, float64(k+extra)) * (bfdFits(k, extra) - bfdFits(k, extra+1)))
	}
	return sum
}

// bfdFits is the probability that k+extra packets are sent within the detection time after an arrival. Gaps are
// 3/4 + U/4, so k+extra of them fit when their uniforms sum to at most k - 3 extra: a whole number, so the probability
// is a sum of Eulerian numbers over (k+extra)!, whose recursion has positive terms only.
func bfdFits(k, extra int) float64 {
	if extra == 0 {
		return 1
	}
	limit := k - 3*extra
	if limit <= 0 || k == 1 {
		return 0
	}
	return uniformSumBelow(k+extra, limit)
}

// uniformSumBelow is P(U1 + ... + Un <= x) for whole x.
func uniformSumBelow(n, x int) float64 {
	cell := make([]float64, n+1) // cell[m] = P(m <= sum < m+1)
	cell[0] = 1
	for i := 2; i <= n; i++ {
		for m := i - 1; m > 0; m-- {
			cell[m] = (float64(float64(i-m)*cell[m-1]) + float64(float64(m+1)*cell[m])) / float64(i)
		}
		cell[0] /= float64(i)
	}
	sum := 0.0
	for m := range min(x, n) {
		sum += cell[m]
	}
	return sum
}

// BFDDetectMean is the mean time from a hard cut at a random moment to the session going down, jittered packets:
// k I less the mean age of the last packet, E[g^2]/(2 E[g]) = 0.4405 I. In the unit of interval I.
func BFDDetectMean(k int, interval float64) float64 {
	requireBFD(0, k, interval)
	low, high := 0.75, 1.0
	if k == 1 {
		high = 0.90
	}
	square := (float64(high*high*high) - float64(low*low*low)) / (3 * (high - low))
	return float64(float64(k)*interval) - float64(square/(low+high)*interval)
}

func requireBFD(p float64, k int, interval float64) {
	requireRun(p, k)
	require(k <= MultiplierMax && interval > 0, "BFD needs a multiplier of 1 to 255 and an interval above 0")
}
