package sim

import (
	"fmt"
	"math"
	"testing"
)

// Below a spine that drops a little a leaf that was dead costs routes for as long together
// as pair by pair: from its return until its tables are written, and not while it is dead.
func TestRouteLossOfDeadLeaves(t *testing.T) {
	w := build(t, "dead", `
name: dead
warm_up: 0s
horizon: 40min
fabric: {clos: {pods: 4, leaves: 3, spines: 3, tops: 2}}
failures: []
script:
  - {at: 1s, on: spine-1-0>top-0-1, kind: silent, loss: 0.01}
  - {at: 60s, on: leaf-1-1, kind: hard, for: 600s}
  - {at: 1200s, on: leaf-1-0, kind: restart, for: 120s}
  - {at: 1500s, on: leaf-1-2, kind: hard, light: true, plane: data, for: 300s}
`)
	one, other := newRandom(w, 1, 0, together), newRandom(w, 1, 0, apart)
	one.run()
	other.run()
	for i := 1; i < 4; i++ {
		a, b := &one.ledger.Faults[i], &other.ledger.Faults[i]
		if b.RouteLoss < 1e9 || b.RouteLoss > 10e9 || a.RouteLoss != b.RouteLoss {
			t.Errorf("%s: route loss %d ns together, %d pair by pair", one.faults[i].on, a.RouteLoss, b.RouteLoss)
		}
	}
}

// Leaves that are dead, hang or come back change no figure between short and plain, and no
// lost second against every pair one by one.
func TestDeadLeavesInShortAsPlainly(t *testing.T) {
	t.Parallel()
	const repair = "repair: {lead: {exponential: {mean: 25min}}, hands_on: {lognormal: {median: 14min, sigma: 0.5}}}"
	modes := []string{
		"on: leaf, kind: hard, light: true, plane: data, " + repair,
		"on: leaf, kind: hard, light: true, plane: control, " + repair,
		"on: leaf, kind: restart, kept: true, down: {lognormal: {median: 60s, sigma: 1}}",
	}
	stars := 0
	for seed := range uint64(14) {
		text := starWorld(seed, seed%7 == 0) + "  - {name: dead, life: {exponential: {mean: 4h}}, start: aged, on: leaf, kind: hard, " + repair + "}\n"
		for i, m := range modes {
			if seed%uint64(2+i) == 0 {
				text += fmt.Sprintf("  - {name: more-%d, life: {exponential: {mean: 4h}}, start: aged, %s}\n", i, m)
			}
		}
		w := build(t, "dead", text)
		if unforetold(w) {
			continue
		}
		short, plain, single := newRandom(w, seed, 0, together), newRandom(w, seed, 0, together), newRandom(w, seed, 0, apart)
		plain.ledger.Plainly, single.bySize = true, false
		for _, e := range []*engine{short, plain, single} {
			e.run()
		}
		stars += short.ledger.StarWrites().All
		if x, y := short.ledger.Total(short.until), single.ledger.Total(single.until); !(math.Abs(x-y) <= roughly*y) {
			t.Errorf("seed %d: lost seconds %v together, %v one by one", seed, x, y)
		}
		p, q := short.record(0), plain.record(0)
		sameFigures(t, fmt.Sprint("seed ", seed), &p, &q)
	}
	if stars < 1000 {
		t.Errorf("only %d writes changed but one term of a star", stars)
	}
}

// A dead leaf elsewhere does not keep stars from being followed write by write.
func TestStarsBesideDeadLeaf(t *testing.T) {
	var writes [2]int
	for i, dead := range []string{"", "  - {at: 1s, on: leaf-3-2, kind: hard, for: 2h}\n"} {
		w := build(t, "dead", `
name: dead
warm_up: 0s
horizon: 30min
fabric: {clos: {pods: 8, leaves: 3, spines: 2, tops: 3}}
failures: []
script:
`+dead+`  - {at: 600s, on: spine-1-0~top-0-1, kind: hard, for: 300s}
  - {at: 1200s, on: spine-2-1~top-1-1, kind: hard, for: 300s}
`)
		e := newRandom(w, 1, 0, together)
		e.run()
		writes[i] = e.ledger.StarWrites().All
	}
	if writes[0] < 20 || writes[1] != writes[0] {
		t.Errorf("%d writes changed but one term of a star, %d beside a dead leaf", writes[0], writes[1])
	}
}
