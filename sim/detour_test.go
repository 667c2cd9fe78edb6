package sim

import (
	"math"
	"testing"
)

// A repair tunnel saves as much where leaves are weighed together as pair by pair: from prune_delay after
// the detection of a cut nothing is lost, until the loop as routers learn of it. Without one the top goes
// on giving the dead link its share of a pod, 1 in 2 x 3, until its own run: 100 ms more.
func TestTunnelTogetherAsApart(t *testing.T) {
	lost := map[string][2]float64{}
	for _, tunnel := range []string{"false", "true"} {
		w := build(t, "tunnel", `
name: tunnel
horizon: 20s
warm_up: 0s
routers: {spread: 0}
fabric: {clos: {pods: 5, leaves: 14, spines: 3, tops: 2}}
fib: {repair_tunnel: `+tunnel+`, per_prefix: 0s}
failures: []
script:
  - {at: 13456ms, on: spine-1-0~top-0-0, kind: hard, for: 2516ms}
`)
		one, other := newRandom(w, 1, 0, together), newRandom(w, 1, 0, apart)
		one.run()
		other.run()
		a, b := one.ledger.Total(one.until), other.ledger.Total(other.until)
		if lost[tunnel] = [2]float64{a, b}; math.Abs(a-b) > 1e-9*b {
			t.Errorf("tunnel %s: %v s lost together, %v pair by pair", tunnel, a, b)
		}
	}
	if without, with := lost["false"][0], lost["true"][0]; with > 0.3*without {
		t.Errorf("%v s lost with a tunnel, %v without", with, without)
	}
}
