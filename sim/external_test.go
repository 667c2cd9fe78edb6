package sim

import (
	"fmt"
	"math"
	"testing"
)

const dimLeaf = `
name: dim
warm_up: 0s
horizon: 10h
fabric: {clos: {pods: 2, leaves: 4, spines: 2, tops: 2}}
telemetry: [{name: nobody, complaints: false}]
detection: {bfd: false, hello: false}
failures: []
traffic: {external: {share: %s, at: %s}}
script: [{at: 0s, on: leaf-0-0>spine-0-0, kind: silent, loss: 0.01}]
`

// One of two uplinks of leaf-0-0 loses a hundredth of all packets: h = (1 - 0.99^10)/2
// of the units between that leaf and any other are slow. Of all units, by counting:
//
//	pod: four leaves with servers, four borders. Of the 12 pairs among servers 6 have the
//	  leaf at an end, of the 32 with a border 8: 0.8 x 1/2 + 0.2 x 1/4;
//	tops: eight leaves, and outside. Of 56 pairs 14, of the 16 with outside 2: 0.99 x
//	  1/4 + 0.01 x 1/8;
//	leaves: eight leaves, of which two are boxes too. Of 56 pairs 14; of 28 between a box
//	  and servers of another leaf 14 as a box and 2 as servers: 0.8 x 1/4 + 0.2 x 16/28.
//
// All eight leaves are over budget (1e-4) all the time, and burn it at every look from the
// end of the first hour on; the router outside is no leaf, nor one of the routers.
func TestUnitsOfOutside(t *testing.T) {
	h := (1 - math.Pow(0.99, 10)) / 2
	for _, c := range []struct {
		share, at     string
		all           float64
		outside, wide int
	}{
		{"20%", "pod", 0.8/2 + 0.2/4, 0, 24}, {"1%", "tops", 0.99/4 + 0.01/8, 1, 28},
		{"20%", "leaves, boxes: 2", 0.8/4 + 0.2*16/28, 0, 24},
	} {
		w := build(t, "dim", fmt.Sprintf(dimLeaf, c.share, c.at))
		e := newRandom(w, 1, 0, apart)
		e.run()
		a, near := e.record(0).Applications[0], func(what string, got, want float64) {
			t.Helper()
			if !(math.Abs(got-want) <= 1e-9*want) {
				t.Errorf("%s: %s %v, want %v", c.at, what, got, want)
			}
		}
		near("slow share", a.SlowShare, c.all*h)
		near("worst leaf", a.WorstLeaf, h)
		near("degraded leaf-hours", a.DegradedLeafHours, 80)
		hour := a.Burn[0]
		near("burn", hour.Most, c.all*h/1e-4)
		near("burn at a leaf", hour.MostLeaf, h/1e-4)
		near("hours above", float64(hour.Above)/3600e9, 55./6)
		near("leaf-hours above", float64(hour.LeafAbove)/3600e9, 8*55./6)
		if r := HeaderOf(w); r.Leaves != 8 || r.Routers != 16 || r.Outside != c.outside || r.Links != c.wide {
			t.Errorf("%s: %d leaves, %d routers, %d outside, %d links", c.at, r.Leaves, r.Routers, r.Outside, r.Links)
		}
	}
}
