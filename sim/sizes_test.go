package sim

import (
	"math"
	"testing"
)

// Two directions in a row, which stop packets above 1,000 and above 750 bytes, for
// 100 s. Packets are of 500 to 1,500 bytes, spread evenly, so 1/2 and 1/4 of them pass
// either, and 1/4 both. A leaf sends half of all to another by spine-0-0. A unit of
// work is hit if its request is or its reply, which meet no size on their way back:
//
//	one packet: to leaf-0-1 from leaf-0-0 1/2 x 3/4 = 3/8, and as much from leaf-0-2;
//	  from leaf-0-0 to leaf-0-2 1/2 x 1/2 = 1/4;
//	two: 1/2 (1 - 1/16) = 15/32 and 1/2 (1 - 1/4) = 3/8, whether or not they are sent
//	  again the same way;
//	two, sent once more by any of the two ways: half of the packets that are too large
//	  are so again, so of one packet 1/2 x 1/2 = 1/4 is lost above 1,000 bytes, 3/4 x 1/2
//	  = 3/8 above 750, and of two 1/2 (1 - (3/4)^2) = 7/32 and 1/2 (1 - (5/8)^2) = 39/128;
//	a flow, which bears no lost size: 1/2 and 1/2.
func TestUnitsMeetTheNarrowestSize(t *testing.T) {
	const text = `
random: false
horizon: 200s
fabric: {clos: {pods: 1, leaves: 3, spines: 2, tops: 0}}
detection: {bfd: false, hello: false}
applications:
  - {name: one, request: {packets: 1, bytes: {uniform: {low: 500, high: 1500}}}}
  - {name: two, request: {packets: 2, bytes: {uniform: {low: 500, high: 1500}}}}
  - {name: patient, request: {packets: 2, bytes: {uniform: {low: 500, high: 1500}}, time_out: 200ms, deadline: 300ms}}
  - {name: moving, request: {packets: 2, bytes: {uniform: {low: 500, high: 1500}}, time_out: 200ms, deadline: 300ms, repath: true}}
  - {name: copies, bulk: {}}
`
	e := scripted(t, text, `{at: 10s, on: leaf-0-0>spine-0-0, kind: oversize, above: 1000, for: 100s},
  {at: 10s, on: spine-0-0>leaf-0-1, kind: oversize, above: 750, for: 100s}`)
	for i, c := range []struct{ wide, narrow float64 }{{1. / 4, 3. / 8}, {3. / 8, 15. / 32}, {3. / 8, 15. / 32}, {7. / 32, 39. / 128}, {1. / 2, 1. / 2}} {
		for leaf, want := range []float64{(c.wide + c.narrow) / 2, c.narrow, (c.wide + c.narrow) / 2} {
			if slow, _ := e.ledger.Apps[i].Slow(int32(leaf)); math.Abs(slow/100e9-want) > 1e-9 {
				t.Errorf("class %d, leaf %d: a slow share of %v, want %v", i, leaf, slow/100e9, want)
			}
		}
	}
}
