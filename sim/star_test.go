package sim

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"halflight/sim/record"
)

// starWorld is the scenario of a seed: a fabric in which stars of several points
// come about, as links between spines and tops come and go.
func starWorld(seed uint64) string {
	const repair = "repair: {lead: {exponential: {mean: 5min}}, hands_on: {lognormal: {median: 4min, sigma: 0.5}}}"
	modes := []string{
		"on: link, kind: hard, " + repair,
		"on: link, kind: flapping, flaps: {geometric: {mean: 8}}, down: {lognormal: {median: 500ms, sigma: 1.5}}, gap: {lognormal: {median: 3s, sigma: 1}}",
		"on: link, kind: lossy, loss: {loguniform: {low: 0.1%, high: 30%}}, one_way: 50%, " + repair,
		"on: router, kind: restart, down: {lognormal: {median: 10s, sigma: 1}}",
		"on: link, kind: hard, light: true, " + repair,
	}
	var text strings.Builder
	fmt.Fprintf(&text, "name: stars\nwarm_up: 0s\nhorizon: 4h\nfabric: {clos: {pods: %d, leaves: 2, spines: 2, tops: %d}}\n", 4+seed%3, 2+seed%2)
	fmt.Fprintf(&text, "fib: {per_prefix: %s, local_prune: %v}\noperations: {reaction: 2min}\nfailures:\n", []string{"100us", "20ms"}[seed%2], seed%4 < 2)
	for i, m := range modes {
		if i < 2 || seed>>(i-2)&1 == 1 {
			fmt.Fprintf(&text, "  - {name: mode-%d, life: {exponential: {mean: 12h}}, start: aged, %s}\n", i, m)
		}
	}
	return text.String()
}

// What is done for speed where leaves are weighed together changes no figure of a
// record but by rounding, and no lost second against every pair one by one. The last
// seeds found mistakes: blame that was not looked at again as a run had ended, and
// what passed a star's entrances, told by the next entry.
func TestFollowedInShortAsPlainly(t *testing.T) {
	t.Parallel()
	stars := 0
	for seed := range uint64(60) {
		text := starWorld(seed)
		if seed >= 48 {
			text = swarmText(seed, false, "4h")
		}
		if seed >= 55 {
			seed = [5]uint64{83, 95, 119, 139, 145}[seed-55]
			text = starWorld(seed)
		}
		w := build(t, "short", text)
		if !w.Timers.OverloadLeaves || w.Polarised || unforetold(w) {
			continue
		}
		short, plain, single := newRandom(w, seed, 0, together), newRandom(w, seed, 0, together), newRandom(w, seed, 0, apart)
		plain.ledger.Plainly = true
		for _, e := range []*engine{short, plain, single} {
			e.run()
		}
		stars += short.ledger.StarWrites()
		if x, y := short.ledger.Total(short.until), single.ledger.Total(single.until); !(math.Abs(x-y) <= roughly*y) {
			t.Errorf("seed %d: lost seconds %v together, %v one by one", seed, x, y)
		}
		p, q := short.record(0), plain.record(0)
		sameFigures(t, fmt.Sprint("seed ", seed), &p, &q)
	}
	if stars < 4000 {
		t.Errorf("only %d writes changed but one term of a star", stars)
	}
	t.Log(stars, "writes changed but one term of a star")
}

// sameFigures compares two records, whole numbers exactly and others but for
// rounding.
func sameFigures(t *testing.T, name string, a, b *record.Replication) {
	t.Helper()
	var x, y any
	for _, p := range []struct {
		r  *record.Replication
		to *any
	}{{a, &x}, {b, &y}} {
		text, err := json.Marshal(p.r)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(text, p.to); err != nil {
			t.Fatal(err)
		}
	}
	likeness(t, name, x, y)
}

func likeness(t *testing.T, at string, a, b any) {
	t.Helper()
	switch x := a.(type) {
	case map[string]any:
		y, _ := b.(map[string]any)
		if len(x) != len(y) {
			t.Errorf("%s: %v and %v", at, a, b)
		}
		for k := range x {
			likeness(t, at+" "+k, x[k], y[k])
		}
	case []any:
		y, _ := b.([]any)
		if len(x) != len(y) {
			t.Errorf("%s: %d and %d long", at, len(x), len(y))
			return
		}
		for i := range x {
			likeness(t, at, x[i], y[i])
		}
	case float64:
		if y, ok := b.(float64); !ok || !(math.Abs(x-y) <= 1e-9*max(math.Abs(x), math.Abs(y)) || math.Abs(x-y) < 1e-15) {
			t.Errorf("%s: %v and %v", at, a, b)
		}
	default:
		if a != b {
			t.Errorf("%s: %v and %v", at, a, b)
		}
	}
}
