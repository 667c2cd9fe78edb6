package sim

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"halflight/model"
	"halflight/sim/impact"
	"halflight/sim/record"
)

// starWorld is the scenario of a seed: a fabric in which stars of several points
// come about, as links between spines and tops come and go. In a crowded one links flap
// for long, so that several of them go round at once, among directions that lose.
func starWorld(seed uint64, crowded bool) string {
	const repair = "repair: {lead: {exponential: {mean: 5min}}, hands_on: {lognormal: {median: 4min, sigma: 0.5}}}"
	modes := []string{
		"on: link, kind: hard, " + repair,
		"on: link, kind: flapping, flaps: {geometric: {mean: 8}}, down: {lognormal: {median: 500ms, sigma: 1.5}}, gap: {lognormal: {median: 3s, sigma: 1}}",
		"on: link, kind: lossy, loss: {loguniform: {low: 0.1%, high: 30%}}, one_way: 50%, repair: {lead: {exponential: {mean: 2h}}, hands_on: 4min}",
		"on: router, kind: restart, down: {lognormal: {median: 10s, sigma: 1}}",
		"on: link, kind: hard, light: true, " + repair,
	}
	var text strings.Builder
	spines, hours, life := 2, 4, 12
	if crowded {
		spines, hours, life, seed = 3, 1, 3, seed&^0xfc|1
		modes[1] = strings.Replace(modes[1], "8", "60", 1)
	}
	fmt.Fprintf(&text, "name: stars\nwarm_up: 0s\nhorizon: %dh\nfabric: {clos: {pods: %d, leaves: 2, spines: %d, tops: %d}}\n", hours, 4+seed%3, spines, 2+seed%3)
	fmt.Fprintf(&text, "fib: {per_prefix: %s, local_prune: %v}\noperations: {reaction: 2min}\nfailures:\n", []string{"100us", "20ms"}[seed%2], seed%4 < 2)
	for i, m := range modes {
		if i < 2 || seed>>(i-2)&1 == 1 {
			fmt.Fprintf(&text, "  - {name: mode-%d, life: {exponential: {mean: %dh}}, start: aged, %s}\n", i, life, m)
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
	var stars impact.StarWrites
	for seed := range uint64(72) {
		text := starWorld(seed, seed >= 60)
		if seed >= 48 && seed < 60 {
			text = swarmText(seed, false, "4h")
		}
		if seed >= 55 && seed < 60 {
			seed = [5]uint64{83, 95, 119, 139, 145}[seed-55]
			text = starWorld(seed, false)
		}
		w := build(t, "short", text)
		if !w.Timers.OverloadLeaves || w.Polarised || unforetold(w) {
			continue
		}
		n := inShortAsPlainly(t, w, seed)
		stars.All, stars.Gray, stars.Beside, stars.Several = stars.All+n.All, stars.Gray+n.Gray, stars.Beside+n.Beside, stars.Several+n.Several
	}
	if stars.All < 10000 || stars.Gray < 1000 || stars.Beside < 100 || stars.Several < 30 {
		t.Error("too few writes changed but one term of a star")
	}
	t.Logf("writes that changed but one term of a star: %+v", stars)
}

// With more pods than a word has bits what is done for speed changes no figure either.
func TestManyPodsInShortAsPlainly(t *testing.T) {
	t.Parallel()
	stars := 0
	for _, seed := range []uint64{1, 3, 5, 7} {
		text := regexp.MustCompile(`pods: \d+, leaves: 2`).ReplaceAllString(starWorld(seed|4, false), "pods: 70, leaves: 1")
		stars += inShortAsPlainly(t, build(t, "many", strings.Replace(text, "horizon: 4h", "horizon: 20min", 1)), seed).All
	}
	if stars < 1000 {
		t.Errorf("only %d writes changed but one term of a star", stars)
	}
}

// inShortAsPlainly plays a world in short and plainly, which must differ in no figure, and
// pair by pair, which must lose as much. It tells what was followed in short.
func inShortAsPlainly(t *testing.T, w *model.World, seed uint64) impact.StarWrites {
	t.Helper()
	short, plain, single := newRandom(w, seed, 0, together), newRandom(w, seed, 0, together), newRandom(w, seed, 0, apart)
	plain.ledger.Plainly, single.bySize = true, false
	for _, e := range []*engine{short, plain, single} {
		e.run()
	}
	if x, y := short.ledger.Total(short.until), single.ledger.Total(single.until); !(math.Abs(x-y) <= roughly*y) {
		t.Errorf("seed %d: lost seconds %v together, %v one by one", seed, x, y)
	}
	p, q := short.record(0), plain.record(0)
	sameFigures(t, fmt.Sprint("seed ", seed), &p, &q)
	return short.ledger.StarWrites()
}

// Where no application is asked for, what is lost is the same.
func TestStarsWithoutApplications(t *testing.T) {
	t.Parallel()
	stars := 0
	for seed := range uint64(12) {
		w := build(t, "silent", starWorld(seed, false)+"applications: []\n")
		short, single := newRandom(w, seed, 0, together), newRandom(w, seed, 0, apart)
		if !short.ahead {
			continue
		}
		short.run()
		single.run()
		stars += short.ledger.StarWrites().All
		if x, y := short.ledger.Total(short.until), single.ledger.Total(single.until); !(math.Abs(x-y) <= roughly*y) {
			t.Errorf("seed %d: lost seconds %v together, %v one by one", seed, x, y)
		}
	}
	if stars < 100 {
		t.Errorf("only %d writes changed but one term of a star", stars)
	}
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
