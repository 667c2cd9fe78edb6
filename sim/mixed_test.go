package sim

import (
	"math"
	"testing"

	"halflight/model"
	"halflight/sim/impact"
	"halflight/sim/record"
)

// mixedArea is a fabric of leaves with transit in which links are cut now and then,
// with these timers.
func mixedArea(t *testing.T, spf string) *model.World {
	t.Helper()
	return build(t, "mixed", `
name: mixed
warm_up: 1h
horizon: 30h
fabric: {clos: {pods: 1, leaves: 8, spines: 4, tops: 0}}
failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 20h}}, repair: {lead: {exponential: {mean: 5min}}}}]
telemetry: [{name: nobody, complaints: false}]
applications: []
overload: {leaves: false}
routers: {spread: 0}
timers: {lsp_generation: {first_delay: 10ms}, `+spf+`}
`)
}

const (
	quickSPF = "{rfc8405: {initial_delay: 20ms, short_delay: 100ms, long_delay: 500ms, time_to_learn: 200ms, holddown: 2s}}"
	slowSPF  = "{rfc8405: {initial_delay: 400ms, short_delay: 1s, long_delay: 5s, time_to_learn: 2s, holddown: 10s}}"
)

// RFC 8405, section 7: with other SPF delays on routers of one area micro-loops last
// longer than with equal ones, be those the quick or the slow ones.
func TestMixedTimersLoopMore(t *testing.T) {
	t.Parallel()
	loops := func(spf string) []float64 {
		return each(playAll(mixedArea(t, spf), 5, atLeast/3), func(r *record.Replication) (sum float64) {
			for m := range r.LostSeconds {
				sum += r.LostSeconds[m][impact.Loop]
			}
			return sum
		})
	}
	quick, slow := loops("spf: "+quickSPF), loops("spf: "+slowSPF)
	mixed := loops("spf: " + quickSPF + ", mixed: [{on: leaf-0-2, spf: " + slowSPF + "}, {on: leaf-0-5, spf: " + slowSPF + "}]")
	q, _ := meanAndError(quick)
	s, _ := meanAndError(slow)
	m, _ := meanAndError(mixed)
	t.Logf("lost in loops: quick %v s, slow %v s, mixed %v s", q, s, m)
	for i := range mixed {
		if mixed[i] <= 2*max(quick[i], slow[i]) {
			t.Errorf("replication %d: mixed %v s, quick %v s, slow %v s", i, mixed[i], quick[i], slow[i])
		}
	}
	if q == 0 || s == 0 {
		t.Error("nothing loops with equal timers: the comparison says nothing")
	}
}

// Routers keep the books of their own timers: LSPs come when they come whatever the
// SPF delays are, so an area with quick leaves and slow spines waits as the leaves of a
// quick area and the spines of a slow one do, and its states last as theirs.
func TestMixedTimersKeepTheirBooks(t *testing.T) {
	t.Parallel()
	const two = "{two_step: {rapid_delay: 30ms, rapid_runs: 2, slow_delay: 3s, wait_time: 8s}}"
	for _, other := range []string{slowSPF, two} {
		quick, slow := Play(mixedArea(t, "spf: "+quickSPF), 3, 0), Play(mixedArea(t, "spf: "+other), 3, 0)
		w := mixedArea(t, "spf: "+quickSPF+", mixed: [{on: spine, spf: "+other+"}]")
		mixed := Play(w, 3, 0)
		const leaves, spines = 8, 4
		spinesOf := func(r *record.Replication) float64 {
			return ((leaves+spines)*r.WaitMean - leaves*r.LeafWaitMean) / spines
		}
		if a, b := mixed.LeafWaitMean, quick.LeafWaitMean; math.Abs(a-b) > 1e-9*b {
			t.Errorf("leaves wait %v, want %v", a, b)
		}
		if a, b := spinesOf(&mixed), spinesOf(&slow); math.Abs(a-b) > 1e-9*b {
			t.Errorf("spines wait %v, want %v", a, b)
		}
		if math.Abs(quick.WaitMean-slow.WaitMean) < 0.1*quick.WaitMean {
			t.Error("the two timers are too alike to tell")
		}
		if want := (leaves*quick.RestWait + spines*slow.RestWait) / (leaves + spines); mixed.RestWait != want {
			t.Errorf("wait at rest %v, want %v", mixed.RestWait, want)
		}
		states := w.BackoffStates()
		if len(mixed.StateTime) != len(states) || len(mixed.Series.States) != len(states) {
			t.Fatalf("%d states of %v", len(mixed.StateTime), states)
		}
		sum := 0.0
		for _, v := range mixed.StateTime {
			sum += v
		}
		if want := float64(leaves+spines) * float64(mixed.To-mixed.From); sum != want {
			t.Errorf("states last %v, want %v", sum, want)
		}
	}
	if got := mixedArea(t, "spf: "+quickSPF+", mixed: [{on: spine, spf: "+two+"}]").BackoffStates(); len(got) != 3 || got[0] != "FIRST" || got[2] != "LAST" {
		t.Errorf("states of mixed families: %v", got)
	}
}
