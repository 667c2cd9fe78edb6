package sim

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"halflight/model/failure"
)

// A fault costs routes for as long together as pair by pair: while something is lost
// although there is a way. That of a leaf from its return until its tables are written, and not
// while it is dead, or another is; also below a spine that drops a little, and if it dies
// again before it had a table. That of a link until routers know of it, and again until
// they do of its return, but neither for as long as it is down nor while there is no way. (What a
// leaf goes on losing at a spine when it is told apart is another spell together: 5 %.)
func TestRouteLossTogetherAsApart(t *testing.T) {
	for _, script := range []string{`
  - {at: 60s, on: leaf-1-1, kind: hard, for: 600s}
  - {at: 1200s, on: leaf-1-0, kind: restart, for: 120s}
  - {at: 1500s, on: leaf-1-2, kind: hard, light: true, plane: data, for: 300s}
  - {at: 1s, on: spine-1-0>top-0-1, kind: silent, loss: 0.01}
`, `
  - {at: 780s, on: leaf-1-1, kind: restart, for: 2s}
  - {at: 783s, on: leaf-1-1, kind: hard, for: 600s}
`, `
  - {at: 60s, on: leaf-1-1~spine-1-1, kind: hard, for: 500s}
  - {at: 700s, on: leaf-2-1~spine-2-0, kind: hard, for: 500s}
`, `
  - {at: 60s, on: leaf-1-1~spine-1-0, kind: hard, for: 900s}
  - {at: 80s, on: leaf-1-1~spine-1-1, kind: hard, for: 900s}
  - {at: 200s, on: spine-1-2~top-2-0, kind: hard, for: 600s}
  - {at: 220s, on: spine-1-2~top-2-1, kind: hard, for: 500s}
`} {
		w := deadWorld(t, script)
		one, other := newRandom(w, 1, 0, together), newRandom(w, 1, 0, apart)
		one.run()
		other.run()
		for i := range one.ledger.Faults {
			if one.faults[i].Kind == failure.Silent {
				continue // kept by entrance there
			}
			a, b := &one.ledger.Faults[i], &other.ledger.Faults[i]
			if b.RouteLoss < 1e7 || b.RouteLoss > 10e9 || math.Abs(float64(a.RouteLoss-b.RouteLoss)) > 0.05*float64(b.RouteLoss) {
				t.Errorf("%s: route loss %d ns together, %d pair by pair", one.faults[i].on, a.RouteLoss, b.RouteLoss)
			}
		}
	}
}

// A link that comes and goes leaves some flow without a way each time, and what one flow had adds up (S25; RFC 6412, 3.6.5). Together
// that is added up by destination and pod, the longest of leaves that were cut off at one time: a fifth too
// long at most here. Each of nine cuts takes some 125 ms: 1.13 s, where the longest was once told.
func TestRouteLossOfFlapsTogetherAsApart(t *testing.T) {
	for _, on := range []string{"leaf-1-1~spine-1-1", "spine-1-1~top-1-0"} {
		w := deadWorld(t, "\n  - {at: 10s, on: "+on+", kind: flapping, period: 20s, off: 1s, for: 3min}\n")
		one, other := newRandom(w, 1, 0, together), newRandom(w, 1, 0, apart)
		one.run()
		other.run()
		a, b := float64(one.ledger.Faults[0].RouteLoss)/1e9, float64(other.ledger.Faults[0].RouteLoss)/1e9
		if b < 9*0.1 || a < b || a > 1.2*b {
			t.Errorf("%s: route loss %v s together, %v pair by pair", on, a, b)
		}
	}
}

// routeLosses plays a script in the dead world, leaves weighed together and pair by pair, and returns
// the route loss of each fault in s.
func routeLosses(t *testing.T, script string) (ways [2][]float64) {
	t.Helper()
	w := deadWorld(t, script)
	for i, play := range []manner{together, apart} {
		e := newRandom(w, 1, 0, play)
		e.run()
		for k := range e.ledger.Faults {
			ways[i] = append(ways[i], float64(e.ledger.Faults[k].RouteLoss)/1e9)
		}
	}
	return ways
}

// What a pair loses to a fault adds up whoever else takes a share in between: fifteen flaps of
// a third uplink, beside two that are cut, cost fifteen times what one does, some 7 s until there is an
// adjacency again. (S25; RFC 6412, 3.6.5. Pair by pair it was what the last one cost.)
func TestRouteLossOfThirdUplink(t *testing.T) {
	const cut = `
  - {at: 60s, on: leaf-1-1~spine-1-1, kind: hard, for: 1900s}
  - {at: 70s, on: leaf-1-1~spine-1-2, kind: hard, for: 1900s}
  - {at: 100s, on: leaf-1-1~spine-1-0, kind: flapping, period: 20s, off: 7s, for: %s}
`
	one, all := routeLosses(t, fmt.Sprintf(cut, "19s")), routeLosses(t, fmt.Sprintf(cut, "5min"))
	for i, name := range []string{"together", "pair by pair"} {
		if a, b := one[i][2], all[i][2]; a < 5 || math.Abs(b-15*a) > 0.01*b {
			t.Errorf("%s: one flap %v s, fifteen %v s", name, a, b)
		}
	}
}

