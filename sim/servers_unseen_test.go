package sim

import (
	"math"
	"testing"

	"halflight/sim/impact"
)

// Whether there is a path changes too when a link dies that nobody will notice: what a group loses that has its
// access link back, but does not use it yet, is the overlay's doing only while there is one. By hand: of 8 pairs
// of groups 4 are of the one whose access link is cut from 10 to 20 s, which it uses again at 22 s and others at
// 22.1 s; the only link of its leaf is dead from 21 s, and seen by nobody.
func TestServersStrandedUnseen(t *testing.T) {
	w := build(t, "unseen", `
name: unseen
random: false
horizon: 30s
warm_up: 0s
fabric: {clos: {pods: 1, leaves: 2, spines: 1, tops: 0}}
detection: {bfd: false, hello: false}
homing: {groups: 2, attachments: 1}
script:
  - {at: 10s, on: leaf-0-0~servers-0-0-0, kind: hard, for: 10s}
  - {at: 21s, on: leaf-0-0~spine-0-0, kind: hard, light: true}
`)
	e := newRandom(w, 1, 0, apart)
	e.run()
	total, phases := e.ledger.Lost(0)
	if math.Abs(total-6.025) > 1e-6 || math.Abs(phases[impact.Overlay]-0.5) > 1e-6 {
		t.Errorf("%v s, %v of it the overlay's; want 6.025 and 0.5", total, phases[impact.Overlay])
	}
}
