package sim

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"halflight/model"
)

// hall is a fabric in which what stops is seen after 10 ms by light alone, and taken
// out of tables at once.
const hall = `
random: false
horizon: 200s
fabric: {clos: {pods: %d, leaves: 3, spines: 2, tops: %d, fabrics: %d}}
timers: {spf_run: 10ms}
fib: {prune_delay: 0s}
detection: {signal: 10ms, bfd: false, hello: false}
applications: []
`

// scripted plays one fault of a script and returns the play.
func scripted(t *testing.T, text, fault string) *engine {
	t.Helper()
	w := build(t, "t", text+"script: ["+fault+"]\n")
	e := newEngine(w, nil, apart)
	e.addScript(w.Script)
	e.run()
	return e
}

// The blast radius of a fault in one fabric and in several, by counting: a leaf
// takes the pairs that it is an end of; a spine of a pod of L leaves those within
// the pod and those that leave or enter it; a top those between pods. Only routers
// of the same fabric hear of it, and all of them do.
func TestBlastRadiusByCounting(t *testing.T) {
	const pods, leaves, spines, tops = 4, 3, 2, 4
	for _, k := range []int{1, 2} {
		n := pods * leaves / k // leaves of one fabric
		routers := (pods*(leaves+spines) + spines*tops) / k
		for _, c := range []struct {
			on    string
			pairs int
			ran   int
		}{
			{"leaf-3-1", 2 * (n - 1), routers - 1},
			{"spine-2-1", leaves*(leaves-1) + 2*leaves*(n-leaves), routers - 1},
			{"top-1-3", n * (n - leaves), routers - 1},
		} {
			e := scripted(t, fmt.Sprintf(hall, pods, tops, k), "{at: 10s, on: "+c.on+", kind: hard}")
			if got := e.ledger.Pairs(0); got != c.pairs {
				t.Errorf("%d fabrics, %s: %d pairs, want %d", k, c.on, got, c.pairs)
			}
			if got := int(e.faults[0].ran.Count()); got != c.ran {
				t.Errorf("%d fabrics, %s: %d routers ran SPF, want %d", k, c.on, got, c.ran)
			}
		}
	}
}

