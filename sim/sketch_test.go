package sim

import (
	"fmt"
	"math"
	"testing"

	"halflight/sim/record"
)

// A play without routers against the whole one, replication by replication: the
// same faults, seen and put out of use at the same instants but for the time that
// routers take to notice; slow shares and hours over budget within the first
// order that it is.
func TestSketchAgainstWhole(t *testing.T) {
	t.Parallel()
	for _, telemetry := range []string{"{name: counters, polling: {}}", "{name: mesh, probes: {false_alarms: 1/30d, window: 100000}}, {name: light, optics: {}}"} {
		w := build(t, "watched", fmt.Sprintf(watched, telemetry))
		var slow, over [2]float64
		same, all := 0, 0
		for i := range uint32(6) {
			whole := Play(w, 8, i)
			quick, ok := Sketch(nil, w, 8, i)
			if !ok {
				t.Fatal("stopped though nobody asked")
			}
			for k, r := range []*record.Replication{&whole, &quick} {
				slow[k] += r.Applications[0].SlowShare
				over[k] += r.Applications[0].DegradedLeafHours
			}
			seen := map[string]record.Fault{}
			for _, f := range whole.Faults {
				seen[fmt.Sprint(f.Mode, f.On, f.Onset/1e9)] = f
			}
			for _, f := range quick.Faults {
				all++
				g, ok := seen[fmt.Sprint(f.Mode, f.On, f.Onset/1e9)]
				if ok && g.SightedBy == f.SightedBy && math.Abs(float64(g.Sighted-f.Sighted)) < 1e9 && math.Abs(float64(g.Mitigated-f.Mitigated)) < 2e9 {
					same++
				}
			}
			if whole.Tickets != quick.Tickets {
				t.Logf("replication %d: %d tickets, whole %d", i, quick.Tickets, whole.Tickets)
			}
		}
		t.Logf("slow share %.4g, whole %.4g; leaf-hours over budget %.5g, whole %.5g; %d of %d faults alike", slow[1]/6, slow[0]/6, over[1]/6, over[0]/6, same, all)
		if math.Abs(slow[1]/slow[0]-1) > 0.06 || math.Abs(over[1]/over[0]-1) > 0.03 || same < all*95/100 {
			t.Errorf("slow share %v, whole %v; over budget %v, whole %v; %d of %d faults alike", slow[1], slow[0], over[1], over[0], same, all)
		}
	}
}
