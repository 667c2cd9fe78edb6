package sim

import (
	"math"
	"os"
	"testing"

	"halflight/sim/impact"
)

// The safe order of table updates is that of RFC 6976 section 4, and opposite for a
// link that goes down (farthest first) and one that comes up (nearest first). Who
// comes last is set by mixed timers: 1 s of wait where the others have 50 ms; the link
// leaf-0-2~spine-0-0 of three leaves and two spines is cut at 1 s and has light again
// from 30 s on, so that its adjacency is up at 32 s, all timers at rest. Worked by hand
// (ms): the first 30 cost 1/3, what spine-0-0 drops until the leaves leave it out 1/6,
// what it sends round by leaves that still send to it comes back, 1/8.
//
// Leaves last: spine-0-0 writes at 1,110, leaves at 2,062; on the return spine-0-0 first.
// Spine last: leaves write at 1,112; on the return at 32,082, spine-0-0 at 33,030.
// Without transit through leaves spine-0-0 has no way round: as much is lost as goes by
// it, in holes, and nothing loops.
func TestOrderOfUpdates(t *testing.T) {
	settings, err := os.ReadFile("testdata/story/settings.yaml")
	if err != nil {
		t.Fatal(err)
	}
	const leavesLast, spinesLast = "timers.mixed=[{on: leaf, spf: {rfc8405: {initial_delay: 1s}}}]", "timers.mixed=[{on: spine, spf: {rfc8405: {initial_delay: 1s}}}]"
	noticed := 30.0 / 3
	for _, c := range []struct {
		name, set, transit     string
		down, up               float64 // ms of all demand lost, without what loops
		downInLoops, upInLoops float64
	}{
		{"leaves last", leavesLast, "overload.leaves=false", noticed + 80./6, 0, 952. / 8, 0},
		{"spine last", spinesLast, "overload.leaves=false", noticed + 82./6, 0, 0, 948. / 8},
		{"leaves last, no transit", leavesLast, "overload.leaves=true", noticed + 1032./6, 0, 0, 0},
		{"spine last, no transit", spinesLast, "overload.leaves=true", noticed + 82./6, 948. / 6, 0, 0},
		{"in order", "fib.ordered={hold: 100ms, step: 50ms}", "overload.leaves=false", noticed + 122./6, 0, 0, 0},
		{"all at once", "fib.ordered=false", "overload.leaves=false", noticed + 80./6, 0, 2. / 8, 0},
	} {
		w := build(t, c.name, string(settings)+"script: [{at: 1s, on: leaf-0-2~spine-0-0, kind: hard, for: 29s}]\n", "horizon=60s", c.set, c.transit)
		e := newEngine(w, nil, apart)
		e.addScript(w.Script)
		e.advance(20e9)
		e.ledger.Flush(20e9)
		down, phases := e.ledger.Lost(0)
		downLoops := phases[impact.Loop]
		e.run()
		both, phases := e.ledger.Lost(0)
		for _, v := range []struct {
			what      string
			got, want float64
		}{
			{"down", down - downLoops, c.down}, {"down, in loops", downLoops, c.downInLoops},
			{"up", both - down - (phases[impact.Loop] - downLoops), c.up}, {"up, in loops", phases[impact.Loop] - downLoops, c.upInLoops},
		} {
			if math.Abs(v.got*1e3-v.want) > 1e-9 {
				t.Errorf("%s: %s: %v ms, want %v", c.name, v.what, v.got*1e3, v.want)
			}
		}
	}
}
