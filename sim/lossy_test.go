package sim

import (
	"math"
	"testing"

	"halflight/sim/kernel"
)

// An LSP that is lost with probability p is sent again after 5 s, again and again
// (minimumLSPTransmissionInterval of ISO/IEC 10589, section 7.3.15.5; RFC 9681,
// section 3): it waits 5 p / (1 - p) s on average, 5, 50.5, 263 and 556 ms at 0.1, 1,
// 5 and 10 % (arithmetic: the mean of a geometric law), each within four standard
// errors of as many draws.
func TestLostLSPsWait(t *testing.T) {
	w := shipped(t, "orchard")
	lost := lostFloods(w, kernel.NewStream(9, 0))
	for p, ms := range map[float64]float64{0.001: 5, 0.01: 50.5, 0.05: 263, 0.1: 556} {
		const floods = 400_000
		sum := 0.0
		for i := range floods {
			sum += float64(lost(int32(i%7), uint64(i), p))
		}
		got := 5000 * sum / floods
		off := 4*5000*math.Sqrt(p)/(1-p)/math.Sqrt(floods) + 0.5
		if math.Abs(got-ms) > off {
			t.Errorf("loss %g: %g ms, want %g within %.2g", p, got, ms, off)
		}
	}
}
