package sim

import (
	"fmt"
	"math"
	"testing"

	"halflight/model"
)

// deadWorld is a small fabric with a script of leaves that die.
func deadWorld(t *testing.T, script string) *model.World {
	return build(t, "dead", "name: dead\nwarm_up: 0s\nhorizon: 40min\nfabric: {clos: {pods: 4, leaves: 3, spines: 3, tops: 2}}\nfailures: []\nscript:\n"+script)
}

// Units of a dead leaf are not slow by what its spines lose. (A loss at both ends of a pair counts
// twice together: some percent of little loss.)
func TestSlowUnitsOfDeadLeaf(t *testing.T) {
	w := deadWorld(t, `
  - {at: 1s, on: spine-1-0>top-0-1, kind: silent, loss: 0.01}
  - {at: 60s, on: leaf-1-1, kind: hard, for: 1600s}
`)
	one, other := newRandom(w, 1, 0, together), newRandom(w, 1, 0, apart)
	one.run()
	other.run()
	a, b := one.record(0), other.record(0)
	for i := range a.Applications {
		x, y := a.Applications[i].SlowShare, b.Applications[i].SlowShare
		if !(y > 0) || math.Abs(x-y) > 0.03*y {
			t.Errorf("class %d: slow share %v together, %v pair by pair", i, x, y)
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
		stars += inShortAsPlainly(t, w, seed).All
	}
	if stars < 1000 {
		t.Errorf("only %d writes changed but one term of a star", stars)
	}
}

// A leaf elsewhere that is dead, or hangs without anybody noticing, does not keep stars from being
// followed write by write.
func TestStarsBesideDeadLeaf(t *testing.T) {
	var writes [3]int
	for i, dead := range []string{"", "  - {at: 1s, on: leaf-3-2, kind: hard, for: 2h}\n", "  - {at: 1s, on: leaf-3-2, kind: hard, light: true, plane: data, for: 2h}\n"} {
		w := build(t, "dead", `
name: dead
warm_up: 0s
horizon: 30min
fabric: {clos: {pods: 8, leaves: 3, spines: 2, tops: 3}}
detection: {bfd: false, hello: false}
failures: []
script:
`+dead+`  - {at: 600s, on: spine-1-0~top-0-1, kind: hard, for: 300s}
  - {at: 1200s, on: spine-2-1~top-1-1, kind: hard, for: 300s}
`)
		e := newRandom(w, 1, 0, together)
		e.run()
		writes[i] = e.ledger.StarWrites().All
	}
	if writes[0] < 20 || writes[1] != writes[0] || writes[2] != writes[0] {
		t.Errorf("%v writes changed but one term of a star, want as many beside a leaf that is dead, or hangs", writes)
	}
}
