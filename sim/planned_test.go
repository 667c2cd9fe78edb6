package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"halflight/model"
	"halflight/sim/record"
)

// planned is a small fabric of five stages in which nothing fails and one round of
// upgrades is done, 10 minutes a box.
func plannedWorld(t *testing.T, name, settings string) *model.World {
	t.Helper()
	if !strings.Contains(settings, "fabric:") {
		settings += "\nfabric: {clos: {pods: 2, leaves: 3, spines: 3, tops: 3}}"
	}
	return build(t, name, fmt.Sprintf(`
name: %s
warm_up: 0s
horizon: 3d
routers: {spread: 0}
failures: []
%s
`, name, settings))
}

// lostIn plays a replication both ways, and returns what is lost in all and in a
// phase.
func lostIn(t *testing.T, w *model.World) (total, maintenance float64) {
	t.Helper()
	for i, how := range []manner{apart, together} {
		e := newRandom(w, 1, 0, how)
		if (how == together) != e.ahead {
			t.Fatal("the two ways are not compared")
		}
		e.run()
		r := e.record(0)
		sum, kept := 0.0, 0.0
		for _, row := range r.LostSeconds {
			for p, v := range row {
				sum += v
				if HeaderOf(w).Phases[p] == "maintenance" {
					kept += v
				}
			}
		}
		if i > 0 && math.Abs(sum-total) > 1e-9*math.Max(sum, total) {
			t.Errorf("%s: %v lost one by one, %v together", w.Name, total, sum)
		}
		if r.Planned.Left != 0 || r.Planned.Campaigns != 1 {
			t.Errorf("%s: %+v", w.Name, r.Planned)
		}
		total, maintenance = sum, kept
	}
	return total, maintenance
}

// upgrades are settings of one round without mistakes but for those given.
func upgrades(tier, more string) string {
	return fmt.Sprintf("operations: {floor: 0, upgrades: {boxes: %s, work: 10min%s}}\n", tier, more)
}

const faultless = ", mistakes: {undrained: 0, early: 0, dead: 0}"

// Make before break (S26): in the right order, drain by metric, wait, work, boot,
// put back, spines and tops are upgraded without losing anything, whether a router
// that returns waits with its bit or not. In any other order something is lost.
//
// The overload bit is the wrong drain for a spine of five stages: spines of other
// pods have no other way to its pod, and drop what leaves still give them.
func TestRightOrderLosesNothing(t *testing.T) {
	for _, tier := range []string{"spines", "tops"} {
		for _, ready := range []string{"true", "false"} {
			more := "overload: {until_ready: " + ready + "}"
			if lost, _ := lostIn(t, plannedWorld(t, "right", upgrades(tier, faultless)+more)); lost != 0 {
				t.Errorf("%s, until_ready %s: %v s lost in the right order", tier, ready, lost)
			}
			lost, _ := lostIn(t, plannedWorld(t, "bit", upgrades(tier, ", drain: overload"+faultless)+more))
			if wants := tier == "spines"; wants != (lost > 0) {
				t.Errorf("%s, until_ready %s: %v s lost by the bit", tier, ready, lost)
			}
		}
		for _, wrong := range []string{", drain: false", ", ahead: 0s"} {
			if lost, maintenance := lostIn(t, plannedWorld(t, "wrong", upgrades(tier, wrong+faultless))); !(lost > 0 && math.Abs(lost-maintenance) < 1e-12) {
				t.Errorf("%s%s: %v s lost, of them %v in maintenance", tier, wrong, lost, maintenance)
			}
		}
		// The tables are kept, and nothing else happens meanwhile; or neighbours do not
		// wait long enough.
		const kept = ", drain: false, kept: true"
		if lost, _ := lostIn(t, plannedWorld(t, "kept", upgrades(tier, kept+faultless)+"restart: {grace: 1h}")); lost != 0 {
			t.Errorf("%s: %v s lost with tables kept", tier, lost)
		}
		lost, _ := lostIn(t, plannedWorld(t, "short", upgrades(tier, kept+faultless)+"restart: {grace: 1min}"))
		if wants := tier == "spines"; wants != (lost > 0) {
			t.Errorf("%s: %v s lost as neighbours wait no longer than a minute", tier, lost)
		}
	}
	// In three stages nobody depends on a spine but leaves, and the bit will do.
	w := plannedWorld(t, "flat", upgrades("spines", ", drain: overload"+faultless)+"fabric: {clos: {pods: 1, leaves: 3, spines: 3, tops: 0}}")
	if lost, _ := lostIn(t, w); lost != 0 {
		t.Errorf("three stages: %v s lost by the bit", lost)
	}
}

