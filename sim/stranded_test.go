package sim

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/sim/impact"
)

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
			if e.routePlainly(id, 0, 1) {
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

// The culprit of a pair without a route is the oldest fault in force without which there would be
// one, found link by link; a pair with a route has none.
func TestCulpritsPlainly(t *testing.T) {
	const repair = "repair: {lead: {exponential: {mean: 30min}}, hands_on: 10min}"
	found, stranded := map[string]int{}, 0
	for seed := range uint64(8) {
		w := build(t, "culprits", fmt.Sprintf(`
name: culprits
warm_up: 0s
horizon: 6h
fabric: {clos: {pods: 2, leaves: 3, spines: 2, tops: %d}}
detection: {bfd: %v}
failures:
  - {name: cut, life: {exponential: {mean: 4h}}, start: aged, on: link, kind: hard, %s}
  - {name: hung, life: {exponential: {mean: 20h}}, start: aged, on: router, kind: hard, light: true, %s}
  - {name: boot, life: {exponential: {mean: 8h}}, start: aged, on: router, kind: restart, down: 4min}
  - {name: gray, life: {exponential: {mean: 4h}}, start: aged, on: link, kind: lossy, loss: 20%%, %s}
script:
  - {at: 1h, on: spine-0-1, kind: drain, for: 4h}
  - {at: 2h, on: leaf-0-1~spine-0-0, kind: drain, for: 3h}
`, 1+seed%2, seed%3 > 0, repair, repair, repair))
		e := newRandom(w, seed, 0, []manner{together, apart}[seed/2%2])
		for at := int64(60e9); at < e.until; at += 400e9 {
			e.advance(at)
			for s := range int32(e.f.Leaves) {
				for d := range int32(e.f.Leaves) {
					want := int32(-1)
					if s != d && !e.routePlainly(-1, s, d) {
						stranded++
						list := e.faultsInForce()
						if i := slices.IndexFunc(list, func(id int32) bool { return e.routePlainly(id, s, d) }); i >= 0 {
							want = list[i]
							found[e.faults[want].Kind.String()]++
						}
					}
					if got := e.culprit(s, d); got != want {
						t.Fatalf("seed %d, %d s, from leaf %d to %d: culprit %d, plainly %d", seed, at/1e9, s, d, got, want)
					}
				}
			}
		}
	}
	if stranded < 1000 || len(found) < 4 {
		t.Errorf("%d pairs without a route; culprits %v", stranded, found)
	}
}

// What is stranded goes to who strands it, in a hall with other cuts too, where leaves are weighed together
// as pair by pair (S23): a leaf that keeps its tables through a restart that takes longer than its grace, and
// spines that die at once beside a leaf that is dead. It went to the oldest cut anywhere.
func TestStrandedTogetherAsApart(t *testing.T) {
	for _, script := range []string{`
  - {at: 60s, on: leaf-2-2~spine-2-1, kind: hard, for: 20min}
  - {at: 100s, on: leaf-1-1, kind: restart, kept: true, for: 5min}
`, `
  - {at: 60s, on: leaf-0-0, kind: hard, for: 30min}
  - {at: 100s, on: spine-1-0, kind: hard, for: 10min}
  - {at: 100s, on: spine-1-1, kind: hard, for: 10min}
  - {at: 100s, on: spine-1-2, kind: hard, for: 10min}
`} {
		w := deadWorld(t, script)
		one, other := newRandom(w, 1, 0, together), newRandom(w, 1, 0, apart)
		one.run()
		other.run()
		for i := range one.faults {
			a, phases := one.ledger.Lost(int32(i))
			b, plain := other.ledger.Lost(int32(i))
			if p := impact.Stranded; math.Abs(a-b) > 0.01*b+1e-3 || math.Abs(phases[p]-plain[p]) > 0.01*plain[p]+1e-3 {
				t.Errorf("%s: %v s, %v of it stranded, pair by pair %v and %v", one.faults[i].on, a, phases[p], b, plain[p])
			}
		}
	}
}

// routePlainly says whether a route from source to d would exist if a fault were not there:
// the plain twin of culprit, link by link. -1 is no fault.
func (e *engine) routePlainly(id, source, d int32) bool {
	usable := make([]bool, len(e.f.Links))
	for l := range usable {
		usable[l] = e.listedWithout(int32(l), id)
	}
	kind := failure.Hard
	if id >= 0 {
		kind = e.faults[id].Kind
	}
	barred := func(x int32) bool {
		if !e.ledger.Truth.Routes.Overloaded(x) {
			return false
		}
		drains := e.body.drainRouter[x]
		configured := e.t.OverloadLeaves && e.f.Routers[x].Class == fabric.Leaf
		return configured || len(drains) > 1 || (len(drains) == 1 && drains[0] != id) || len(drains) == 0 || kind != failure.Drain
	}
	seen := make([]bool, len(e.f.Routers))
	seen[d] = true
	stack := []int32{d}
	for len(stack) > 0 {
		x := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if x != d && barred(x) {
			continue
		}
		for _, p := range e.f.Ports[x] {
			if usable[p.Link] && !seen[p.Peer] {
				seen[p.Peer] = true
				stack = append(stack, p.Peer)
			}
		}
	}
	return seen[source]
}

// A leaf's databases agree with the truth while its only spine is dead, and not when that says, as it
// returns, that it is not ready: however many links come back with it, that goes to the spine. (With more
// than 64 of them it went to the older cut beside it, and the spine seemed to be back 0.3 s too early.)
func TestManyChangesAreRemembered(t *testing.T) {
	var back, stranded []float64
	for _, leaves := range []int{61, 64} {
		w := build(t, "return", fmt.Sprintf(`
name: return
random: false
horizon: 20min
warm_up: 0s
fabric: {clos: {pods: 1, leaves: %d, spines: 2, tops: 0}}
detection: {bfd: false, hello: false}
script:
  - {at: 1min, on: leaf-0-00~spine-0-1, kind: hard, for: 15min}
  - {at: 2min, on: spine-0-0, kind: hard, for: 8min}
`, leaves))
		e := newRandom(w, 1, 0, apart)
		e.run()
		_, repair := e.ledger.Convergence(1)
		_, phases := e.ledger.Lost(0)
		back, stranded = append(back, float64(repair)/1e9), append(stranded, phases[impact.Stranded]*float64(leaves))
	}
	if math.Abs(back[1]-back[0]) > 0.01 || math.Abs(stranded[1]-stranded[0]) > 1e-3*stranded[0] {
		t.Errorf("back %v s after the end, %v s stranded times leaves: want the same with 61 and 64 leaves", back, stranded)
	}
}

// A leaf that is late is charged by its own database where leaves are weighed together too (S23): one that
// waits for SPF to learn of a spine that is back loses all to that one, not to whoever takes the other way.
func TestLateLeafIsTheFirst(t *testing.T) {
	w := build(t, "late", `
name: late
horizon: 40s
warm_up: 0s
routers: {spread: 0}
fabric: {clos: {pods: 3, leaves: 5, spines: 2, tops: 2}}
fib: {per_prefix: 1ms}
detection: {bfd: {jitter: false}, hello: {jitter: false}}
failures: []
script:
  - {at: 22234ms, for: 2644ms, on: spine-2-0, kind: hard, light: true, plane: data}
  - {at: 19769ms, for: 1ms, on: spine-0-1, kind: hard}
`)
	one, other := newRandom(w, 1, 0, together), newRandom(w, 1, 0, apart)
	one.run()
	other.run()
	for i := range one.faults {
		a, _ := one.ledger.Lost(int32(i))
		b, _ := other.ledger.Lost(int32(i))
		if b < 0.1 || math.Abs(a-b) > 0.01*b {
			t.Errorf("%s: %v s together, %v pair by pair", one.faults[i].on, a, b)
		}
	}
}
