package sim

import (
	"math"
	"testing"

	"halflight/sim/record"
)

// A fault waits for SPF from its first event at a router to the run that answers it, whoever started the
// timer; neither its return nor later flaps count. By hand: all timers are in LONG_WAIT at first, so the first
// cut's LSPs (1 s, 60 ms of detection and LSP generation) start 5 s; those of the second, a second later,
// wait for the other 4 s. Both begin in noise.
func TestSPFWaitOfRunningTimers(t *testing.T) {
	e := newRandom(build(t, "wound", `
name: wound
horizon: 60s
warm_up: 0s
routers: {spread: 0}
start: {backoff: last}
fabric: {clos: {pods: 1, leaves: 4, spines: 2, tops: 0}}
failures: []
script:
  - {at: 1s, on: leaf-0-0~spine-0-0, kind: hard}
  - {at: 2s, on: leaf-0-2~spine-0-1, kind: hard}
  - {at: 40s, on: leaf-0-3~spine-0-1, kind: hard, for: 1s}
`), 1, 0, apart)
	e.run()
	faults := e.record(0).Faults
	for i, want := range []struct {
		wait       float64
		background record.Background
	}{{5, record.Noise}, {4, record.Noise}, {0.05, record.Quiet}} {
		f := &faults[i]
		if wait := float64(f.SPFWait) / 1e9; wait < want.wait-0.003 || wait > want.wait+0.003 || f.Touched != 6 || f.Background != want.background {
			t.Errorf("cut %d: waited %v s at %d routers, background %v; want %v s at 6, %v", i, wait, f.Touched, f.Background, want.wait, want.background)
		}
	}
}

// Noise is a back-off that is not in its first state, not the time since the last event: of doubling
// whose longest delay is far beyond its quiet time a second cut, 2 s after the first, finds all at rest.
func TestNoiseIsOfTheStates(t *testing.T) {
	for wait, want := range map[string]record.Background{"100ms": record.Quiet, "4s": record.Noise} {
		e := newRandom(build(t, "doubling", `
name: doubling
horizon: 30s
warm_up: 0s
timers: {spf: {doubling: {form: a, first_delay: 50ms, incremental_delay: 5s, maximum_delay: 5s, wait_time: `+wait+`}}}
fabric: {clos: {pods: 1, leaves: 4, spines: 2, tops: 0}}
failures: []
script:
  - {at: 1s, on: leaf-0-0~spine-0-0, kind: hard}
  - {at: 3s, on: leaf-0-2~spine-0-1, kind: hard}
`), 1, 0, apart)
		e.run()
		if got := e.record(0).Faults; got[0].Background != record.Quiet || got[1].Background != want {
			t.Errorf("quiet time %s: the cuts begin in %v and %v, want %v and %v", wait, got[0].Background, got[1].Background, record.Quiet, want)
		}
	}
}

// A fault waits for SPF from its first event to the start of the run that answers it (S4, S15, S16), by hand. What a
// router heard before it died is lost, and is no wait when it is back (S6): the cut's LSPs start 5 s, and leaf-0-3 dies in
// them. An LSP arrives as a run starts and another of that fault 15 ms later. A run that waits for the one before answers
// what was heard until it begins, whoever's timer brought it: with runs of 10 s the first cut's last from 1.11 to
// 11.11 s; the second's timers (2.06 s, LONG_WAIT) expire at 7.06 s, the third's, from 10.96 s, at 15.96 s, and the run
// that begins at 11.11 s answers both.
func TestSPFWaitByHand(t *testing.T) {
	const timers = `
  lsp_generation: {first_delay: 0ms, incremental_delay: 100ms, maximum_delay: 2s, wait_time: 4s}
  spf: {rfc8405: {initial_delay: 50ms, short_delay: 200ms, long_delay: 5s, time_to_learn: 500ms, holddown: 10s}}
`
	for _, c := range []struct {
		text   string
		within float64
		want   []float64
	}{{`
start: {backoff: last}
script:
  - {at: 1s, on: leaf-0-0~spine-0-0, kind: hard}
  - {at: 2s, on: leaf-0-3, kind: hard, for: 20s}
`, 0.01, []float64{5}}, {`
start: {backoff: last}
script:
  - {at: 1s, on: leaf-0-0~spine-0-0, kind: hard}
  - {at: 3s, on: leaf-0-3, kind: hard, for: 1h}
`, 1e-9, []float64{5}}, {`
detection: {bfd: false, hello: false, signal: 10ms}
overload: {leaves: false}
flooding: {per_hop: 5ms}
timers:` + timers + `
script:
  - {at: 1s, on: leaf-0-0~spine-0-0, kind: hard}
  - {at: 1045ms, on: leaf-0-2~spine-0-1, kind: hard}
`, 1e-9, []float64{0.05, 0.2}}, {`
timers: {spf_run: 10s}
script:
  - {at: 1s, on: leaf-0-0~spine-0-0, kind: hard}
  - {at: 2s, on: leaf-0-2~spine-0-1, kind: hard}
  - {at: 10900ms, on: leaf-0-3~spine-0-1, kind: hard}
`, 0.005, []float64{0.05, 9.05, 0.15}}, {`
detection: {bfd: false, hello: false, signal: 10ms}
timers:
  spf_run: 1s` + timers + `
script:
  - {at: 1s, on: leaf-0-0~spine-0-0, kind: hard}
  - {at: 1100ms, on: leaf-0-2~spine-0-1, kind: hard}
  - {at: 1500ms, on: leaf-0-3~spine-0-1, kind: hard}
`, 1e-9, []float64{0.05, 0.952, 0.552}}} {
		e := newRandom(build(t, "waits", "name: waits\nhorizon: 2h\nwarm_up: 0s\nrouters: {spread: 0}\nfabric: {clos: {pods: 1, leaves: 4, spines: 2, tops: 0}}\nfailures: []\n"+c.text), 1, 0, apart)
		e.run()
		faults := e.record(0).Faults
		for i, want := range c.want {
			if got := float64(faults[i].SPFWait) / 1e9; math.Abs(got-want) > c.within {
				t.Errorf("%s: %s waits %v s, want %v", c.text, e.faults[i].on, got, want)
			}
		}
	}
}