// The pairs of leaves that lose traffic to one fault, by counting, each once however often it does:
// a leaf's port carries what the leaf sends to all others or gets from them, a link between a spine
// and a top what passes between a pod's leaves and all others. Pair by pair and together alike.
func TestPairsStruckByCounting(t *testing.T) {
	const pods, leaves = 3, 30 // over two words of leaves
	const n = pods * leaves
	const far = leaves * (n - leaves) // of one pod, in one direction
	for _, c := range []struct {
		fault  string
		pairs  int
		before string // a fault beside it
	}{
		{"leaf-0-01~spine-0-1, kind: hard", 2 * (n - 1), ""},
		{"leaf-0-01~spine-0-1, kind: flapping, period: 20s, off: 1s", 2 * (n - 1), ""},
		{"leaf-0-01>spine-0-1, kind: lossy, loss: 0.0001", n - 1, ""},
		{"spine-0-1>leaf-0-01, kind: lossy, loss: 0.0001", n - 1, ""},
		{"leaf-0-01>spine-0-1, kind: lossy, loss: 0.2", 2 * (n - 1), ""}, // sessions fall
		{"spine-1-1~top-1-0, kind: hard", 2 * far, ""},
		{"spine-1-1>top-1-0, kind: lossy, loss: 0.0001", far, ""},
		{"spine-1-1, kind: hard", leaves*(leaves-1) + 2*far, ""},
		{"spine-1-1, kind: hard, light: true, plane: data", leaves*(leaves-1) + 2*far, ""},
		{"top-0-1, kind: hard", pods * far, ""},
		{"leaf-2-29, kind: hard", 2 * (n - 1), ""},
		{"leaf-2-29, kind: hard, for: 8min", 2 * (n - 1), ""},
		// A port out of use that drops something as it comes back; what a leaf does not get to at first, and then does; what a
		// leaf never gets to, as it loses all on the way; a leaf that dies beside one that is dead for good, and a port that drops
		// something as a leaf is dead too shortly to be noticed.
		{"leaf-0-01>spine-0-1, kind: lossy, loss: 0.0001", n - 1, "leaf-0-01~spine-0-1, kind: drain, for: 1min"},
		{"spine-1-1>top-1-0, kind: lossy, loss: 0.0001", far, "leaf-1-01~spine-1-1, kind: hard, for: 1min"},
		{"spine-1-1>top-1-0, kind: lossy, loss: 0.0001", far, "leaf-1-01>spine-1-1, kind: lossy, loss: 1, for: 1min"},
		{"spine-1-1>top-1-0, kind: silent, loss: 0.0001, for: 1s", far - (n - leaves), "leaf-1-01>spine-1-1, kind: lossy, loss: 1, for: 8min"},
		{"leaf-2-29, kind: hard, for: 8min", 2 * (n - 2), "leaf-0-00, kind: hard, for: 8min"},
		{"leaf-0-00>spine-0-0, kind: lossy, loss: 0.0001", n - 1, "leaf-0-01, kind: hard, light: true, plane: data, for: 50ms"},
	} {
		script := ""
		if c.before != "" {
			script = "  - {at: 9.99s, on: " + c.before + "}\n"
		}
		if !strings.Contains(c.fault, "for:") {
			c.fault += ", for: 3min"
		}
		w := build(t, "struck", fmt.Sprintf("name: struck\nwarm_up: 0s\nhorizon: 4min\nfabric: {clos: {pods: %d, leaves: %d, spines: 2, tops: 2}}\nfailures: []\nscript:\n%s  - {at: 10s, on: %s}\n", pods, leaves, script, c.fault))
		for _, how := range []manner{together, apart} {
			e := newRandom(w, 1, 0, how)
			e.run()
			if got := e.ledger.Pairs(int32(strings.Count(script, "on:"))); got != c.pairs {
				t.Errorf("%s beside %q, manner %d: %d pairs, want %d", c.fault, c.before, how, got, c.pairs)
			}
		}
	}
	// With servers on two leaves each a leaf that dies loses what it would send and get all the same.
	homed := scripted(t, "name: homed\nfabric: {clos: {pods: 2, leaves: 4, spines: 2, tops: 2}}\nhoming: {groups: 2, attachments: 2}\n", "{at: 10s, on: leaf-0-1, kind: hard, for: 30s}")
	if got := homed.ledger.Pairs(0); got != 2*7 {
		t.Errorf("servers on two leaves: %d pairs, want %d", got, 2*7)
	}
	// What is long over stays counted, and what is not goes on being told apart.
	w := build(t, "over", fmt.Sprintf("name: over\nwarm_up: 0s\nhorizon: 4h\nfabric: {clos: {pods: %d, leaves: %d, spines: 2, tops: 2}}\nfailures: []\nscript:\n"+
		"  - {at: 10s, on: leaf-0-01~spine-0-1, kind: hard, for: 1min}\n  - {at: 20s, on: spine-1-1~top-1-0, kind: flapping, period: 1h, off: 1s, for: 230min}\n", pods, leaves))
	for _, how := range []manner{together, apart} {
		e := newRandom(w, 1, 0, how)
		e.run()
		if a, b, open := e.ledger.Pairs(0), e.ledger.Pairs(1), e.ledger.Struck(); a != 2*(n-1) || b != 2*far || open != 1 {
			t.Errorf("manner %d: %d and %d pairs, want %d and %d; %d faults are told apart, want 1", how, a, b, 2*(n-1), 2*far, open)
		}
	}
}