// Mistakes cost something where the right order does not: a drain forgotten, and a
// box put back as it boots, with its tables not yet written.
func TestMistakesOfUpgrades(t *testing.T) {
	for _, mistake := range []string{"undrained: 1, early: 0, dead: 0", "undrained: 0, early: 1, dead: 0"} {
		if lost, maintenance := lostIn(t, plannedWorld(t, "mistake", upgrades("spines", ", mistakes: {"+mistake+"}"))); !(lost > 0 && math.Abs(lost-maintenance) < 1e-12) {
			t.Errorf("%s: %v s lost, of them %v in maintenance", mistake, lost, maintenance)
		}
	}
}

// What planned work costs, by arithmetic: three stages, all timers at rest.
func TestUpgradesByArithmetic(t *testing.T) {
	const flat = "fabric: {clos: {pods: 1, leaves: 5, spines: 4, tops: 0}}"
	// A spine that restarts with traffic on it takes a quarter of all until leaves see
	// it and prune, 10 ms + 5 ms; four spines in turn take 15 ms of all traffic.
	lost, _ := lostIn(t, plannedWorld(t, "spines", upgrades("spines", ", drain: false"+faultless)+flat))
	if math.Abs(lost-0.015) > 1e-9 {
		t.Errorf("spines: %v s lost, want 0.015", lost)
	}
	// A leaf takes what it sends and gets, 2/5 of all, for as long as it is out; five
	// in turn take 2 x 10 min during which nobody has a path, and the 2 s until each
	// is adjacent again, and some ms, as maintenance.
	lost, maintenance := lostIn(t, plannedWorld(t, "leaves", upgrades("leaves", faultless)+flat))
	if boot := lost - 1200; !(boot > 2*2 && boot < 2*2.1) || math.Abs(maintenance-boot) > 1e-9 {
		t.Errorf("leaves: %v s lost, of them %v in maintenance", lost, maintenance)
	}
}

// A box that keeps its tables serves for as long as neighbours wait. Four spines are
// asked for at once, 10 min each and 5 min of soak, and half of them must stay: where
// neighbours wait 10 min nothing is out, and all go together; a nanosecond less, and
// the second two wait for the first.
func TestKeptBeyondGrace(t *testing.T) {
	for grace, want := range map[string]record.Planned{
		"10min":          {Boxes: 4, Campaigns: 1, Nights: 1, Exposed: 15 * 60e9, CapacityWorst: 1},
		"599999999999ns": {Boxes: 4, Campaigns: 1, Nights: 1, Exposed: 30 * 60e9, CapacityWorst: 0.5},
	} {
		w := plannedWorld(t, "grace", "operations: {floor: 50%, soak: 5min, upgrades: {boxes: spines, at_once: 4, work: 10min, drain: false, kept: true"+faultless+"}}\n"+
			"restart: {grace: "+grace+"}\nfabric: {clos: {pods: 1, leaves: 3, spines: 4, tops: 0}}")
		if lost, _ := lostIn(t, w); lost > 1 {
			t.Errorf("%s: %v s lost", grace, lost)
		}
		if got := *Play(w, 1, 0).Planned; got != want {
			t.Errorf("%s: %+v, want %+v", grace, got, want)
		}
	}
}

