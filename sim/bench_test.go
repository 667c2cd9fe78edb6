package sim

import (
	"testing"

	"halflight/model/failure"
)

// One link between a leaf and a spine of the large fabric is cut and comes back,
// all timers at rest before each: what the engine of random runs takes for one of
// the two. Every time another link; equal routers, so that they run and write
// together. The set-up is not timed.
func BenchmarkTransition(b *testing.B) {
	const apart = 60_000_000_000 // far beyond the longest timer
	w := shipped(b, "glacier", "random=false", "routers.spread=0", "warm_up=0s", "horizon=100y")
	if n := len(w.Fabric.Routers); n != 2880 {
		b.Fatalf("%d routers, want 2880", n)
	}
	e := newEngine(w, nil, together)
	e.settle()
	uplinks, at := w.Fabric.Ports[0], int64(0)
	runs := e.control.SPFRuns
	n := 0
	for b.Loop() {
		leaf := n % w.Fabric.Leaves
		link := w.Fabric.Ports[leaf][(n/w.Fabric.Leaves+n)%len(uplinks)].Link
		e.addFault(fault{Condition: failure.Condition{Kind: failure.Hard}, mode: -1, unit: -1, on: w.Fabric.Links[link].Name,
			onset: at + apart, end: at + 2*apart, links: []int32{link}})
		at += 3 * apart
		e.advance(at)
		e.settle()
		e.ledger.CatchUp(at)
		n++
	}
	if share := e.ledger.Share(); share != 0 {
		b.Fatalf("a share %v is lost after all links are back", share)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(2*n), "ns/transition")
	b.ReportMetric(float64(e.control.SPFRuns-runs)/float64(2*n), "SPF-runs/transition")
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
