package sim

import "testing"

// Where nothing is random a direction that loses a third passes all packets of sessions
// when the script is traced (S7: unless its loss is 1), and in a run they fall by
// chance: three losses in a row take (1 - 1/27) / (2/3 x 1/27) = 39 packets on average
// (Feller, vol. 1, section XIII.7, from memory), so that a session of 3 x 100 ms falls
// every 4 s or so and is up again a second later, and both ends say either.
func TestSessionsOfAScriptFallInARun(t *testing.T) {
	w := build(t, "script", `
name: script
random: false
horizon: 15min
fabric: {clos: {pods: 1, leaves: 3, spines: 2, tops: 0}}
detection: {settle: 1s, bfd: {interval: 100ms, multiplier: 3}}
telemetry: [{name: nobody, complaints: false}]
script: [{at: 1min, on: leaf-0-0>spine-0-0, kind: lossy, loss: 33.3333333333%, for: 10min}]
`)
	for _, x := range Script(w).Routers {
		if len(x.Originations) > 0 {
			t.Errorf("traced, %s sends %d LSPs", x.Name, len(x.Originations))
		}
	}
	if r := Play(w, 1, 0); r.Originations < 100 {
		t.Errorf("in a run, %d LSPs are sent", r.Originations)
	}
}
