package timer

import (
	"math"
	"testing"
)

// Pacing alone: the last of n LSPs leaves after max(0, n - burst) intervals. With
// the 33 ms between LSPs of ISO/IEC 10589 (RFC 9681, section 3) a thousand take
// more than 30 s (RFC 9681, section 1: "more than 30 seconds"), with 1 ms about one.
func TestWindowPacing(t *testing.T) {
	for _, c := range []struct {
		n, burst int
		interval int64
		seconds  float64
	}{
		{64, 1, 33 * ms, 2.079}, {64, 10, 33 * ms, 1.782}, {64, 10, 1 * ms, 0.054},
		{1000, 1, 33 * ms, 32.967}, {1000, 10, 33 * ms, 32.670}, {1000, 10, 1 * ms, 0.990},
		{5, 10, 33 * ms, 0}, {0, 1, 33 * ms, 0},
	} {
		w := Window{On: true, Burst: c.burst, Interval: c.interval, Receive: 1 << 20, PerAck: 1 << 20, AckDelay: 1}
		if got := float64(w.Last(c.n, 2*ms)) / 1e9; math.Abs(got-c.seconds) > 1e-9 {
			t.Errorf("%d LSPs, burst %d, every %d: %g s, want %g", c.n, c.burst, c.interval, got, c.seconds)
		}
	}
}

// The window alone: at most Receive LSPs a round trip (RFC 9681, section 6.2.1: 100
// in 10 ms are 10,000 a second, 100 in 50 ms 2,000).
func TestWindowBound(t *testing.T) {
	for _, c := range []struct {
		roundTrip int64
		rate      float64
	}{{10 * ms, 10_000}, {50 * ms, 2_000}} {
		w := Window{On: true, Burst: 1 << 20, Receive: 100, PerAck: 1}
		const n = 100_001
		if got := (n - 1) / (float64(w.Last(n, c.roundTrip/2)) / 1e9); math.Abs(got/c.rate-1) > 1e-9 {
			t.Errorf("round trip %d: %g LSPs a second, want %g", c.roundTrip, got, c.rate)
		}
	}
}

// A window below what is acknowledged at once waits for the receiver's patience:
// 10 LSPs, then 200 ms (partialSNPInterval of RFC 9681, section 5.1) and a round trip
// of 4 ms, and so on.
func TestWindowWaitsForAcknowledgement(t *testing.T) {
	w := Window{On: true, Burst: 1 << 20, Receive: 10, PerAck: 15, AckDelay: 200 * ms}
	if got := w.Last(31, 2*ms); got != 3*204*ms {
		t.Errorf("%d ns, want 612 ms", got)
	}
	w.PerAck = 10 // now the tenth is acknowledged as it comes
	if got := w.Last(31, 2*ms); got != 3*4*ms {
		t.Errorf("%d ns, want 12 ms", got)
	}
}

// A thousand LSPs with the example of RFC 9681, section 6.2.4.1 (burst 10, window
// 60, an acknowledgement for 15 LSPs or after 200 ms), at 1 ms: the window never
// closes, 0.99 s; with hops of 100 ms a round trip of 200 ms lets 60 through: 3.3 s
// at the least, and no more than a round trip and the pacing more.
func TestThousandLSPs(t *testing.T) {
	w := Window{On: true, Burst: 10, Interval: 1 * ms, Receive: 60, PerAck: 15, AckDelay: 200 * ms}
	if got := w.Last(1000, 2*ms); got != 990*ms {
		t.Errorf("%d ns, want 990 ms", got)
	}
	if got := float64(w.Last(1000, 100*ms)) / 1e9; got < 940.0/60*0.2 || got > 940.0/60*0.2+1.2 {
		t.Errorf("%g s over hops of 100 ms", got)
	}
}