// A leaf that keeps its tables goes on sending, and gets nothing once neighbours have
// dropped it: from a minute on, 9 of the 10 min that its work takes, a quarter of all
// demand each of four leaves. No path is left then, as to any leaf that is dark, whoever
// took it out; what is lost until routers know that, and as it returns, is maintenance.
func TestStrandedByUpgrades(t *testing.T) {
	w := plannedWorld(t, "beyond", "operations: {floor: 0, upgrades: {boxes: leaves, work: 10min, drain: false, kept: true"+faultless+"}}\n"+
		"restart: {grace: 1min}\nfabric: {clos: {pods: 1, leaves: 4, spines: 2, tops: 0}}")
	total, maintenance := lostIn(t, w)
	if stranded := total - maintenance; math.Abs(stranded-540) > 1 || maintenance <= 0 || maintenance > 4 {
		t.Errorf("%v s are stranded, want 540; and %v s maintenance", stranded, maintenance)
	}
}

// How many pairs of leaves a box takes with it, by counting: with n leaves in all and
// m in a pod, a leaf 2 (n - 1), a spine m (m - 1) + 2 m (n - m), a top n (n - m) if
// it has links to all pods.
func TestBlastByCounting(t *testing.T) {
	const n, m = 6, 3
	for tier, want := range map[string]int32{"leaves": 2 * (n - 1), "spines": m*(m-1) + 2*m*(n-m), "tops": n * (n - m)} {
		w := plannedWorld(t, tier, upgrades(tier, ", drain: false"+faultless))
		r := Play(w, 1, 0)
		upgrade, _, _ := modesOf(w)
		for i := range r.Faults {
			if f := &r.Faults[i]; f.Mode == upgrade && f.Pairs != want {
				t.Errorf("%s: %s took traffic from %d pairs, want %d", tier, f.On, f.Pairs, want)
			}
		}
		if r.Onsets[upgrade] == 0 {
			t.Errorf("%s: nothing was upgraded", tier)
		}
	}
}

// plannedSwarm is a small random world with planned work on top.
func plannedSwarm(seed uint64) string {
	s := &swarm{Rand: rand.New(rand.NewPCG(seed, 98))}
	work := fmt.Sprintf("upgrades: {boxes: %s, every: 2h, at_once: %d, ahead: %s, work: {lognormal: {median: 2min, sigma: 1}}, drain: %s, kept: %v,"+
		" mistakes: {undrained: 20%%, early: 20%%, dead: 5%%}}, changes: {rate: 1/5min, roles: %d, mistakes: {share: 50%%, wide: 40%%, hole: 30%%, undo: {lognormal: {median: 2min, sigma: 1}}}}, ",
		s.oneOf("all", "all", "spines", "leaves"), 1+s.IntN(3), s.oneOf("0s", "10s", "1min"), s.oneOf("metric", "overload", "false"), s.maybe(), 1+s.IntN(2))
	text := swarmText(seed, false, "4h")
	text = strings.Replace(text, "operations: {", "operations: {"+work, 1)
	for _, floor := range []string{"50%", "75%"} {
		text = strings.Replace(text, "floor: "+floor, "floor: 0", 1)
	}
	return text
}

