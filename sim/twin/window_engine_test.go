package twin

import (
	"math/rand/v2"
	"testing"

	"halflight/model/timer"
)

// The closed reckoning of a window agrees with the window played step by step.
func TestWindowAgreesWithSteps(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 303))
	for range 20_000 {
		w := timer.Window{On: true, Burst: 1 + r.IntN(6), Interval: int64(r.IntN(4)) * 1e6, Receive: 1 + r.IntN(8), PerAck: 1 + r.IntN(6),
			AckDelay: int64(r.IntN(6)) * 5e5}
		n, delay := r.IntN(30), int64(r.IntN(4))*1e6
		s := &sim{scn: &scenario{}}
		s.scn.Flooding.Window = window{On: true, Burst: w.Burst, Interval: span(w.Interval), Receive: w.Receive, PerAck: w.PerAck, AckDelay: span(w.AckDelay)}
		if want, got := s.lastLeaves(n, delay), w.Last(n, delay); want != got {
			t.Fatalf("%d LSPs, %d ns away, %+v: %d by steps, %d reckoned", n, delay, w, want, got)
		}
	}
}
