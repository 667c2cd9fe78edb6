package sim

import "testing"

// One link between a leaf and a spine of the large fabric is cut and comes back,
// all timers at rest before each: what the engine of random runs takes for one of
// the two. Every time another link; equal routers, so that they run and write
// together. The set-up is not timed.
func BenchmarkTransition(b *testing.B) {
	swings(b, sized(b, 2880, "random: false"), nil)
}

// One replication of five days, set-up and record included.
func BenchmarkTidewater(b *testing.B) {
	w := shipped(b, "tidewater", "horizon=5d", "warm_up=0s")
	faults := 0
	for b.Loop() {
		faults = len(Play(w, 1, 0).Faults)
	}
	b.ReportMetric(float64(faults), "faults")
}

// One day of the large fabric. The set-up, once a replication, is not timed.
func BenchmarkGlacierDay(b *testing.B) {
	w := shipped(b, "glacier", "horizon=1d", "warm_up=0s")
	faults := 0
	for b.Loop() {
		b.StopTimer()
		e := newRandom(w, 1, 0, asFits)
		b.StartTimer()
		e.run()
		faults = len(e.faults)
	}
	b.ReportMetric(float64(faults), "faults")
}