// In random worlds with planned work the books add up, what is offered is delivered
// or lost, and leaves weighed together cost what they cost one by one.
func TestSwarmPlanned(t *testing.T) {
	t.Parallel()
	compared, mistakes, boxes := 0, int64(0), int64(0)
	for seed := range uint64(swarmSeeds) {
		w := build(t, fmt.Sprintf("planned-%d", seed), plannedSwarm(seed))
		total := map[bool]float64{}
		for _, how := range []manner{apart, together} {
			checkBooks(t, seed, w, how)
			e := newRandom(w, 3, 0, how)
			e.run()
			total[e.ahead] = e.ledger.Total(e.until)
			if sum := e.followed() + e.ledger.Share(); !w.Polarised && !(math.Abs(sum-1) <= 1e-9) {
				t.Errorf("seed %d, one by one %v: delivered and lost make %v", seed, how == apart, sum)
			}
			r := e.record(0)
			_, change, _ := modesOf(w)
			mistakes += r.Onsets[change]
			boxes += r.Planned.Boxes
		}
		if x, ok := total[true]; ok {
			compared++
			if y := total[false]; math.Abs(x-y) > 1e-9*math.Max(x, y) {
				t.Errorf("seed %d: lost seconds %v together, %v one by one", seed, x, y)
			}
		}
	}
	if compared < 5 || mistakes < 300 || boxes < 300 {
		t.Errorf("%d worlds compared, %d mistakes, %d boxes: too tame", compared, mistakes, boxes)
	}
}

// A leaf under upgrade is dark for servers that have no other, for as long as the work
// takes and it boots; not with its tables kept, and not for servers with two leaves, of
// which never both are out.
func TestUpgradesAndHoming(t *testing.T) {
	play := func(homing, more string) (cut, lost float64) {
		w := plannedWorld(t, "homing", upgrades("leaves", ", at_once: 4"+more+faultless)+
			"homing: "+homing+"\nrestart: {grace: 1h}\nfabric: {clos: {pods: 1, leaves: 6, spines: 3, tops: 0}}")
		r := Play(w, 1, 0)
		for _, c := range r.Servers.Cutoffs {
			cut += float64(c.Groups) * float64(c.To-c.From) / 1e9
		}
		for _, row := range r.LostSeconds {
			for _, v := range row {
				lost += v
			}
		}
		if r.Planned.Boxes != 6 {
			t.Errorf("%s: %+v", homing, r.Planned)
		}
		return cut, lost
	}
	cut, lost := play("{groups: 1, attachments: 1}", "")
	if each := cut / 6; !(each >= 600 && each < 610) {
		t.Errorf("one leaf: servers are cut off for %v s each", each)
	}
	if kept, loss := play("{groups: 1, attachments: 1}", ", kept: true"); kept != 0 || loss != 0 {
		t.Errorf("one leaf with its tables kept: cut off for %v s, %v s lost", kept, loss)
	}
	// What is left is the time until others have noticed.
	if two, loss := play("{groups: 1, attachments: 2}", ""); two != 0 || !(loss > 0 && loss < lost/100) {
		t.Errorf("two leaves: cut off for %v s, %v s lost against %v", two, loss, lost)
	}
}

// Changes come as a Poisson process, and so do mistakes: as many as the rate and their
// share say, more with each role, a share of them on all boxes of a role. Counts are
// held against their means and variances.
func TestChangesByArithmetic(t *testing.T) {
	const n, days = 20, 3
	for _, roles := range []int{1, 3} {
		w := plannedWorld(t, "changes", fmt.Sprintf("operations: {changes: {rate: 1/20min, roles: %d, mistakes: {share: 20%%, per_role: 0.5, wide: 30%%, undo: 1s}}}\n"+
			"fabric: {clos: {pods: 1, leaves: 6, spines: 3, tops: 0}}", roles))
		var changes, mistakes, wide float64
		for i := range n {
			r := Play(w, 1, uint32(i))
			changes += float64(r.Planned.Changes)
			for k := range r.Faults {
				mistakes++
				if strings.Contains(r.Faults[k].On, "all of its role") {
					wide++
				}
			}
		}
		sought := float64(n * days * 72)
		share := 0.2 * (1 + 0.5*float64(roles-1))
		// A role that has one box is no role at all: three spines of three roles.
		broad := 0.3
		if roles == 3 {
			broad *= 6.0 / 9
		}
		for what, c := range map[string][2]float64{"changes": {changes, sought}, "mistakes": {mistakes, sought * share}, "wide mistakes": {wide, sought * share * broad}} {
			if math.Abs(c[0]-c[1]) > farOff*math.Sqrt(c[1]) {
				t.Errorf("%d roles: %v %s, want %v", roles, c[0], what, c[1])
			}
		}
	}
}

