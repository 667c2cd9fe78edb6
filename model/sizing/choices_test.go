package sizing

import (
	"math"
	"testing"
)

const hall = "fabric: {clos: {pods: 1, leaves: 16, spines: 4, tops: 0}}\ncosts: {port: 10}\n"

// Steps of a hall of 16 leaves and 4 spines, by hand. The busiest hour fills 60 %
// of four uplinks, so 2.4 and therefore 3 are needed: of two there are never
// enough, three are too few if one is out, four if two are, with the binomial law.
func TestStepsByHand(t *testing.T) {
	a := OfWorld(worldOf(t, hall), 720)
	u := a.Uplinks.Unavailability
	leafHours := 16 * 8760.0
	want := map[int]float64{2: leafHours, 3: leafHours * (1 - math.Pow(1-u, 3)), 4: leafHours * (6*u*u*(1-u)*(1-u) + 4*u*u*u*(1-u) + u*u*u*u)}
	for i, s := range a.Steps.Spines {
		if w, ok := want[s.Spines]; ok {
			near(t, "short", s.Short, w, 1e-9)
		}
		if s.Optics != 2*16*s.Spines {
			t.Errorf("%d spines: %d optics", s.Spines, s.Optics)
		}
		near(t, "one spine", s.Fault, 1/float64(s.Spines), 1e-12)
		if s.Present {
			near(t, "faults now", s.Faults, a.Any.PerMonth.Mean, 1e-9)
		}
		if i > 0 {
			before := a.Steps.Spines[i-1]
			near(t, "pays above", float64(s.Pays), (s.Cost-before.Cost)/(before.Short-s.Short), 1e-9)
			// Every step adds faults and changes, and so time in LONG_WAIT.
			if s.Faults <= before.Faults || s.Changes <= before.Changes || s.Long <= before.Long {
				t.Errorf("a step to %d spines adds nothing: %+v after %+v", s.Spines, s, before)
			}
		}
	}
	// 10 for each end of 64 links is in the bill of the present width: the same
	// without that price is so much less.
	free := OfWorld(worldOf(t, "fabric: {clos: {pods: 1, leaves: 16, spines: 4, tops: 0}}\n"), 720)
	near(t, "ports", a.Steps.Spines[2].Cost-free.Steps.Spines[2].Cost, 1280, 1e-9)
	if len(a.Steps.Tops) != 0 {
		t.Errorf("a fabric without tops has steps of them: %+v", a.Steps.Tops)
	}
	// The step from three to four pays above 43.0, and at that price no further.
	for price, spines := range map[float64]int{0: 2, 1: 3, 50: 4} {
		if got := a.Steps.Spines[Stops(a.Steps.Spines, price)].Spines; got != spines {
			t.Errorf("at %g steps pay up to %d, want %d", price, got, spines)
		}
	}
}

// Changes a day follow from the modes: two of each fault that routers see, and two
// of each flap. The share of time in LONG_WAIT is 1 - exp(-rate H) - rate L exp(-rate H).
func TestNoise(t *testing.T) {
	a := OfWorld(worldOf(t, "fabric: {clos: {leaves: 8, spines: 2}}\nfailures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 10d}}, repair: {lead: 1s, hands_on: 1s}},"+
		" {name: loose, on: link, kind: flapping, episodes: 0.5/d, flaps: 3, down: 1s, gap: 1s}]\n"), 720)
	for _, s := range a.Steps.Spines {
		links := float64(8 * s.Spines)
		near(t, "changes", s.Changes, links*(2/10.0+2*3*0.5), 2e-3)
		rate := s.Changes / 86400
		near(t, "LONG_WAIT", float64(s.Long), 1-math.Exp(-rate*10)-rate*0.5*math.Exp(-rate*10), 1e-9)
	}
}

// Two fabrics are twice one; routers outside and their links are counted apart, and
// border routers have spares of their own.
func TestSeveralFabrics(t *testing.T) {
	const power = "groups: {power_domain: {leaves: 1}}\n"
	one := OfWorld(worldOf(t, "fabric: {clos: {pods: 2, leaves: 6, spines: 4, tops: 2}}\n"+power), 720)
	two := OfWorld(worldOf(t, "fabric: {clos: {pods: 4, leaves: 6, spines: 4, tops: 4, fabrics: 2}}\n"+power), 720)
	a, b := one.Steps.Spines[2], two.Steps.Spines[2]
	near(t, "optics", float64(b.Optics), 2*float64(a.Optics), 0)
	near(t, "faults", b.Faults, 2*a.Faults, 1e-9)
	near(t, "changes", b.Changes, a.Changes, 1e-9)
	near(t, "short", b.Short, 2*a.Short, 1e-9)
	near(t, "a year", b.Cost, 2*a.Cost, 1e-9)
	near(t, "one box", b.Fault, a.Fault, 1e-12)

	out := OfWorld(worldOf(t, "fabric: {clos: {pods: 4, leaves: 6, spines: 4, tops: 2, fabrics: 2}}\ntraffic: {external: {share: 10%, at: tops}}\n"), 720)
	if n := out.Inventory; n.Routers != 48 || n.Links != 96+16 || n.Circuits != 8 || n.Fabrics != 2 || n.PathsBetween != 4 || n.Copies != 2*56-24+1 {
		t.Errorf("%+v", n)
	}
	units := func(name string) int {
		for _, m := range out.Modes {
			if m.Name == name && m.Spares != nil {
				if mean := 720 / float64(m.Gap); *m.Spares != poissonCover(mean) {
					t.Errorf("%s: %d spares, want %d", name, *m.Spares, poissonCover(mean))
				}
				return m.Units
			}
		}
		t.Fatalf("no spares of %s", name)
		return 0
	}
	if a, b := units("router-hardware"), units("router-hardware, border"); a != 40 || b != 8 {
		t.Errorf("%d routers and %d at the border", a, b)
	}
}

// Entries and writes: 16 leaves, both families, 5 ms and 0.1 ms an entry.
func TestWaysByHand(t *testing.T) {
	a := OfWorld(worldOf(t, hall+"transport: {by: segments_ipv6, segments: 2, mtu: 9000B}\n"), 720).Ways
	if len(a.List) != 6 || a.MTU != 9000 || a.Segments != 2 {
		t.Fatalf("%+v", a)
	}
	both, six := a.List[2], a.List[5]
	if both.Entries != 32 || both.Present || !six.Present || six.Entries != 16 || six.Inner != 9000-40-8-16 || six.InRepair != 9000-40-8-32 {
		t.Errorf("%+v\n%+v", both, six)
	}
	near(t, "write", both.Write, 0.0082, 1e-12)
	near(t, "overhead", six.Overhead, 64/1064.0, 1e-12)
}
