package sim

import (
	"math"
	"testing"

	"halflight/model/failure"
)

// The warm-up without routers against the same with them. In the window there
// are the same faults, at the same instants but for what follows a ticket that
// was earlier by the time that detection takes, and the same losses and states.
func TestWarmUpWithoutRouters(t *testing.T) {
	for _, c := range []struct {
		scenario string
		set      []string
	}{
		{"orchard", []string{"warm_up=60d", "horizon=90d"}},
		{"storm", []string{"warm_up=25h", "horizon=2h"}},
		{"tidewater", []string{"warm_up=4d", "horizon=1d"}},
	} {
		t.Run(c.scenario, func(t *testing.T) {
			w := shipped(t, c.scenario, c.set...)
			faults := 0
			for seed := range uint64(3) {
				a, b := newRandom(w, seed, 0, asFits), newRandom(w, seed, 0, asFits)
				if !a.asleep {
					t.Fatal("the routers are awake from the start")
				}
				b.asleep = false
				a.run()
				b.run()
				short, whole := a.record(0), b.record(0)
				if len(short.Faults) != len(whole.Faults) {
					t.Fatalf("seed %d: %d faults, and %d with routers from the start", seed, len(short.Faults), len(whole.Faults))
				}
				faults += len(short.Faults)
				const late = 1e9 // ns; detection takes less
				for i := range short.Faults {
					f, g := &short.Faults[i], &whole.Faults[i]
					if f.On != g.On || f.Mode != g.Mode || math.Abs(float64(f.Onset-g.Onset)) > late {
						t.Errorf("seed %d: fault %d is on %s at %d, and on %s at %d with routers from the start", seed, i, f.On, f.Onset, g.On, g.Onset)
					}
				}
				close := func(what string, x, y, by float64) {
					if math.Abs(x-y) > by*max(math.Abs(x), math.Abs(y)) {
						t.Errorf("seed %d: %s %v, and %v with routers from the start", seed, what, x, y)
					}
				}
				for s := range short.StateTime {
					close("time in a state", short.StateTime[s], whole.StateTime[s], 1e-4)
				}
				for m := range short.LostSeconds {
					x, y := 0.0, 0.0
					for p := range short.LostSeconds[m] {
						x, y = x+short.LostSeconds[m][p], y+whole.LostSeconds[m][p]
					}
					close("lost seconds of a mode", x, y, 1e-3)
				}
			}
			if faults == 0 {
				t.Error("nothing ever failed: nothing was compared")
			}
		})
	}
}

// Where tables remember what was long ago, or the warm-up is no longer than it takes
// routers to come to where they would be, they are there from the start.
func TestAwakeFromTheStart(t *testing.T) {
	for _, set := range [][]string{{"warm_up=1d"}, {"warm_up=0s"}} {
		if e := newRandom(shipped(t, "orchard", set...), 1, 0, asFits); e.asleep {
			t.Errorf("%v: the routers are asleep", set)
		}
	}
	w := shipped(t, "orchard", "warm_up=2d")
	if !sleeps(w) {
		t.Error("two days: the routers are awake")
	}
	w.Modes = append(w.Modes, failure.Mode{Kind: failure.Unwritten})
	if sleeps(w) {
		t.Error("entries may never be written, and the routers are asleep")
	}
}

// Routers that restart with their tables for longer than their neighbours wait are
// dropped, also if the restart began before the routers are played (S29).
func TestWarmUpAwaitsRestarts(t *testing.T) {
	w := build(t, "kept", `
name: kept
horizon: 1d
warm_up: 3d
fabric: {clos: {pods: 1, leaves: 8, spines: 3, tops: 0}}
failures:
  - {name: slow-boot, on: spine, kind: restart, kept: true, life: {exponential: {mean: 4d}}, down: {fixed: 40h}}
`)
	dropped := 0
	for seed := range uint64(6) {
		a, b := newRandom(w, seed, 0, asFits), newRandom(w, seed, 0, asFits)
		b.asleep = false
		at := w.WarmUp - wakeBefore/2
		a.advance(at)
		b.advance(at)
		for end := range int32(2 * len(w.Fabric.Links)) {
			if a.links.Up(end) != b.links.Up(end) {
				t.Fatalf("seed %d: end %d is up: %v, and %v with routers from the start", seed, end, a.links.Up(end), b.links.Up(end))
			}
			if !a.links.Up(end) {
				dropped++
			}
		}
	}
	if dropped == 0 {
		t.Error("no router was dropped")
	}
}