// What a filter that drops a share h of flows costs, by arithmetic: on one of n leaves
// h/n of all traffic, on one of s spines of three stages h/s, for as long as it is there.
func TestMistakesByArithmetic(t *testing.T) {
	const h, lasts = 0.3, 100.0
	settings := func(wide int) string {
		return fmt.Sprintf("operations: {changes: {rate: 1/12h, mistakes: {share: 1, wide: %d, what: {hole: 1}, hole: 30%%, undo: 100s}}}\nfabric: {clos: {pods: 1, leaves: 6, spines: 3, tops: 0}}", wide)
	}
	seen := 0
	for i := range 6 {
		r := Play(plannedWorld(t, "hole", settings(0)), 1, uint32(i))
		for k := range r.Faults {
			want := h * lasts / 3
			if strings.HasPrefix(r.Faults[k].On, "leaf") {
				want = h * lasts / 6
			}
			if f := &r.Faults[k]; f.End >= 0 && math.Abs(f.LostSeconds-want) > 1e-9 {
				t.Errorf("%s: %v s lost, want %v", f.On, f.LostSeconds, want)
			}
			seen++
		}
		// On all leaves, or all spines, it takes h of everything.
		r = Play(plannedWorld(t, "all", settings(1)), 1, uint32(i))
		for k := range r.Faults {
			if f := &r.Faults[k]; f.End >= 0 && math.Abs(f.LostSeconds-h*lasts) > 1e-9 {
				t.Errorf("%s: %v s lost, want %v", f.On, f.LostSeconds, h*lasts)
			}
		}
	}
	if seen < 20 {
		t.Errorf("only %d mistakes", seen)
	}
}

// Planned work draws for itself: what fails by chance fails at the same instants with
// and without it, if nobody's repair depends on it.
func TestPlannedWorkDrawsAlone(t *testing.T) {
	const more = "failures: [{name: cut, on: link, kind: hard, life: 10d, start: new}, {name: loose, on: link, kind: flapping, episodes: 1/5d}]\n"
	world := func(settings string) *model.World {
		return build(t, "alone", "name: alone\nwarm_up: 1d\nhorizon: 20d\nfabric: {clos: {pods: 2, leaves: 3, spines: 3, tops: 3}}\n"+more+settings)
	}
	list := func(w *model.World) (out []string) {
		r := Play(w, 4, 0)
		for k := range r.Faults {
			if f := &r.Faults[k]; f.Mode < 2 {
				out = append(out, fmt.Sprint(f.On, f.Onset, f.End))
			}
		}
		return out
	}
	bare := list(world(""))
	for _, work := range []string{"upgrades: {every: 2d, boxes: leaves}", "upgrades: {every: 2d, at_once: 3}", "changes: {rate: 4/d, mistakes: {share: 1}}"} {
		if got := list(world("operations: {floor: 0.5, " + work + "}")); strings.Join(got, "\n") != strings.Join(bare, "\n") {
			t.Errorf("%s: %d faults by chance, %d without, or at other instants", work, len(got), len(bare))
		}
	}
	if len(bare) < 100 {
		t.Errorf("only %d faults", len(bare))
	}
}

