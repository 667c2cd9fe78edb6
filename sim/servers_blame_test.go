package sim

import (
	"fmt"
	"math"
	"testing"

	"halflight/sim/impact"
)

// A session that drops because its leaf hears nothing any more is the doing of the older of two holes that keep it
// so, whichever port it is at (S27). By hand: the second is there from 20 s, the session drops 3 s later and
// stays down for the 77 s that are left.
func TestSessionsDropByTheOlderHole(t *testing.T) {
	for _, spines := range [2][2]int{{0, 1}, {1, 0}} {
		e := newRandom(build(t, "blame", fmt.Sprintf(`
name: blame
horizon: 100s
warm_up: 0s
fabric: {clos: {pods: 1, leaves: 2, spines: 2, tops: 0}}
detection: {bfd: false, hello: false}
failures: []
homing: {groups: 1, attachments: 1, keepalive: false}
overlay: {hold: 3s}
script:
  - {at: 10s, on: spine-0-%d>leaf-0-1, kind: silent, loss: 1}
  - {at: 20s, on: spine-0-%d>leaf-0-1, kind: silent, loss: 1}
`, spines[0], spines[1])), 1, 0, apart)
		e.run()
		_, older := e.ledger.Lost(0)
		_, newer := e.ledger.Lost(1)
		if math.Abs(newer[impact.Overlay]) > 1e-9 || math.Abs(older[impact.Overlay]-77) > 1e-9 {
			t.Errorf("spines %v: overlay %v s for the older, %v s for the newer; want all for the older", spines, older[impact.Overlay], newer[impact.Overlay])
		}
	}
}
