package repair

import "testing"

// One pod of 4 leaves and 4 spines: link 4*leaf + spine; a leaf may miss one
// uplink.

// Sighting, reaction, drain and dispatch together, lead time, work, soak.
func TestCourse(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(0))
	p.until(minute)
	id := p.open(Ticket{Fault: 7, Links: []int32{5}, Reaction: 3 * minute, Attempts: []Attempt{visit(true)}})
	p.until(2 * minute)
	if p.o.Stage(id) != Reacting || !p.o.InUse(5) {
		t.Error("acted before the reaction time was over")
	}
	p.until(hour)
	p.want(t, `4min drain link 5 for 7
		34min begin for 7
		39min repaired for 7
		49min undrain link 5 for 7
		49min closed for 7`)
	if o := p.o; o.Drains != 1 || o.FalseDrains != 0 || o.Refused != 0 || o.OpenTickets() != 0 || !o.InUse(5) {
		t.Errorf("%+v", o)
	}
	if got := p.o.HandsOnTotal(p.now); got != float64(5*minute) {
		t.Errorf("worked %v ns, want 5 min", got)
	}
}

// Routers see it as down: nothing to drain, nothing to soak. No technician.
func TestDown(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(1))
	p.open(Ticket{Fault: 1, Routers: []int32{6}, Down: true, Attempts: []Attempt{{Lead: 20 * minute, Works: true}}})
	p.until(hour)
	p.want(t, `20min repaired for 1
		20min closed for 1`)
	if p.o.Drains != 0 || p.o.HandsOnTotal(p.now) != 0 {
		t.Error("drained or worked on what was down")
	}
}

// A repair that does not work is repeated with the link still drained, each
// attempt with its own times.
func TestRepeated(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(0))
	p.open(Ticket{Fault: 2, Links: []int32{0}, Reaction: minute, Attempts: []Attempt{visit(false), {10 * minute, minute, false}, {2 * minute, 3 * minute, true}}})
	p.until(2 * hour)
	p.want(t, `1min drain link 0 for 2
		31min begin for 2
		36min fail for 2
		46min begin for 2
		47min fail for 2
		49min begin for 2
		52min repaired for 2
		62min undrain link 0 for 2
		62min closed for 2`)
	if p.o.HandsOnTotal(p.now) != float64(9*minute) {
		t.Error("work of all attempts counts")
	}
}

// The wrong link is drained and visited in vain; the fault is not mended.
func TestWrongLink(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(0))
	id := p.open(Ticket{Fault: 3, Links: []int32{9}, Wrong: true, Reaction: minute, Attempts: []Attempt{visit(true)}})
	p.until(2 * minute)
	p.o.End(id, p.now) // the true fault ends: nobody here knows
	p.collect()
	p.until(hour)
	p.want(t, `1min drain link 9 for 3 wrong
		31min begin for 3 wrong
		46min undrain link 9 for 3 wrong
		46min closed for 3 wrong`)
	if p.o.Drains != 1 || p.o.FalseDrains != 1 {
		t.Errorf("%d drains, %d false", p.o.Drains, p.o.FalseDrains)
	}
}

// A fault that ends by itself closes its ticket, whatever stage that is in.
func TestEndsByItself(t *testing.T) {
	for _, c := range []struct {
		at    int64
		stage Stage
		want  string
	}{
		{minute, Reacting, "1min closed for 4"},
		{10 * minute, Leading, "2min drain link 1 for 4\n20min undrain link 1 for 4\n20min closed for 4"},
		{33 * minute, Working, "2min drain link 1 for 4\n32min begin for 4\n43min undrain link 1 for 4\n43min closed for 4"},
		{38 * minute, Soaking, "2min drain link 1 for 4\n32min begin for 4\n37min repaired for 4\n47min undrain link 1 for 4\n47min closed for 4"},
	} {
		p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(1))
		id := p.open(Ticket{Fault: 4, Links: []int32{1}, Reaction: 2 * minute, Attempts: []Attempt{visit(true)}})
		p.until(c.at)
		if p.o.Stage(id) != c.stage {
			t.Errorf("at %s: %s, want %s", short(c.at), p.o.Stage(id), c.stage)
		}
		p.o.End(id, p.now)
		p.collect()
		p.until(2 * hour)
		p.want(t, c.want)
		if p.o.Busy() != 0 || p.o.OpenTickets() != 0 || !p.o.InUse(1) {
			t.Errorf("%s: something is left", c.stage)
		}
	}
}

// One technician: first come first served; who leaves the line makes way, and
// who is sent home frees the technician.
func TestCrewFirstComeFirstServed(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(1))
	down := func(fault int32, lead int64) int32 {
		return p.open(Ticket{Fault: fault, Down: true, Attempts: []Attempt{{lead * minute, 60 * minute, true}}})
	}
	first := down(1, 10)
	down(2, 13)
	gone := down(3, 11)
	down(4, 12)
	p.until(20 * minute)
	if p.o.Queue() != 3 || p.o.Busy() != 1 {
		t.Errorf("%d wait and %d work, want 3 and 1", p.o.Queue(), p.o.Busy())
	}
	p.o.End(gone, p.now)
	p.collect()
	if p.o.Queue() != 2 {
		t.Errorf("%d wait, want 2", p.o.Queue())
	}
	p.until(40 * minute)
	p.o.End(first, p.now)
	p.collect()
	p.until(4 * hour)
	p.want(t, `10min begin for 1
		20min closed for 3
		40min begin for 4
		40min closed for 1
		100min repaired for 4
		100min closed for 4
		100min begin for 2
		160min repaired for 2
		160min closed for 2`)
	if got, want := p.o.HandsOnTotal(p.now), float64(150*minute); got != want {
		t.Errorf("worked %v, want %v", got, want)
	}
}

// A long line keeps its order while its slots are used again.
func TestLongLine(t *testing.T) {
	p := newPlay(clos(t, 1, 4, 4, 0, 1), plan(2))
	const n = 500
	for i := range int32(n) {
		p.open(Ticket{Fault: i, Down: true, Attempts: []Attempt{{int64(i) * second, minute, true}}})
	}
	p.until(24 * hour)
	next := int32(0)
	for _, a := range p.taken {
		if a.Deed != Begin {
			continue
		}
		if a.Fault != next {
			t.Fatalf("ticket %d began before %d", a.Fault, next)
		}
		next++
	}
	if next != n || p.o.Queue() != 0 {
		t.Errorf("%d of %d served", next, n)
	}
	if got := p.o.HandsOnTotal(p.now); got != float64(n*minute) {
		t.Errorf("worked %v", got)
	}
	// A number is used again once its ticket is closed.
	if len(p.o.desk) != n || p.open(Ticket{Down: true, Attempts: []Attempt{{1, 0, true}}}) >= n {
		t.Error("numbers of closed tickets are not used again")
	}
}

func TestWorks(t *testing.T) {
	o := newPlay(clos(t, 1, 4, 4, 0, 1), plan(0)).o
	for _, c := range []struct {
		guided bool
		u      float64
		want   bool
	}{{false, 0.49, true}, {false, 0.51, false}, {true, 0.79, true}, {true, 0.81, false}} {
		if got := o.Works(c.guided, c.u); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

func TestTicketThatNeverCloses(t *testing.T) {
	for _, bad := range []Ticket{{}, {Attempts: []Attempt{visit(true), visit(false)}}, {Wrong: true}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%+v was taken", bad)
				}
			}()
			newPlay(clos(t, 1, 4, 4, 0, 1), plan(0)).open(bad)
		}()
	}
}
