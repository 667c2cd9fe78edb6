package sim

import "testing"

// A session that gray loss took down is out of use like a cut link (S23): a leaf whose
// other uplink is cut is stranded by either, since a route would exist without it, and not
// by an older fault elsewhere.
func TestFallenSessionStrands(t *testing.T) {
	w := build(t, "stranded", `
name: stranded
horizon: 1min
random: false
fabric: {clos: {pods: 1, leaves: 3, spines: 2, tops: 0}}
overload: {leaves: true}
script:
  - {at: 1s, on: leaf-0-2~spine-0-1, kind: hard}
  - {at: 2s, on: leaf-0-0~spine-0-0, kind: hard}
  - {at: 3s, on: leaf-0-0>spine-0-1, kind: lossy, loss: 10%}
`)
	const elsewhere, cut, gray = 0, 1, 2
	e := newEngine(w, nil, asFits)
	e.addScript(w.Script)
	e.advance(10_000_000_000)
	without := func() (list []int32) {
		for id := range int32(3) {
			if e.routeWithout(id, 0, 1) {
				list = append(list, id)
			}
		}
		return list
	}
	if got := without(); len(got) != 3 {
		t.Fatalf("while the session is up: a route without %v, want without any of three", got)
	}
	e.goDown(e.f.Ports[0][1].Out(), gray, 20_000_000_000)
	if got := without(); len(got) != 2 || got[0] != cut || got[1] != gray {
		t.Errorf("the session has fallen: a route without %v, want without %v or %v, and not %v", got, cut, gray, elsewhere)
	}
}