// A black hole costs routes for as long as somebody uses the link that it is on: each flap of
// that link takes off the time until it is used again. It is so below a spine and above a leaf.
func TestRouteLossOfHoleBetweenFlaps(t *testing.T) {
	for _, on := range []string{"spine-1-1>leaf-1-1", "leaf-1-1>spine-1-1"} {
		hole := "\n  - {at: 10s, on: " + on + ", kind: blackhole, share: 0.1, for: 1000s}\n"
		flaps := hole + "  - {at: 100s, on: spine-1-1~leaf-1-1, kind: flapping, period: 20s, off: 7s, for: %s}\n"
		still, one, all := routeLosses(t, hole), routeLosses(t, fmt.Sprintf(flaps, "19s")), routeLosses(t, fmt.Sprintf(flaps, "5min"))
		for i, name := range []string{"together", "pair by pair"} {
			out := 1000 - one[i][0]
			if still[i][0] != 1000 || out < 10 || out > 20 || math.Abs(all[i][0]-(1000-15*out)) > 1 {
				t.Errorf("%s, %s: %v s, with one flap %v s, with fifteen %v s", on, name, still[i][0], one[i][0], all[i][0])
			}
		}
	}
}

// A link that drops a share of its packets costs no route, whatever holes are on the way of the same
// pairs; one on the link itself is charged to the oldest fault there (S23).
func TestRouteLossIsNotOfLossyLinks(t *testing.T) {
	const lossy = "\n  - {at: 10s, on: leaf-1-1>spine-1-1, kind: lossy, loss: 0.01, for: 1500s}\n"
	beyond := routeLosses(t, lossy+"  - {at: 100s, on: top-1-1>spine-1-1, kind: blackhole, share: 0.1, for: 500s}\n")
	beside := routeLosses(t, lossy+"  - {at: 900s, on: leaf-1-1>spine-1-1, kind: blackhole, share: 0.1, for: 500s}\n")
	for i, name := range []string{"together", "pair by pair"} {
		if !slices.Equal(beyond[i], []float64{0, 500}) || !slices.Equal(beside[i], []float64{500, 0}) {
			t.Errorf("%s: hole beyond the lossy link %v s, on it %v s", name, beyond[i], beside[i])
		}
	}
}

// In a storm the two ways agree in what most faults cost; of lossy links, over which sessions fall at
// many moments, a pod's leaves together have some 4 to 16 % more than the worst of them. (Pair by pair a
// flapping link had a fifth of it, as it forgot what a pair had lost when another fault took the blame.)
func TestRouteLossInNoise(t *testing.T) {
	w := shipped(t, "storm", "horizon=2d")
	one, other := newRandom(w, 1, 0, together), newRandom(w, 1, 0, apart)
	one.run()
	other.run()
	type name struct {
		on    string
		onset int64
	}
	want := map[name]float64{}
	for i := range other.faults {
		want[name{other.faults[i].on, other.ledger.Faults[i].Onset}] = float64(other.ledger.Faults[i].RouteLoss)
	}
	for _, c := range []struct {
		kind              failure.Kind
		low, median, high float64 // of the ratio: the first quartile at least, the others at most
	}{{failure.Flapping, 0.95, 1.03, 1.1}, {failure.Lossy, 0.9, 1.2, 1.5}, {failure.Hard, 0.95, 1.01, 1.02}} {
		var ratios []float64
		for i := range one.faults {
			b := want[name{one.faults[i].on, one.ledger.Faults[i].Onset}]
			if one.faults[i].Kind == c.kind && b > 0 {
				ratios = append(ratios, float64(one.ledger.Faults[i].RouteLoss)/b)
			}
		}
		slices.Sort(ratios)
		n := len(ratios)
		if n < 20 || ratios[n/4] < c.low || ratios[n/2] > c.median || ratios[3*n/4] > c.high {
			t.Errorf("%v: route loss together to pair by pair, of %d faults: %v", c.kind, n, ratios)
		}
	}
}

// The last uplink of a leaf costs no route when it is cut: there is none from then on, noticed or not (S25).
// (It was 5 s, until tables were written, where leaves are weighed together.)
func TestRouteLossOfLastUplink(t *testing.T) {
	ways := routeLosses(t, `
  - {at: 60s, on: leaf-1-1~spine-1-0, kind: hard}
  - {at: 80s, on: spine-1-1, kind: drain}
  - {at: 97s, on: leaf-1-1~spine-1-2, kind: hard}
`)
	for i, name := range []string{"together", "pair by pair"} {
		if ways[i][0] < 0.1 || ways[i][2] != 0 {
			t.Errorf("%s: route loss %v s, want some and, of the last, none", name, ways[i])
		}
	}
}