// k fabrics of N/k lose what one of N/k loses, over k times the demand: to the
// last digit, whatever strikes.
func TestFabricsAreAlone(t *testing.T) {
	for _, fault := range []string{
		"{at: 10s, on: leaf-0-1~spine-0-0, kind: hard, for: 30s}", "{at: 10s, on: spine-1-1~top-1-0, kind: lossy, loss: 0.3, for: 50s}",
		"{at: 10s, on: spine-1-0, kind: restart, for: 20s}", "{at: 10s, on: leaf-1-2, kind: hard, for: 20s}",
		"{at: 10s, on: spine-0-1~top-1-1, kind: flapping, period: 3s, off: 1s, for: 40s}",
	} {
		one := scripted(t, fmt.Sprintf(hall, 2, 2, 1), fault)
		many := scripted(t, fmt.Sprintf(hall, 6, 6, 3), fault)
		a, b := one.ledger.Total(one.until), many.ledger.Total(many.until)
		if !(a > 0) || math.Abs(b-a/3) > 1e-12*a {
			t.Errorf("%s: %v s lost in one fabric, %v in three", fault, a, b)
		}
		if one.faults[0].ran.Count() != many.faults[0].ran.Count() {
			t.Errorf("%s: %d routers ran SPF in one fabric, %d in three", fault, one.faults[0].ran.Count(), many.faults[0].ran.Count())
		}
	}
	// The same with servers on two leaves and overlay sessions between leaves: a leaf that
	// is dark for longer than the hold time resets its sessions, all of one fabric.
	const homed = "homing: {groups: 2, attachments: 2, follow_uplinks: true}\noverlay: {hold: 5s}\n"
	even := func(pods, tops, k int) string {
		return strings.Replace(fmt.Sprintf(hall, pods, tops, k), "leaves: 3", "leaves: 4", 1) + homed
	}
	for _, fault := range []string{"{at: 10s, on: leaf-0-1, kind: hard, for: 30s}", "{at: 10s, on: leaf-0-1~spine-0-0, kind: hard, for: 30s}",
		"{at: 10s, on: leaf-1-1~servers-1-0-1, kind: hard, for: 30s}"} {
		one, many := scripted(t, even(2, 2, 1), fault), scripted(t, even(6, 6, 3), fault)
		a, b := one.ledger.Total(one.until), many.ledger.Total(many.until)
		if !(a > 0) || math.Abs(b-a/3) > 1e-12*a {
			t.Errorf("%s: %v s lost in one fabric, %v in three", fault, a, b)
		}
		if one.servers.Resets != many.servers.Resets {
			t.Errorf("%s: %d sessions reset in one fabric, %d in three", fault, one.servers.Resets, many.servers.Resets)
		}
	}
	if e := scripted(t, even(2, 2, 1), "{at: 10s, on: leaf-0-1, kind: hard, for: 30s}"); e.servers.Resets != 7 {
		t.Errorf("%d sessions reset, want those with seven other leaves", e.servers.Resets)
	}
	// Each pod of a hall without tops is a fabric of leaves and spines. A leaf takes part in
	// 4 of its 6 pairs, and is back 2 s of settling, and a little
	// more, after its end.
	e := scripted(t, fmt.Sprintf(hall, 3, 0, 3), "{at: 10s, on: leaf-1-0, kind: hard, for: 20s}")
	if got := e.ledger.Total(e.until); got < 22*4.0/(3*6) || got > 22.2*4.0/(3*6) {
		t.Errorf("%v s", got)
	}
}

// What strikes one fabric at a time when another has a fault of its own is charged
// to the one that did it, and in sum each has what it has alone.
func TestFaultsOfOtherFabrics(t *testing.T) {
	text := fmt.Sprintf(hall, 4, 4, 2)
	list := []string{"{at: 5s, on: spine-0-1, kind: hard, for: 60s}", "{at: 20s, on: spine-3-0, kind: hard, for: 20s}",
		"{at: 20s, on: leaf-1-1~spine-1-0, kind: flapping, period: 4s, off: 1s, for: 30s}"}
	both := scripted(t, text, list[0]+", "+list[1]+", "+list[2])
	first := scripted(t, text, list[0]+", "+list[2])
	second := scripted(t, text, list[1])
	want := []float64{lostTo(first, 0), lostTo(second, 0), lostTo(first, 1)}
	for i, w := range want {
		if got := lostTo(both, i); !(w > 0) || math.Abs(got-w) > 1e-12*w {
			t.Errorf("%s: charged %v s, alone %v", list[i], got, w)
		}
	}
}

func lostTo(e *engine, fault int) float64 {
	total, _ := e.ledger.Lost(int32(fault))
	return total
}

const outside = "traffic: {external: {share: 20%%, at: %s}}\n"

