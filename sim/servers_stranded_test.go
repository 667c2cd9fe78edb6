package sim

import (
	"fmt"
	"math"
	"testing"

	"halflight/sim/impact"
)

// A leaf whose uplinks are all cut keeps its access links, and its servers go on using
// it: what they lose is stranded as long as the truth has no path by another attachment,
// else it is the overlay's doing (design 3.7). Four leaves, 12 ordered pairs, by hand:
//
//	one attachment, leaf 0 cut for 60 s: 6 pairs are lost, as without homing: 30 s stranded;
//	two, leaf 0 cut: its servers and its mate's send half of what is for leaves 2 and 3, 4
//	  pairs, to it for 60 s, and get half of theirs by it for the 1 s until others miss it
//	  (overlay.tracking): 61 s x 4/12 x 1/2 of overlay;
//	two, both mates cut: 8 pairs are lost and only mates are left to one another: 40 s;
//	two, the mate cut from 30 to 50 s only, while leaf 0 is from 10 to 70 s: 8/12 of 20 s
//	  stranded, and 1/6 of the 40 s before and after, and of 1 s.
func TestStrandedServers(t *testing.T) {
	t.Parallel()
	cut := func(leaf int, at, length string) string {
		return fmt.Sprintf("{at: %s, on: leaf-0-%d~spine-0-0, kind: hard, for: %s}, {at: %[1]s, on: leaf-0-%[2]d~spine-0-1, kind: hard, for: %[3]s}", at, leaf, length)
	}
	first := cut(0, "10s", "60s")
	for _, c := range []struct {
		homing, script    string
		stranded, overlay float64
	}{
		{"", first, 30, 0},
		{"homing: {groups: 2, attachments: 1}", first, 30, 0},
		{"homing: {groups: 2, attachments: 2}", first, 0, 61. / 6},
		{"homing: {groups: 2, attachments: 2}", first + ", " + cut(1, "10s", "60s"), 40, 0},
		{"homing: {groups: 2, attachments: 2}", first + ", " + cut(1, "30s", "20s"), 40. / 3, 41. / 6},
	} {
		e := newEngine(calm(t, "alone", "random: false\nhorizon: 100s\n"+c.homing+"\nscript: ["+c.script+"]\n"), nil, apart)
		e.addScript(e.w.Script)
		e.run()
		var phases [impact.Phases]float64
		for f := range e.ledger.Faults {
			_, of := e.ledger.Lost(int32(f))
			for p, v := range of {
				phases[p] += v
			}
		}
		near := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-6 {
				t.Errorf("%s, %s: %v s of %s, want %v", c.homing, c.script, got, what, want)
			}
		}
		near("stranded", phases[impact.Stranded], c.stranded)
		near("overlay", phases[impact.Overlay], c.overlay)
	}
}
