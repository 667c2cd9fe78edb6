// Package kernel is the bare ground a replication stands on: virtual time and
// its event queue (queue.go, event.go), cancellation by generation (timer.go),
// counter-based random draws (draw.go, philox.go) and the quantile functions
// that turn a draw into a duration or a share (elementary.go, normal.go,
// quantile.go, duration.go).
//
// It may not know anything of ours: no router, link, fault or scenario. Event
// kinds, ranks and owners are plain numbers here; the rooms above name them.
// It reads no clock, no environment and no global generator, so everything in
// it is a pure function of its arguments or of the calls made so far.
//
// How it is tested: the queue against a plain sorted list on random pushes and
// pops full of ties, and against container/heap in benchmarks; the generator
// against its authors' known answers and by statistics; the quantiles against
// gonum's distuv, against math/big, and by a digest that must be the same on a
// processor with and without fused multiply-add.
package kernel
