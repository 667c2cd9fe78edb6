package repair

import "testing"

// long is a ticket about links that stays open for 5 h.
func long(fault int32, links ...int32) Ticket {
	return Ticket{Fault: fault, Links: links, Attempts: []Attempt{{Lead: 5 * hour, Works: true}}}
}

// One pod of 4 leaves and 4 spines: leaf 0 has links 0 to 3 and may miss one.
// The drain that the floor forbids is tried again when the other returns.
func TestRefusedDrainIsRetried(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(0))
	p.open(Ticket{Fault: 1, Links: []int32{0}, Attempts: []Attempt{{Lead: hour, Works: true}}})
	p.open(long(2, 1))
	p.open(long(3, 2))
	p.open(Ticket{Fault: 4, Links: []int32{3}, Attempts: []Attempt{{Lead: minute, Works: true}}})
	p.until(3 * hour)
	p.want(t, `0min drain link 0 for 1
		0min refuse link 1 for 2
		0min refuse link 2 for 3
		0min refuse link 3 for 4
		1min repaired for 4
		1min closed for 4
		60min repaired for 1
		70min undrain link 0 for 1
		70min closed for 1
		70min drain link 1 for 2`)
	if p.o.Refused != 3 || p.o.Drains != 2 {
		t.Errorf("%d refused, %d drains; a drain is refused once however often it is tried", p.o.Refused, p.o.Drains)
	}
}

// Links believed down count against the floor, and make way when they are up.
func TestFloorCountsWhatIsDown(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(0))
	p.believe(2, false)
	p.open(long(1, 0))
	p.until(minute)
	p.o.Believe(2*2, true, p.now) // one end is not enough
	p.collect()
	p.until(2 * minute)
	p.o.Believe(2*2+1, true, p.now)
	p.collect()
	p.until(3 * minute)
	p.want(t, `0min refuse link 0 for 1
		2min drain link 0 for 1`)
	// What is down may always be drained: it is not in use.
	p.believe(4, false)
	p.believe(5, false)
	p.open(long(2, 5))
	p.until(4 * minute)
	p.want(t, `3min drain link 5 for 2`)
}

// Two tickets about one link: drained with the first, returned with the last.
func TestDrainsOverlap(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(0))
	p.open(Ticket{Fault: 1, Links: []int32{6}, Attempts: []Attempt{{Lead: 10 * minute, Works: true}}})
	p.open(Ticket{Fault: 2, Links: []int32{6}, Wrong: true, Reaction: minute, Attempts: []Attempt{{Lead: 30 * minute}}})
	p.until(25 * minute)
	if p.o.InUse(6) || !p.o.Drained(6) {
		t.Error("the first ticket returned what the second still wants")
	}
	p.until(hour)
	p.want(t, `0min drain link 6 for 1
		10min repaired for 1
		20min closed for 1
		41min undrain link 6 for 2 wrong
		41min closed for 2 wrong`)
	if p.o.Drains != 1 || p.o.FalseDrains != 0 {
		t.Error("a link that is drained already is no further drain")
	}
}

// Even without a floor a leaf keeps its last path to every leaf. Two pods of 2
// leaves, 2 planes of 2 tops: leaf 0 has links 0 and 1. With its link to plane
// 0 drained it needs plane 1, and so does the other leaf of its pod.
func TestLastPath(t *testing.T) {
	free := plan(0)
	free.Floor = 0
	p := newPlay(clos(t, 2, 2, 2, 2, 1), free)
	p.open(long(1, 0, 1))
	p.until(minute)
	// spine-0-1 has links 10 and 11 to its tops; the second is the last way of
	// leaf 0 to pod 1.
	p.open(long(2, 10, 11))
	p.until(2 * minute)
	// Leaf 2 in pod 1 may leave plane 0 but not plane 1, where leaf 0 is.
	p.open(long(3, 5, 4))
	p.until(3 * minute)
	p.want(t, `0min drain link 0 for 1
		0min refuse link 1 for 1
		1min drain link 10 for 2
		1min refuse link 11 for 2
		2min refuse link 5 for 3
		2min drain link 4 for 3`)
}

// What lies beyond the next router counts, as it is now: plane 0 is cut in two
// at its one top, and whole again. Leaf 0 may leave plane 1 only while plane 0
// leads to pod 1.
func TestLastPathAfterPlaneIsWhole(t *testing.T) {
	free := plan(0)
	free.Floor = 0
	p := newPlay(clos(t, 2, 2, 2, 1, 1), free)
	const toTop = 8 // spine-0-0 to its top
	p.believe(toTop, false)
	p.open(long(1, 1))
	p.until(minute)
	p.believe(toTop, true)
	p.until(2 * minute)
	p.believe(toTop, false)
	p.open(long(2, 3))
	p.until(3 * minute)
	p.want(t, `0min refuse link 1 for 1
		1min drain link 1 for 1
		2min refuse link 3 for 2`)
}

// The floor holds for a spine's uplinks too: 4 tops, one may go.
func TestFloorOfSpine(t *testing.T) {
	p := newPlay(clos(t, 2, 2, 2, 4, 1), plan(0))
	first := int32(2 * 2 * 2) // the first link of spine-0-0 to its tops
	p.open(long(1, first+1, first+2))
	p.until(minute)
	p.want(t, `0min drain link 9 for 1
		0min refuse link 10 for 1`)
}

// Routers: a spine is one uplink of each of its leaves; a leaf is never drained.
func TestRouterDrain(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(0))
	p.open(Ticket{Fault: 1, Routers: []int32{4, 5, 0}, Attempts: []Attempt{{Lead: hour, Works: true}}})
	p.until(minute)
	if p.o.InUse(0) || !p.o.Drained(0) || !p.o.InUse(1) {
		t.Error("the links of a drained router are not in use")
	}
	p.open(long(2, 1))
	p.until(2 * hour)
	p.want(t, `0min drain router 4 for 1
		0min refuse router 5 for 1
		0min refuse router 0 for 1
		1min refuse link 1 for 2
		60min repaired for 1
		70min undrain router 4 for 1
		70min closed for 1
		70min drain link 1 for 2`)
}

// The least share at the end of an instant counts, and a leaf without any
// uplink does not.
func TestCapacity(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(0))
	check := func(what string, want float64) {
		t.Helper()
		if got := p.o.Capacity(p.now); got != want {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	check("all up", 1)
	p.until(minute)
	for l := int32(0); l < 4; l++ {
		p.believe(l, false)
	}
	p.until(2 * minute)
	check("leaf 0 dead", 1)
	for l := int32(0); l < 4; l++ {
		p.believe(l, true)
	}
	p.until(3 * minute)
	check("leaf 0 back", 1)
	p.believe(4, false)
	p.until(4 * minute)
	p.open(long(1, 8))
	p.believe(5, false)
	p.until(5 * minute)
	p.believe(5, true)
	check("two of four", 0.5)
	p.until(6 * minute)
	p.o.ResetWindow(p.now)
	check("new window: a drained link and one that is down", 0.75)
}

// A floor of 0.7 of 10 uplinks leaves 7, whatever 0.7 x 10 is in binary.
func TestFloorOfWholeCounts(t *testing.T) {
	loose := plan(0)
	for _, c := range []struct {
		floor float64
		left  int32
	}{{0.7, 7}, {0.6, 6}, {0.75, 8}, {0, 0}, {1, 10}} {
		loose.Floor = c.floor
		if got := newPlay(clos(t, 1, 2, 10, 0, 1), loose).o.use.least[0]; got != c.left {
			t.Errorf("floor %v: %d of 10 must stay, want %d", c.floor, got, c.left)
		}
	}
}
