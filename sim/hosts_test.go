package sim

import (
	"fmt"
	"testing"

	"halflight/model"
	"halflight/sim/record"
)

// hosted is a world in which nothing but hosts goes away, and none comes back.
func hosted(t testing.TB, more string, set ...string) *model.World {
	t.Helper()
	return build(t, "hosted", `
name: hosted
fabric: {clos: {pods: 1, leaves: 2, spines: 2, tops: 0}}
telemetry: [{name: nobody, complaints: false}]
applications: []
detection: {signal: 0s, settle: 0s}
`+more, set...)
}

// Hosts that go away at the events of a Poisson process give every back-off machine
// Poisson triggers: the shares, SPF rates and waits of RFC 8405 (see busyness), although
// no table ever changes and nothing is lost.
func TestBackoffUnderHosts(t *testing.T) {
	t.Parallel()
	for _, c := range busyness[:4] {
		w := hosted(t, fmt.Sprintf(`
warm_up: 10min
horizon: %.0fs
failures: []
timers: {spf_run: 0s, spf: {rfc8405: {initial_delay: %s, short_delay: %s, long_delay: %s, time_to_learn: %s, holddown: %s}}, lsp_generation: {first_delay: 0s, incremental_delay: 0s, maximum_delay: 0s, wait_time: 1ns}}
underlay: {hosts: 10, reboots: {rate: 1/%.0fs, away: 200y}, flaps: false}
`, 1000*c.every, c.initial, c.short, c.long, c.learn, c.hold, 20*c.every))
		all := playAll(w, 84, 40)
		name := fmt.Sprintf("every %g s, long %s", c.every, c.long)
		for s, want := range []float64{c.quiet, c.brief, c.deep} {
			agrees(t, name+": "+[]string{"QUIET", "SHORT_WAIT", "LONG_WAIT"}[s], shareOf(all, s), want)
		}
		agrees(t, name+": SPF runs an hour", each(all, runsAnHour), c.runs)
		agrees(t, name+": mean wait", each(all, func(r *record.Replication) float64 { return r.WaitMean / 1e9 }), c.wait)
		agrees(t, name+": LSPs", each(all, func(r *record.Replication) float64 { return float64(r.Originations) }), 1000)
		for i := range all {
			if lostOf(&all[i]) != 0 || len(all[i].Faults) != 0 {
				t.Errorf("%s: hosts cost %v s", name, lostOf(&all[i]))
			}
		}
	}
}

// A reboot is noticed twice, as light goes and after it was back for the time to settle;
// a flap shorter than its detection is not. The parts that fail do as they did without hosts.
func TestHostsLeaveFaultsAlone(t *testing.T) {
	t.Parallel()
	const cuts = `
warm_up: 0s
horizon: 30d
failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 5d}}, repair: {lead: 1h}}]
`
	with := hosted(t, cuts+"underlay: {hosts: 5, reboots: {rate: 1/1d, away: 10min}, flaps: {rate: 1/1h, away: 20ms}}\n", "detection.signal=30ms", "detection.settle=2s")
	without := hosted(t, cuts, "detection.signal=30ms", "detection.settle=2s")
	a, b := Play(with, 3, 0), Play(without, 3, 0)
	if len(a.Faults) != len(b.Faults) || len(a.Faults) < 10 {
		t.Fatalf("%d faults, %d without hosts", len(a.Faults), len(b.Faults))
	}
	for i := range a.Faults {
		if a.Faults[i].Onset != b.Faults[i].Onset || a.Faults[i].End != b.Faults[i].End {
			t.Errorf("fault %d is another with hosts", i)
		}
	}
	// 10 hosts for 30 days: 300 reboots, 600 LSPs, give or take four standard deviations.
	if n := a.Originations - b.Originations; n < 600-4*35 || n > 600+4*35 {
		t.Errorf("%d LSPs of hosts", n)
	}
}

// What hosts weigh: an SPF run takes as long as with so many more routers of one link
// each (model/timer SPFRun), and a leaf has a prefix more for each. What a router that
// starts is sent: story s12-hosts.
func TestHostsWeigh(t *testing.T) {
	t.Parallel()
	const hosts = 400
	w, bare := hosted(t, fmt.Sprintf("underlay: {hosts: %d}\n", hosts)), hosted(t, "")
	// 0.5 ms + 0.2 us x (2 x 804 + 804 log2 804) = 2.4 ms; log2 804 = 9.651; and 0.5 ms of four routers.
	if w.Timers.SPFRun != 2_400_000 || bare.Timers.SPFRun != 500_000 {
		t.Errorf("SPF runs of %d and %d ns", w.Timers.SPFRun, bare.Timers.SPFRun)
	}
	if w.Timers.Prefixes != hosts+1 || w.Timers.Entries != hosts+1 || bare.Timers.Entries != 1 {
		t.Errorf("%d and %d entries", w.Timers.Entries, bare.Timers.Entries)
	}
}
