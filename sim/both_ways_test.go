package sim

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Units that lose on both ways, or at both ends of a link, count once where leaves are weighed together, too. A leaf
// below is taken to send to itself, so shares are true to one part in as many as there are leaves.
//
// By hand: with a spine of four that passes nothing a flow of its pod goes there with 1/4 and comes back that way with
// 1/4, so 1 - (3/4)^2 = 7/16 of them are hit; of another pod's, the same of what goes to that pod. Others are held
// against each pair for itself.
func TestUnitsHitBothWaysCountOnce(t *testing.T) {
	t.Parallel()
	const pods, leaves, spines, tops = 4, 20, 4, 2
	links := func(x string, loss float64, peers ...string) string {
		var text strings.Builder
		for _, y := range peers {
			fmt.Fprintf(&text, "  - {at: 10s, for: 8min, on: %s~%s, kind: silent, loss: %v}\n", x, y, loss)
		}
		return text.String()
	}
	var below, ends, planes []string
	for i := range leaves {
		below = append(below, fmt.Sprintf("leaf-0-%d", i))
	}
	for i := range spines {
		ends = append(ends, fmt.Sprintf("spine-0-%d", i))
	}
	for i := range pods {
		planes = append(planes, fmt.Sprintf("spine-%d-1", i))
	}
	spine := append(below, "top-1-0", "top-1-1")
	for _, c := range []struct {
		what, script string
		worst        float64 // flows of the worst leaf, by hand; 0: not
		within       float64 // leaves' worth
	}{
		{"a spine that passes nothing", links("spine-0-1", 1, spine...), 7. / 16, 1.2},
		{"a spine", links("spine-0-1", 0.05, spine...), 0, 1.2},
		{"a top", links("top-1-1", 0.05, planes...), 0, 2}, // leaves of a pod do not use it among themselves
		{"a leaf that passes nothing", links("leaf-0-1", 1, ends...), 1, 1.2},
		{"a leaf", links("leaf-0-1", 0.05, ends...), 0, 1.2},
		{"a link that passes nothing", links("leaf-0-1", 1, "spine-0-1"), 7. / 16, 1.2},
		{"a link of the core", links("top-1-1", 0.05, "spine-2-1"), 0, 2},
		{"two links of a leaf", links("leaf-0-1", 0.05, "spine-0-1") + links("leaf-0-1", 0.02, "spine-0-0"), 0, 1.2},
		{"here and there", links("leaf-0-1", 0.05, "spine-0-1") + links("leaf-1-1", 0.002, "spine-1-0") + links("top-1-1", 0.02, planes...), 0, 1.2},
	} {
		w := build(t, "both", fmt.Sprintf(`
horizon: 10min
warm_up: 0s
fabric: {clos: {pods: %d, leaves: %d, spines: %d, tops: %d}}
failures: []
detection: {bfd: false, hello: false}
applications: [{name: calls, request: {packets: 4}}, {name: copies, bulk: {}}]
script:
%s`, pods, leaves, spines, tops, c.script))
		one, two := newRandom(w, 1, 0, together), newRandom(w, 1, 0, apart)
		one.run()
		two.run()
		p, q := one.record(0), two.record(0)
		near := func(what string, got, want float64) {
			if math.Abs(got-want) > c.within*want/(pods*leaves) {
				t.Errorf("%s: %s: %v, want %v", c.what, what, got, want)
			}
		}
		for i := range p.Applications {
			name, a, b := w.Classes[i].Name, p.Applications[i], q.Applications[i]
			near(name+", slow share", a.SlowShare, b.SlowShare)
			near(name+", worst leaf", a.WorstLeaf, b.WorstLeaf)
		}
		if got := q.Applications[1].WorstLeaf; c.worst > 0 && math.Abs(got-0.8*c.worst) > 1e-9 {
			t.Errorf("%s: pair by pair the worst leaf has %v of its flows hit, by hand %v", c.what, got, 0.8*c.worst)
		}
	}
}

// Of two leaves, by hand: half of all goes by the link and half comes back by it, so 3/4 of the flows are hit while it
// loses, four fifths of the time.
func TestFlowsOfTwoLeaves(t *testing.T) {
	for _, how := range []manner{together, apart} {
		e := newRandom(build(t, "two", `
horizon: 10min
warm_up: 0s
fabric: {clos: {pods: 1, leaves: 2, spines: 2, tops: 0}}
failures: []
detection: {bfd: false, hello: false}
applications: [{name: copies, bulk: {}}]
script: [{at: 10s, for: 8min, on: leaf-0-0~spine-0-0, kind: silent, loss: 0.05}]
`), 1, 0, how)
		e.run()
		if got := e.record(0).Applications[0].SlowShare; math.Abs(got-0.6) > 1e-9 {
			t.Errorf("%v: %v are hit, want 0.6", how, got)
		}
	}
}