// Where traffic enters, and what a fault there takes of it, by hand. External
// seconds are of all external traffic; those of all traffic are a fifth of them,
// plus what servers among themselves lose. A box that dies takes its share for as
// long as it is dead, where nothing else takes over; a spine or a top takes its
// share of the ways for the 10 ms until both ends have seen it.
func TestExternalByHand(t *testing.T) {
	const pods, leaves, tops, dead, seen = 4, 3, 2, 20.0, 0.010
	servers := float64(pods * leaves)
	for _, c := range []struct {
		at, fault      string
		external, rest float64 // rest: what servers lose among themselves, of all that; below 0: not reckoned
	}{
		// A border leaf of three, each with a third; no server has anything to do with it.
		{"pod", "{at: 10s, on: leaf-3-1, kind: hard, for: 20s}", dead / 3, 0},
		// A leaf of nine with servers: an end of one pair in nine.
		{"pod", "{at: 10s, on: leaf-0-1, kind: hard, for: 20s}", dead / 9, 2 * dead / 9},
		// One of four leaves with both: as a border its quarter, and as one of the
		// others' eleven servers each a share of 1/11.
		{"leaves", "{at: 10s, on: leaf-2-0, kind: hard, for: 20s}", dead * (0.25 + 0.75/11), 2 * dead / servers},
		// A leaf with servers only.
		{"leaves", "{at: 10s, on: leaf-2-1, kind: hard, for: 20s}", dead / 11 * 1, 2 * dead / servers},
		// A spine of two in a pod of four: half of the pod's ways to and from outside.
		// What servers lose goes on until tops have other tables.
		{"spines", "{at: 10s, on: spine-0-1, kind: hard, for: 20s}", seen / 8, -1},
		// A top of four in all: a quarter of all ways, and of those between pods.
		{"tops", "{at: 10s, on: top-1-0, kind: hard, for: 20s}", seen / 4, seen / 4 * (servers - leaves) / (servers - 1)},
	} {
		e := scripted(t, fmt.Sprintf(hall, pods, tops, 1)+fmt.Sprintf(outside, c.at), c.fault)
		got, all := e.ledger.External(e.until), e.ledger.Total(e.until)
		// A box back from the dead is not used before the network knows it, which costs
		// the sole way of a leaf some time more: at most 3 s here.
		slack := 0.0
		if c.rest > 1 || c.external > 1 {
			slack = 3.0 / dead
		}
		inRange := func(v, want float64) bool { return v > want*(1-1e-9)-1e-12 && v < want*(1+slack+1e-9)+1e-12 }
		if !inRange(got, c.external) {
			t.Errorf("%s, %s: %v s of external traffic lost, want %v", c.at, c.fault, got, c.external)
		}
		if want := 0.2*c.external + 0.8*c.rest; c.rest >= 0 && !inRange(all, want) {
			t.Errorf("%s, %s: %v s lost, want %v", c.at, c.fault, all, want)
		}
		if !e.ledger.Faults[0].External {
			t.Errorf("%s, %s: the fault touched no external traffic", c.at, c.fault)
		}
	}
}

// What cuts the outside off altogether takes all of it and nothing else.
func TestOutsideCutOff(t *testing.T) {
	text := fmt.Sprintf(hall, 1, 0, 1) + fmt.Sprintf(outside, "spines") + "groups: [{name: circuits, members: [leaf-0-0]}]\n"
	w := build(t, "t", text)
	for x := range w.Fabric.Routers {
		if w.Fabric.Foreign(int32(x)) != (w.Fabric.Routers[x].Name == "outside-0") {
			t.Errorf("%s", w.Fabric.Routers[x].Name)
		}
	}
	e := newEngine(w, nil, apart)
	if n := len(w.Fabric.Ports[w.Fabric.Leaves-1]); n != 2 {
		t.Fatalf("%d circuits", n)
	}
	for _, p := range w.Fabric.Ports[w.Fabric.Leaves-1] {
		e.addFault(cutAt(w, p.Link, 10e9, 60e9))
	}
	e.run()
	if got := e.ledger.External(e.until); got < 50 || got > 53 {
		t.Errorf("%v s of external traffic lost", got)
	}
	if a, b := e.ledger.Total(e.until), 0.2*e.ledger.External(e.until); math.Abs(a-b) > 1e-9*b {
		t.Errorf("%v s lost of all, %v of them external", a, b)
	}
}

func cutAt(w *model.World, link int32, from, to int64) fault {
	f := fault{mode: -1, unit: -1, on: w.Fabric.Links[link].Name, onset: from, end: to, links: []int32{link}}
	f.Kind = 0
	return f
}