// A repair is a drain too (S26): a link of a leaf that is drained until tables have
// moved, then unplugged, mended and given back loses nothing, and one that is unplugged
// at once, or sooner than routers compute, loses something. The link of a top loses a
// little even so: the top has a longer way, down to another pod and up again, and
// loops with the spine there until that has moved too.
func TestRepairInRightOrder(t *testing.T) {
	lost := func(link, drained string) (loss float64) {
		script := fmt.Sprintf("script: [{at: 10min, on: %s, kind: hard, for: 20min}", link)
		if drained != "" {
			script += fmt.Sprintf(", {at: %s, on: %s, kind: drain, for: 40min}", drained, link)
		}
		w := plannedWorld(t, "repair", script+"]\n")
		for i, how := range []manner{apart, together} {
			e := newRandom(w, 1, 0, how)
			e.run()
			total := e.ledger.Total(e.until)
			if i > 0 && math.Abs(total-loss) > 1e-9*math.Max(total, loss) {
				t.Errorf("%s, drained at %s: %v s lost one by one, %v together", link, drained, loss, total)
			}
			loss = total
		}
		return loss
	}
	const leaf, top = "leaf-0-1~spine-0-2", "spine-1-0~top-0-1"
	if got := lost(leaf, "9min"); got != 0 {
		t.Errorf("%s, drained first: %v s lost", leaf, got)
	}
	if got, bare := lost(top, "9min"), lost(top, ""); !(got > 0 && got < bare/10) {
		t.Errorf("%s, drained first: %v s lost, %v without", top, got, bare)
	}
	for _, late := range []string{"599990ms", ""} {
		if got := lost(leaf, late); got == 0 {
			t.Errorf("%s, drained at %q: nothing lost", leaf, late)
		}
	}
}

// The right order loses nothing either if routers write at times of their own and
// several boxes are out at once.
func TestRightOrderOfUnequalRouters(t *testing.T) {
	for _, tier := range []string{"spines", "tops"} {
		w := plannedWorld(t, "unequal", upgrades(tier, ", at_once: 3"+faultless)+"fabric: {clos: {pods: 3, leaves: 3, spines: 3, tops: 3}}")
		w.Spread = 0.7
		for seed := range uint64(10) {
			for _, how := range []manner{apart, together} {
				e := newRandom(w, seed, 0, how)
				e.run()
				if lost := e.ledger.Total(e.until); lost != 0 {
					t.Errorf("%s, seed %d: %v s lost", tier, seed, lost)
				}
			}
		}
	}
}

// A tale counts routers whose tables change, not the entries that do: three of nine
// leaves restart at one instant, and each loses the eight entries that it had.
func TestTaleCountsRouters(t *testing.T) {
	w := plannedWorld(t, "three", "fabric: {clos: {pods: 1, leaves: 9, spines: 4, tops: 0}}\noperations: {floor: 0.5, upgrades: {boxes: leaves, at_once: 3, first: 1h}}")
	tale, err := Story(w, 1, 0, Want{Worst: true})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(tale.Lines[0].Text, "tables change at 3 leaves") {
		t.Errorf("three restart at once: %s", tale.Lines[0].Text)
	}
	for _, line := range tale.Lines {
		for _, part := range strings.Split(line.Text, "; ") {
			var n int
			if k, _ := fmt.Sscanf(part, "tables change at %d leaves", &n); k == 1 && n > 9 {
				t.Errorf("of nine leaves: %s", part)
			}
		}
	}
}

// A box that keeps its tables serves meanwhile, unless it comes back dead: a floor of a half leaves two of four
// spines, and nothing but what is lost as they go is lost. (All four were out at once.)
func TestDeadOfKeptBoxesServeNobody(t *testing.T) {
	w := plannedWorld(t, "grace", "operations: {floor: 50%, soak: 5min, upgrades: {boxes: spines, at_once: 4, work: 10min, drain: false, kept: true, mistakes: {undrained: 0, early: 0, dead: 100%}}}\n"+
		"restart: {grace: 10min}\nfabric: {clos: {pods: 1, leaves: 3, spines: 4, tops: 0}}")
	lost, _ := lostIn(t, w)
	if left := Play(w, 1, 0).Planned.CapacityWorst; left != 0.5 || lost <= 0 || lost > 1 {
		t.Errorf("%v of the uplinks are left and %v s lost; want 0.5 and less than 1", left, lost)
	}
}
