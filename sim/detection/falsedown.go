package detection

import (
	"math"

	"halflight/sim/kernel"
)

// Session is the law of the time until a session of BFD, or of hellos, is
// falsely down at the end that receives a lossy direction: too many packets
// lost in a row. Gaps between packets are shortened at random by up to a share
// of the interval (RFC 5880, section 6.8.7; uniform is our reading), and the
// session is down when multiplier x interval has passed since the last arrival.
type Session struct {
	law    *runLaw
	hold   float64 // detection time, ns
	gap    float64 // mean gap, ns
	spread float64 // width of the gap's law, ns
}

// NewSession returns the law for the loss of the direction, a multiplier of at
// least 1, an interval in ns, and jitter, the share by which gaps may be
// shortened: 0 to below 1, 0 without jitter. It panics outside these ranges.
func NewSession(loss Loss, multiplier int, interval int64, jitter float64) *Session {
	if multiplier < 1 || interval < 1 || !(jitter >= 0 && jitter < 1) || !(loss.Share >= 0 && loss.Share <= 1) {
		panic("detection: a session needs a multiplier and an interval, a jitter below 1 and a share of losses")
	}
	low, high := gaps(multiplier, jitter)
	i := float64(interval)
	return &Session{
		law:    newRunLaw(loss, multiplier, fitting(multiplier, jitter)),
		hold:   float64(i * float64(multiplier)),
		gap:    float64(i * ((low + high) / 2)),
		spread: float64(i * (high - low)),
	}
}

// FalseDown returns the time, in ns, from the session coming up to its being
// falsely down, given one uniform draw; [kernel.Forever] if that is never. It is
// at least multiplier x interval. With both directions lossy the time is the
// lesser of two draws.
//
// The number of packets to the last arrival is drawn exactly, shortened gaps
// that let one more in included. What is left of the draw places the time among
// those of the same number: by a normal law of the sum of its gaps, within the
// range of that sum. Given that one more packet fits, gaps are taken at their
// plain mean, an error below 1e-4 of the mean.
func (s *Session) FalseDown(u float64) int64 {
	n, within := s.law.quantile(u)
	if n >= 0 {
		return kernel.Nanoseconds(s.hold + s.span(n, within))
	}
	table := float64(len(s.law.below) - 1)
	if s.spread == 0 || s.law.hazard <= 0 {
		return kernel.Nanoseconds(s.hold + float64(s.gap*(table+s.law.beyond(within))))
	}
	// So many jittered gaps end anywhere: the geometric law as the exponential
	// one of the same mean, half a gap later.
	packets := table + 0.5 + kernel.Exponential(max(within, 0x1p-53), 1/s.law.hazard-0.5)
	return kernel.Nanoseconds(s.hold + float64(s.gap*packets))
}

// span is the time that n gaps take.
func (s *Session) span(n int, within float64) float64 {
	gaps := float64(n)
	mean := float64(s.gap * gaps)
	if n == 0 || s.spread == 0 {
		return mean
	}
	within = min(max(within, 0x1p-53), 1-0x1p-53)
	if n == 1 {
		return mean + float64(s.spread*(within-0.5))
	}
	most := float64(s.spread * gaps / 2)
	away := float64(float64(s.spread*math.Sqrt(gaps/12)) * kernel.NormQuantile(within))
	return mean + min(max(away, -most), most)
}

// Mean returns the expected FalseDown, in ns; +Inf if it is never.
func (s *Session) Mean() float64 {
	return s.hold + float64(s.gap*s.law.mean())
}

// fitting returns the probabilities that 0, 1, 2, ... packets more than the
// multiplier are sent within the detection time after an arrival. The gaps are
// 1 - jitter x U of the interval, so k+e of them fit when the U sum to at least
// e/jitter, or by symmetry to at most k+e - e/jitter.
func fitting(k int, jitter float64) []float64 {
	fits := []float64{1}
	if jitter == 0 || k == 1 {
		return fits
	}
	for e := 1; ; e++ {
		limit := float64(k+e) - float64(e)/jitter
		if limit <= 1e-9 {
			return fits
		}
		p := uniformSumBelow(k+e, limit)
		if p < 1e-18 {
			return fits
		}
		fits = append(fits, p)
	}
}

// uniformSumBelow is the probability that n uniform numbers sum to at most x:
// the density of n+1 of them at x, x-1, x-2, ... added up, by the recursion of
// B-splines, whose terms are positive.
func uniformSumBelow(n int, x float64) float64 {
	if x >= float64(n) {
		return 1
	}
	whole := int(x)
	rest := x - float64(whole)
	density := make([]float64, whole+1) // of i uniforms at rest+j
	density[0] = 1
	for i := 2; i <= n+1; i++ {
		for j := min(whole, i-1); j >= 0; j-- {
			y := rest + float64(j)
			d := float64(y * density[j])
			if j > 0 {
				d += float64((float64(i) - y) * density[j-1])
			}
			density[j] = d / float64(i-1)
		}
	}
	sum := 0.0
	for _, d := range density {
		sum += d
	}
	return min(sum, 1)
}