// A link that passes nothing above 1,400 bytes, of what links carry: packets of 500 to
// 1,500 bytes, spread evenly, grow by the header of what carries them (RFC 7348 section
// 5: 50 and 70 bytes; RFC 8754 section 4.1: 40). A leaf of six sends a half of its
// sixth over it.
func TestHeadersMakePacketsLarger(t *testing.T) {
	for _, c := range []struct {
		transport string
		above     float64
	}{{"false", 100.0 / 1000}, {"{by: ipv4}", 150.0 / 1000}, {"{by: both}", 170.0 / 1000}, {"{by: segments_ipv6}", 140.0 / 1000}} {
		e := scripted(t, fmt.Sprintf(hall, 2, 2, 1)+"transport: "+c.transport+"\n", "{at: 10s, on: leaf-0-0>spine-0-1, kind: oversize, above: 1400, for: 100s}")
		if got, want := e.ledger.Total(e.until), 100*c.above/12; math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %v s lost, want %v", c.transport, got, want)
		}
	}
}

// Whatever happens, what is lost at an instant is the sum over all pairs of what they
// send and is not delivered, external traffic by itself too: two kinds of fabric and
// every place of entry, looked at every hour of three busy days.
func TestLossIsASumOverPairs(t *testing.T) {
	const busy = `
warm_up: 0s
horizon: 3d
fabric: {clos: {pods: 4, leaves: 3, spines: 2, tops: 2, fabrics: %d}}
timers: {spf: {rfc8405: {long_delay: 9s}}}
failures:
  - {name: cut, on: link, kind: hard, life: {exponential: {mean: 3d}}, repair: {lead: 3h, hands_on: 1h}}
  - {name: box, on: router, kind: hard, life: {exponential: {mean: 9d}}, repair: {lead: 2h, hands_on: 1h}}
  - {name: dim, on: link, kind: lossy, life: {exponential: {mean: 4d}}, loss: 1%%, repair: {lead: 3h, hands_on: 1h}}
  - {name: loose, on: link, kind: flapping, episodes: 0.1/d, flaps: 5, down: 2s, gap: 4s}
`
	seen := 0
	for _, k := range []int{1, 2} {
		for _, external := range []string{"", "{share: 30%, at: pod}", "{share: 30%, at: leaves, boxes: 3}", "{share: 30%, at: spines}", "{share: 30%, at: tops}"} {
			text := fmt.Sprintf(busy, k)
			if external != "" {
				text += "traffic: {external: " + external + "}\n"
			}
			w := build(t, "t", text)
			e := newRandom(w, 3, uint32(k), apart)
			m, n := w.Traffic.Mix, int32(w.Fabric.Leaves)
			for at := int64(3600e9); at < e.until; at += 3600e9 {
				e.advance(at)
				all, out := 0.0, 0.0
				for s := range n {
					for d := range n {
						lost := 1 - e.field.Delivered(0, s, d)
						if e.body.dead[s] || e.body.dead[d] {
							lost = 1
						}
						if s != d {
							all += m.Pair(s, d) * lost
							out += m.Outside(s, d) * lost
						}
					}
				}
				if got := e.ledger.Share(); math.Abs(got-all/float64(n*(n-1))) > 1e-12 {
					t.Fatalf("%d fabrics, external %s, %d h: %v lost, want %v", k, external, at/3600e9, got, all/float64(n*(n-1)))
				}
				if got, want := e.ledger.ExternalShare(), out; external != "" && math.Abs(got-want/m.External) > 1e-9 {
					t.Fatalf("%d fabrics, external %s, %d h: %v of external traffic lost, want %v", k, external, at/3600e9, got, want/m.External)
				}
				for s := range n { // units of work are spread as traffic is
					hit := 0.0
					for d := range n {
						if !e.body.dead[s] && !e.body.dead[d] {
							hit += m.Pair(s, d) * (1 - e.field.Delivered(1, s, d)*e.field.Delivered(1, d, s))
						}
					}
					if got, want := e.ledger.Apps[0].Share(e.ledger, s), hit/m.Total(s, int(n)); math.Abs(got-want) > 1e-9 {
						t.Fatalf("%d fabrics, external %s, %d h: %v of the units of leaf %d are hit, want %v", k, external, at/3600e9, got, s, want)
					}
				}
				if all > 0 {
					seen++
				}
			}
		}
	}
	if seen < 500 {
		t.Errorf("something was lost at %d instants only", seen)
	}
}
