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

// A spine of the large fabric whose forwarding hangs while some directions of its plane
// drop something: its tops notice one after the other, and what is for its pod goes round
// between tops and spines meanwhile. The set-up is not timed.
func BenchmarkSpineInNoise(b *testing.B) {
	script := ""
	for _, on := range []string{"top-10-09>spine-06-10", "spine-09-10>top-10-07", "spine-07-10>top-10-02", "top-10-11>spine-19-10",
		"spine-06-10>top-10-21", "spine-28-10>top-10-15", "top-10-15>spine-28-10", "top-10-04>spine-31-10"} {
		script += "  - {at: 1s, on: " + on + ", kind: silent, loss: 0.03}\n"
	}
	w := sized(b, 2880, "failures: []\nhorizon: 2min\nscript:\n"+script+"  - {at: 10s, on: spine-15-10, kind: hard, light: true, plane: data, for: 30s}\n")
	for b.Loop() {
		b.StopTimer()
		e := newRandom(w, 1, 0, asFits)
		b.StartTimer()
		e.run()
	}
}
