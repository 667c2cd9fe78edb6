package sizing

import (
	"fmt"
	"math"
	"testing"

	"halflight/scenarios"
)

// tenth is a link that is cut, and a top that is dead, a tenth of the time each.
const tenth = "operations: {first_repair: 100%}\nfailures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 9h}}, repair: {lead: 30min, hands_on: 30min}}," +
	" {name: dead, on: top, kind: hard, life: {exponential: {mean: 9h}}, repair: {lead: 30min, hands_on: 30min}}]\n"

// anyShort goes through every state of the links and tops of a pod, each out with
// probability out, and adds up those in which some spine has fewer than need ways up.
func anyShort(spines, tops, need int, out float64) float64 {
	parts := 2 * spines * tops // link 2i, and the top behind it 2i+1
	sum := 0.0
	for state := range 1 << parts {
		chance, short := 1.0, false
		for spine := range spines {
			left := 0
			for i := spine * tops; i < (spine+1)*tops; i++ {
				both := state >> (2 * i) & 3
				chance *= [...]float64{(1 - out) * (1 - out), out * (1 - out), out * (1 - out), out * out}[both]
				if both == 0 {
					left++
				}
			}
			short = short || left < need
		}
		if short {
			sum += chance
		}
	}
	return sum
}

// A leaf below two spines that have too few tops is short once. Two pods of three
// leaves and two spines; the busiest hour needs two tops of two, so never enough of
// one, and two of three.
func TestShortOfTopsByEnumeration(t *testing.T) {
	const hours = 2 * 3 * 8760.0
	steps := OfWorld(worldOf(t, "fabric: {clos: {pods: 2, leaves: 3, spines: 2, tops: 2}}\ntraffic: {busiest: 90%}\n"+tenth), 720).Steps.Tops
	if len(steps) != 3 {
		t.Fatalf("%+v", steps)
	}
	for i, s := range steps {
		want := hours * anyShort(2, s.Tops, 2, 0.1)
		near(t, fmt.Sprintf("%d tops", s.Tops), s.Short, want, 1e-9)
		if i > 0 {
			saved := hours * (anyShort(2, steps[i-1].Tops, 2, 0.1) - anyShort(2, s.Tops, 2, 0.1))
			near(t, "pays above", float64(s.Pays), (s.Cost-steps[i-1].Cost)/saved, 1e-9)
		}
	}
	if steps[0].Short != hours {
		t.Errorf("never enough: %v of %v hours", steps[0].Short, hours)
	}
}

// Nothing is short for longer than there are hours.
func TestShortAtMostAllHours(t *testing.T) {
	for _, name := range scenarios.Shipped() {
		if name == "glacier" {
			continue // as tidewater, but slow to build
		}
		text, _ := scenarios.Source(name)
		a := OfWorld(worldOf(t, string(text)), 720)
		most := float64(a.Inventory.Leaves) * 8760
		for _, list := range [][]Step{a.Steps.Spines, a.Steps.Tops} {
			for _, s := range list {
				if !(s.Short >= 0 && s.Short <= most) {
					t.Errorf("%s: %d spines, %d tops: %v leaf-hours of %v", name, s.Spines, s.Tops, s.Short, most)
				}
			}
		}
	}
}

// Hosts that are routers of the area: 80 of them reboot once in 20 days and flap every
// other day, and each of these is two changes for every router; a flap too short for
// its leaf to see is none.
func TestNoiseOfHosts(t *testing.T) {
	const fabric, quiet = "fabric: {clos: {pods: 1, leaves: 8, spines: 2, tops: 0}}\n", "failures: []\ndetection: {signal: 10ms}\n"
	const reboots = "reboots: {rate: 1/20d, away: 4min}"
	hosts := 8 * 10.0
	for _, c := range []struct {
		text string
		want float64
	}{
		{fabric + quiet, 0},
		{fabric + quiet + "underlay: {hosts: 10, " + reboots + ", flaps: false}\n", hosts * 2 / 20},
		{fabric + quiet + "underlay: {hosts: 10, " + reboots + ", flaps: {rate: 0.5/d, away: 1s}}\n", hosts * (2/20.0 + 2*0.5)},
		{fabric + quiet + "underlay: {hosts: 10, " + reboots + ", flaps: {rate: 0.5/d, away: 5ms}}\n", hosts * 2 / 20},
		{fabric + quiet + "underlay: {hosts: 10, " + reboots + ", flaps: {rate: 0.5/d, away: {uniform: {low: 8ms, high: 16ms}}}}\n", hosts * (2/20.0 + 0.75*2*0.5)},
		{fabric + quiet + "random: false\nunderlay: {hosts: 10}\n", 0},
		// Of two fabrics alike, each hears its own.
		{"fabric: {clos: {pods: 2, leaves: 8, spines: 2, tops: 2, fabrics: 2}}\n" + quiet + "underlay: {hosts: 10, " + reboots + ", flaps: false}\n", hosts * 2 / 20},
	} {
		for _, s := range OfWorld(worldOf(t, c.text), 720).Steps.Spines {
			near(t, "changes of "+c.text, s.Changes, c.want, 1e-9)
			rate := c.want / 86400
			if c.want > 0 {
				near(t, "LONG_WAIT of "+c.text, float64(s.Long), 1-math.Exp(-rate*10)-rate*0.5*math.Exp(-rate*10), 1e-9)
			}
		}
	}
	// With the faults of the fabric they add up.
	without := OfWorld(worldOf(t, fabric), 720).Steps.Spines
	for i, s := range OfWorld(worldOf(t, fabric+"underlay: {hosts: 10, "+reboots+", flaps: false}\n"), 720).Steps.Spines {
		near(t, "together", s.Changes, without[i].Changes+hosts*2/20, 1e-9)
	}
}
