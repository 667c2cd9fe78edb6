package reliability

import "math"

// TailAmplification is the probability that at least one of n independent parts is hit, each with probability p:
// 1-(1-p)^n. A request of n packets, a fan-out to n servers, a frame of n bits.
func TailAmplification(p float64, n int) float64 {
	require(p >= 0 && p <= 1 && n >= 0, "amplification needs a probability from 0 to 1 and a count of at least 0")
	if n == 0 {
		return 0
	}
	return -math.Expm1(float64(n) * math.Log1p(-p))
}

// ThroughputRFC5348 is the sending rate of RFC 5348 section 3.1, bytes/s: segment of size bytes, round trip rtt s, loss
// event rate p, packets acknowledged at once b (1 recommended), retransmission time-out tRTO s (4 rtt recommended; at
// data-centre round trips the operating system's minimum decides instead). +Inf at p = 0.
func ThroughputRFC5348(size, rtt, p, b, tRTO float64) float64 {
	require(size > 0 && rtt > 0 && p >= 0 && p <= 1 && b > 0 && tRTO >= 0,
		"a rate needs a segment, a round trip and b above 0, a loss from 0 to 1 and a time-out of at least 0")
	fast := float64(rtt * math.Sqrt(2*b*p/3))
	slow := float64(tRTO * 3 * math.Sqrt(3*b*p/8) * p * (1 + float64(32*p*p)))
	return size / (fast + slow)
}

// Constants of the square-root model.
var (
	SquareRootEach   = math.Sqrt(3.0 / 2) // every packet acknowledged (Mathis et al. 1997, from memory)
	SquareRootSecond = math.Sqrt(3.0 / 4) // every second one (same)
)

// SquareRootRFC3649 is the constant of the response function of RFC 3649 section 5: w = 1.2 / sqrt(p).
const SquareRootRFC3649 = 1.2

// ThroughputSquareRoot is the square-root model, bytes/s: segment x c / (rtt sqrt p). Not valid above about 1 % loss,
// where time-outs decide.
func ThroughputSquareRoot(size, rtt, p, c float64) float64 {
	require(size > 0 && rtt > 0 && p >= 0 && p <= 1 && c > 0,
		"a rate needs a segment, a round trip and a constant above 0 and a loss from 0 to 1")
	return size * c / (rtt * math.Sqrt(p))
}
