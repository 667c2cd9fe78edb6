package sim

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// The same faults for four classes. A request that may wait 1 s for two
// retransmissions forgives random loss; one whose retransmissions go another way
// forgives holes and sizes too. Repathing after a time-out cut the outage time of
// pairs of regions by 63 to 84 % in a backbone (Wetherall et al., SIGCOMM 2023);
// here, with 16 ways and faults that stay where they are, it must cut at least
// that. A step of 64 flows is slow more often than one flow.
func TestClassesUnderTheSameFaults(t *testing.T) {
	t.Parallel()
	w := build(t, "classes", strings.Replace(fmt.Sprintf(watched, "{name: nobody, complaints: false}"), "120d", "40d", 1)+`
applications:
  - {name: plain, request: {}}
  - {name: patient, request: {deadline: 1s}}
  - {name: moving, request: {deadline: 1s, repath: true}}
  - {name: copies, bulk: {}}
  - {name: steps, collective: {law: rfc5348, round_trip: 100us, segment: 8960B, rate: 5Gb/s, least: 50%, flows: 64}}
`)
	var slow, rough [5]float64
	for i := range uint32(4) {
		whole := Play(w, 5, i)
		quick, _ := Sketch(nil, w, 5, i)
		for k := range slow {
			slow[k] += whole.Applications[k].SlowShare / 4
			rough[k] += quick.Applications[k].SlowShare / 4
		}
	}
	t.Logf("slow shares: plain %.3g, patient %.3g, moving %.3g, copies %.3g, steps %.3g; sketched %.3g", slow[0], slow[1], slow[2], slow[3], slow[4], rough)
	plain, patient, moving, copies, steps := slow[0], slow[1], slow[2], slow[3], slow[4]
	if !(moving < 0.37*patient && patient < plain && copies < steps && copies > 0 && moving >= 0) {
		t.Errorf("plain %v, patient %v, moving %v, copies %v, steps %v", plain, patient, moving, copies, steps)
	}
	for k := range slow {
		if d := rough[k] - slow[k]; d > 0.15*slow[k]+1e-5 || d < -0.15*slow[k]-1e-5 {
			t.Errorf("class %d: sketched %v, whole %v", k, rough[k], slow[k])
		}
	}
}

// A session over a link that drops a tenth falls and comes up again. What applications feel is then
// as before, however soon after one another the last tables are written and however long nothing
// happens after that. Where pairs are kept one by one, shares once stayed as they were 5 ms before the last
// write: an eighth of what they should have been, for over a minute.
func TestSlowSharesAfterTheLastWrite(t *testing.T) {
	for _, how := range []manner{together, apart} {
		felt := func(seconds int) (slow float64, fell bool) {
			e := newRandom(build(t, "late", fmt.Sprintf("name: late\nwarm_up: 0s\nhorizon: %ds\nfabric: {clos: {pods: 3, leaves: 4, spines: 3, tops: 2}}\n"+
				"failures: []\nscript:\n  - {at: 10s, for: 3min, on: top-1-0>spine-0-1, kind: lossy, loss: 0.1}\n", seconds)), 1, 0, how)
			e.run()
			r := e.record(0)
			return r.Applications[0].SlowShare * float64(seconds), r.Originations > 0
		}
		a, fell := felt(30)
		b, fellToo := felt(60)
		before := (b - a) / 30
		c, back := felt(120)
		d, _ := felt(170)
		after := (d - c) / 50
		if fell || fellToo || !back || !(before > 0) {
			t.Fatal("the session did not fall when it should have")
		}
		if math.Abs(after-before) > 1e-9*before {
			t.Errorf("manner %d: a share of %v is slow before the session falls, %v once it is up again", how, before, after)
		}
	}
}

// A leaf whose control plane is gone goes on sending by the table it has: only what it would be sent is lost, from
// when its neighbours hold it for gone until it is back, and nothing is to be halved.
func TestUnitsOfSilentLeaf(t *testing.T) {
	for _, fault := range []string{"hard, light: true, plane: control", "restart, kept: true"} {
		var slow [3]float64
		for _, how := range []manner{together, apart} {
			e := newRandom(build(t, "silent", "name: silent\nwarm_up: 0s\nhorizon: 10min\nfabric: {clos: {pods: 3, leaves: 4, spines: 3, tops: 2}}\n"+
				"failures: []\nscript:\n  - {at: 10s, for: 3min, on: leaf-0-1, kind: "+fault+"}\n"), 1, 0, how)
			e.run()
			r := e.record(0)
			slow[how] = r.Applications[0].SlowShare
		}
		if a, b := slow[together], slow[apart]; !(b > 0) || math.Abs(a-b) > 0.02*b {
			t.Errorf("%s: a share of %v is slow together, %v pair by pair", fault, a, b)
		}
	}
}

// A leaf that restarts has no units while it is dead, and then, for the 2 s that its adjacencies settle and
// until its LSP has run through, all of its units are hit: of 12 leaves those of 11 pairs, at both ends, or
// a sixth of all. Each counts once although what goes the other way is lost too.
func TestUnitsOfReturningLeaf(t *testing.T) {
	const horizon = 600.0
	for _, how := range []manner{together, apart} {
		e := newRandom(build(t, "returns", "name: returns\nwarm_up: 0s\nhorizon: 10min\nfabric: {clos: {pods: 3, leaves: 4, spines: 3, tops: 2}}\n"+
			"failures: []\nscript:\n  - {at: 10s, for: 3min, on: leaf-0-1, kind: hard}\n"), 1, 0, how)
		e.run()
		r := e.record(0)
		if s := r.Applications[0].SlowShare * horizon * 6; !(s > 2 && s < 2.2) {
			t.Errorf("manner %d: all units of the leaf are slow for %v s, want 2 to 2.2", how, s)
		}
	}
}
