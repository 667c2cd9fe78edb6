package sim

import (
	"fmt"
	"math"
	"testing"

	"halflight/sim/impact"
)

// Phases by hand: to whose run a lost second is charged where runs and writes of two
// faults overlap. Three leaves, all six pairs alike; events at rest start a run after
// 50 ms, later ones after 200 ms; an LSP takes 2 ms a hop.
func TestPhasesByHand(t *testing.T) {
	for _, c := range []struct {
		name, spines, learn, run, prune, script string
		fault                                   int32
		want                                    map[impact.Phase]float64
	}{
		// The leaves that lose, by spine-0-1, what they send to leaf-0-2: 2/6 of all, 1/3 of it
		// until the run of 82 ms for the first cut writes at 112 ms, 1/2 from then on. What the
		// second cut costs, noticed at 90 ms: leaf-0-2's own 2/6, half of it, for 30 ms and theirs
		// (5/18 x 30 ms); flooding 90 to 92 ms; wait of 200 ms, of which 150 are penalty (1/6); the run
		// of 292 to 302 ms (1/6); 18 ms of table writes (1/6), up to that of spine-0-1 at 320 ms,
		// from which on it loops. The run of 82 ms, of which a write was on its way, could not know.
		{"a write on its way", "3", "500ms", "10ms", "0s", "{at: 0s, on: leaf-0-2~spine-0-0, kind: hard}, {at: 60ms, on: leaf-0-2~spine-0-1, kind: hard}", 1,
			map[impact.Phase]float64{impact.Detection: 5. / 18 * 30e-3, impact.Flooding: 1. / 9 * 2e-3, impact.Penalty: 1. / 6 * 150e-3,
				impact.SPFRun: 1. / 6 * 10e-3, impact.FIBUpdate: 1. / 6 * 18e-3}},
		// What leaf-0-0 sends to leaf-0-2 by spine-0-0, 1/12 of all. Its run for the first cut lasts
		// from 82 to 582 ms. Of the second cut leaf-0-2 tells alone, at 90 ms (spine-0-0 may not send
		// again yet), by spine-0-1: heard at 94 ms. The wait of 200 ms from then on ends while that run goes
		// on, and the next begins at 582 ms: 50 ms as at rest, the rest penalty, and 500 ms of run.
		{"a run that waits for one", "2", "3s", "500ms", "0s", "{at: 0s, on: leaf-0-1~spine-0-0, kind: hard}, {at: 60ms, on: leaf-0-2~spine-0-0, kind: hard}", 1,
			map[impact.Phase]float64{impact.Flooding: 1. / 12 * 4e-3, impact.SPFWait: 1. / 12 * 50e-3, impact.Penalty: 1. / 12 * 438e-3,
				impact.SPFRun: 1. / 12 * 500e-3}},
		// What leaf-0-2 sends by spine-0-0, 1/9 of all, waits for its prune from 30 to 35 ms: no LSP
		// would help. The others' 1/9 waits for theirs: 2 ms of flooding, 50 ms, 10 ms of run, and
		// from 92 ms on for the table, up to 110 ms, when spine-0-0 sends it back.
		{"a prune that is waited for", "3", "500ms", "10ms", "5ms", "{at: 0s, on: leaf-0-2~spine-0-0, kind: hard}", 0,
			map[impact.Phase]float64{impact.Detection: 2. / 9 * 30e-3, impact.LSPWait: 0, impact.Flooding: 1. / 9 * 2e-3, impact.SPFWait: 1. / 9 * 50e-3,
				impact.SPFRun: 1. / 9 * 10e-3, impact.FIBUpdate: 1. / 9 * (5e-3 + 18e-3)}},
	} {
		w := build(t, "phases", fmt.Sprintf(`
name: phases
horizon: 20s
random: false
fabric: {clos: {pods: 1, leaves: 3, spines: %s, tops: 0}}
timers:
  spf: {rfc8405: {initial_delay: 50ms, short_delay: 200ms, long_delay: 5s, time_to_learn: %s, holddown: 10s}}
  lsp_generation: {first_delay: 0s, incremental_delay: 100ms, maximum_delay: 2s, wait_time: 4s}
  spf_run: %s
fib: {base: 20ms, per_prefix: 0s, local_prune: true, prune_delay: %s}
detection: {signal: 30ms, settle: 2s, bfd: false, hello: false}
flooding: {per_hop: 2ms, exchange: 0s, pacing: false, second_lsp_counts: true}
overload: {leaves: false, until_ready: true}
script: [%s]
`, c.spines, c.learn, c.run, c.prune, c.script))
		e := playScript(w, w.Script)
		_, got := e.ledger.Lost(c.fault)
		for phase, want := range c.want {
			if math.Abs(got[phase]-want) > 1e-12 {
				t.Errorf("%s: %v lost seconds in phase %d, want %v (of %v)", c.name, got[phase], phase, want, got)
			}
		}
	}
}

// A spine that hangs, which its top notices long before its leaves do: these prune it
// the instant at which they notice, so that nothing waits for a prune, and tables are
// written in no time. What leaves lose until then is in no case table writes.
func TestPruneFromWhenTheRouterNoticed(t *testing.T) {
	w := build(t, "phases", `
name: phases
horizon: 20s
random: false
fabric: {clos: {pods: 2, leaves: 2, spines: 2, tops: 1}}
timers:
  spf: {rfc8405: {initial_delay: 50ms, short_delay: 200ms, long_delay: 5s, time_to_learn: 500ms, holddown: 10s}}
  lsp_generation: {first_delay: 0s, incremental_delay: 100ms, maximum_delay: 2s, wait_time: 4s}
  spf_run: 0s
fib: {base: 0s, per_prefix: 0s, local_prune: true, prune_delay: 0s}
detection: {signal: 30ms, settle: 2s, bfd: {interval: 10ms, multiplier: 3, at: {leaf: {interval: 10ms, receive: 300ms}}}, hello: false}
flooding: {per_hop: 2ms, exchange: 0s, pacing: false, second_lsp_counts: true}
overload: {leaves: true, until_ready: true}
script: [{at: 1s, on: spine-0-0, kind: hard, light: true, plane: data}]
`)
	e := playScript(w, w.Script)
	total, got := e.ledger.Lost(0)
	if got[impact.Detection] == 0 || got[impact.FIBUpdate] != 0 {
		t.Errorf("%v lost seconds, of which %v in detection and %v in table writes, want some and none", total, got[impact.Detection], got[impact.FIBUpdate])
	}
}

// What a class felt, told by steps, may come out up to a step longer than the time
// there is (sim/impact): no share is above 1, no leaf degraded for longer.
func TestNoMoreThanAllIsFelt(t *testing.T) {
	w := build(t, "felt", "name: felt\nrandom: false\nfabric: {clos: {pods: 1, leaves: 2, spines: 1, tops: 0}}")
	e := newEngine(w, nil, traced)
	const length = 3.6e12 // an hour
	got := e.application(func(leaf int32) (float64, int64) { return length + 1e6, length + 1e6 }, length)
	if got.SlowShare != 1 || got.WorstLeaf != 1 || got.P99Leaf != 1 || got.DegradedLeafHours != 2 {
		t.Errorf("a slow share of %v, %v at the worst leaf, %v at the 99th percentile, %v degraded hours: want 1, 1, 1 and 2", got.SlowShare, got.WorstLeaf, got.P99Leaf, got.DegradedLeafHours)
	}
}
