package sim

import "testing"

// What a script does nobody sights or mends, gray or hard, however many instruments
// there are: it is as long as it says (README, "A scenario").
func TestNobodySightsAScript(t *testing.T) {
	w := build(t, "script", `
name: script
random: false
warm_up: 0s
horizon: 3d
fabric: {clos: {pods: 1, leaves: 4, spines: 2, tops: 0}}
telemetry: [{name: counters, polling: {every: 30s}}, {name: probes, probes: {}}]
script:
  - {at: 1min, on: leaf-0-0>spine-0-0, kind: lossy, loss: 1%, for: 2d}
  - {at: 1h, on: leaf-0-1~spine-0-1, kind: hard, for: 1d}
`)
	r := Play(w, 1, 0)
	if r.Sightings != 0 || r.Repairs != 0 || r.Tickets != 0 || len(r.Faults) != 2 || r.Faults[0].End-r.Faults[0].Onset != 2*86400e9 || r.Faults[1].End-r.Faults[1].Onset != 86400e9 {
		t.Errorf("%d sightings, %d repairs, %d tickets, %+v", r.Sightings, r.Repairs, r.Tickets, r.Faults)
	}
}
