package repair

import (
	"testing"

	"pgregory.net/rapid"

	"halflight/model/chance"
	"halflight/model/operation"
)

// upgrading is a plan with campaigns of work of one length.
func upgrading(floor float64, u operation.Upgrades) operation.Plan {
	p := plan(0)
	p.Floor, p.SoakTime = floor, 10*minute
	u.Work = chance.Constant(float64(20 * minute))
	u.Ahead = minute
	p.Upgrades = &u
	return p
}

// visits are of boxes from one on, all alike.
func visits(from, n int32) (list []Visit) {
	for x := range n {
		list = append(list, Visit{Box: from + x, Works: 20 * minute})
	}
	return list
}

// Finite campaigns, by arithmetic: a box is out for 31 min, so that 7 follow one
// another in four hours, and n boxes, k at once, take ceil(n / 7k) nights where the rules
// forbid nothing. The time with a box out is 31 min for every k boxes.
func TestNights(t *testing.T) {
	for _, c := range []struct {
		leaves, k int
		nights    int64
		exposed   int64 // in stretches of 31 min
	}{
		{7, 1, 1, 7}, {8, 1, 2, 8}, {30, 1, 5, 30}, {30, 2, 3, 15}, {30, 4, 2, 8}, {30, 5, 1, 6}, {30, 64, 1, 1},
	} {
		for _, from := range []int64{hour, 20 * hour, 21 * hour, 22*hour + 1} { // the last two end on the next day
			f := clos(t, 1, c.leaves, 4, 0, 1)
			p := newPlay(f, upgrading(0, operation.Upgrades{AtOnce: c.k, From: from, To: from + 4*hour, Drain: operation.ByBit}))
			if got := p.o.plan.Upgrades.PerNight(p.o.plan.SoakTime); got != 7 {
				t.Fatalf("%d boxes a night, want 7", got)
			}
			p.until(5 * hour) // the first window, or that of the day before, is over
			p.o.StartCampaign(visits(0, int32(c.leaves)), p.now)
			p.collect()
			p.until(60 * day)
			got := p.o.Planned(p.now)
			if got.Nights != c.nights || got.Boxes != int64(c.leaves) || got.Campaigns != 1 || got.Left != 0 || got.Exposed != c.exposed*31*minute {
				t.Errorf("%d boxes, %d at once, from %d h: %+v, want %d nights and %d stretches", c.leaves, c.k, from/hour, got, c.nights, c.exposed)
			}
		}
	}
}

// When a box may be begun that is out for an hour, by the hours of the day: in a window
// that leaves it the time, one that began the day before among them; else as the next
// opens.
func TestNextOpening(t *testing.T) {
	for _, c := range []struct{ from, to, now, want int64 }{
		{0, 0, 7, 7}, {1, 5, 0, 1}, {1, 5, 4, 4}, {1, 5, 5, 25}, {1, 5, 28, 28}, {20, 24, 23, 23}, {20, 24, 24, 44},
		{22, 28, 0, 0}, {22, 28, 3, 3}, {22, 28, 4, 22}, {22, 28, 21, 22}, {22, 28, 23, 23}, {22, 28, 24, 24}, {22, 28, 27, 27}, {22, 28, 28, 46},
		{22, 24, 0, 22}, {22, 24, 24, 46}, {5, 28, 4, 5}, {5, 28, 3, 3}, {5, 28, 26, 26},
	} {
		u := operation.Upgrades{From: c.from * hour, To: c.to * hour}
		if got := nextOpening(&u, hour, c.now*hour); got != c.want*hour {
			t.Errorf("from %d to %d, at %d: %d min, want %d h", c.from, c.to, c.now, got/minute, c.want)
		}
	}
}

// A box is drained ahead of the work and put back after the soak time; a forgotten
// drain leaves both out, one put back early has no soak time, and one that does not
// boot holds up the others.
func TestCourseOfBox(t *testing.T) {
	course := func(u operation.Upgrades, v Visit, want string) {
		p := newPlay(clos(t, 1, 3, 4, 0, 1), upgrading(0.5, u))
		p.o.StartCampaign([]Visit{v}, 0)
		p.collect()
		p.until(2 * day)
		p.want(t, want)
	}
	drained := operation.Upgrades{AtOnce: 1, Drain: operation.ByBit}
	for _, c := range []struct {
		u    operation.Upgrades
		v    Visit
		want string
	}{
		{drained, Visit{Box: 3, Works: 20 * minute}, "0min drain router 3 for -1\n1min restart 3 for -1\n31min undrain router 3 for -1"},
		{drained, Visit{Box: 3, Works: 20 * minute, Undrained: true}, "1min restart 3 for -1"},
		{drained, Visit{Box: 3, Works: 20 * minute, Early: true}, "0min drain router 3 for -1\n1min restart 3 for -1\n21min undrain router 3 for -1"},
		{drained, Visit{Box: 3, Works: 20 * minute, Dead: 3 * hour}, "0min drain router 3 for -1\n1min restart 3 for -1\n211min undrain router 3 for -1"},
		{operation.Upgrades{AtOnce: 1, Drain: operation.NoDrain, Kept: true}, Visit{Box: 3, Works: 20 * minute, Serves: true}, "0min restart 3 for -1"},
	} {
		course(c.u, c.v, c.want)
	}
}

// With four spines and a floor of 0.75 one may be out, however many are asked for;
// while a link of a leaf is down only its own spine may, and the campaign waits.
func TestCampaignKeepsFloor(t *testing.T) {
	f := clos(t, 1, 3, 4, 0, 1)
	p := newPlay(f, upgrading(0.75, operation.Upgrades{AtOnce: 4, Drain: operation.ByBit}))
	p.o.StartCampaign(visits(3, 4), 0)
	p.collect()
	p.until(4 * 31 * minute)
	if got := p.o.Planned(p.now); got.Boxes != 4 || got.Exposed != 4*31*minute || got.Capacity != 0.75 {
		t.Errorf("%+v", got)
	}
	p.believe(0, false)
	p.o.StartCampaign(visits(3, 4), p.now)
	p.collect()
	p.until(p.now + 7*hour)
	if got := p.o.Planned(p.now); got.Boxes != 5 || got.Left != 3 {
		t.Errorf("with a link down: %+v", got)
	}
	p.o.StartCampaign(visits(3, 4), p.now)
	p.believe(0, true)
	p.until(p.now + 4*31*minute)
	if got := p.o.Planned(p.now); got.Boxes != 8 || got.Skipped != 1 || got.Exposed != 8*31*minute || got.Capacity != 0.75 {
		t.Errorf("with the link back: %+v", got)
	}
}

// With four spines and a floor of a half two may be out, and the others follow; what
// goes on forwarding is not out, so that all four may be worked on together.
func TestWhatServesIsNotOut(t *testing.T) {
	for serves, want := range map[bool]Planned{
		false: {Boxes: 4, Campaigns: 1, Nights: 1, Exposed: 2 * 30 * minute, Capacity: 0.5},
		true:  {Boxes: 4, Campaigns: 1, Nights: 1, Exposed: 30 * minute, Capacity: 1},
	} {
		p := newPlay(clos(t, 1, 3, 4, 0, 1), upgrading(0.5, operation.Upgrades{AtOnce: 4, Drain: operation.NoDrain, Kept: true}))
		list := visits(3, 4)
		for i := range list {
			list[i].Serves = serves
		}
		p.o.StartCampaign(list, 0)
		p.collect()
		p.until(4 * hour)
		if got := p.o.Planned(p.now); got != want {
			t.Errorf("serves %v: %+v, want %+v", serves, got, want)
		}
	}
}

// Random campaigns among random sightings and adjacencies that come and go: what is
// taken out is what the twin allows, never more at once than asked for, and what is
// left at the end a rule forbids.
func TestCampaignAgainstTwin(t *testing.T) {
	var n tally
	done, waited := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		f := anyFabric(t)
		most := rapid.IntRange(1, 4).Draw(t, "at once")
		u := operation.Upgrades{AtOnce: most, Drain: operation.ByBit}
		if rapid.Bool().Draw(t, "window") {
			u.From, u.To = hour, 5*hour
		}
		rules := upgrading(rapid.SampledFrom([]float64{0, 0.34, 0.5, 0.7, 0.75}).Draw(t, "floor"), u)
		w := &twin{f: f, floor: rules.Floor, up: make([]bool, 2*len(f.Links)), links: make([]bool, len(f.Links)), nodes: make([]bool, len(f.Routers)), worst: 1}
		for i := range w.up {
			w.up[i] = true
		}
		p := &pair{play: newPlay(f, rules), t: t, w: w, n: &n}
		out := 0
		p.seen = func(a Action) {
			leaf := a.Part >= 0 && int(a.Part) < f.Leaves
			switch a.Deed {
			case Restart:
				if !w.nodes[a.Part] {
					t.Fatalf("%+v was not drained", a)
				}
				return
			case DrainRouter:
				if out++; out > most {
					t.Fatalf("%d out at once, at most %d", out, most)
				}
				if leaf {
					w.nodes[a.Part] = true
					return
				}
			case UndrainRouter:
				out--
			}
			p.check(a)
		}
		p.o.StartCampaign(visits(0, int32(len(f.Routers))), 0)
		p.collect()
		for range rapid.IntRange(1, 20).Draw(t, "steps") {
			if rapid.Bool().Draw(t, "believe") {
				end := rapid.Int32Range(0, int32(2*len(f.Links)-1)).Draw(t, "end")
				w.up[end] = rapid.Bool().Draw(t, "up")
				p.o.Believe(end, w.up[end], p.now)
				p.collect()
			} else {
				tk := anyTicket(t, f)
				tk.Routers = nil
				p.open(tk)
			}
			p.playTo(p.now + rapid.Int64Range(0, 3*3600).Draw(t, "wait")*second)
		}
		p.playTo(p.now + 30*day)
		got := p.o.Planned(p.now)
		if got.Left == 0 {
			done++
			return
		}
		waited++
		c := &p.o.campaign
		for i := range c.visits {
			if !c.begun[i] && (int(c.visits[i].Box) < f.Leaves || w.allows(part{c.visits[i].Box, true})) {
				t.Fatalf("box %d waits, and no rule forbids it", c.visits[i].Box)
			}
		}
	})
	if done < 20 || waited < 10 {
		t.Errorf("%d campaigns finished and %d waited at the end: too tame", done, waited)
	}
}

// Of mates at most one is out: six leaves, six at once, take two rounds; and the mate
// of a leaf that is cut off waits.
func TestMatesInTurn(t *testing.T) {
	f := clos(t, 1, 6, 4, 0, 1)
	p := newPlay(f, upgrading(0, operation.Upgrades{AtOnce: 6, Mates: true}))
	p.o.StartCampaign(visits(0, 6), 0)
	p.collect()
	p.until(3 * hour)
	if got := p.o.Planned(p.now); got.Boxes != 6 || got.Exposed != 2*31*minute {
		t.Errorf("%+v", got)
	}
	for l := range f.Links {
		if f.Links[l].Lower == 0 {
			p.believe(int32(l), false)
		}
	}
	p.o.StartCampaign(visits(0, 6), p.now)
	p.collect()
	p.until(p.now + 3*hour)
	if got := p.o.Planned(p.now); got.Boxes != 11 || got.Left != 1 {
		t.Errorf("with leaf 0 cut off: %+v", got)
	}
}

// A leaf all of whose links are down is cut off, at once or one after the other; one that
// is drained on all sides, or out, or not yet back from that, is not.
func TestLeavesCutOff(t *testing.T) {
	f := clos(t, 1, 3, 2, 0, 1)
	var links []int32
	for _, p := range f.Ports[0] {
		links = append(links, p.Link)
	}
	for _, c := range []struct {
		what string
		do   func(u *usage, link int32, now int64)
		cut  bool
	}{
		{"down", func(u *usage, l int32, now int64) { u.believe(2*l, false, now) }, true},
		{"drained", func(u *usage, l int32, now int64) { u.add(part{l, false}, 1, now) }, false},
		{"drained, one down", func(u *usage, l int32, now int64) {
			if l == links[0] {
				u.believe(2*l, false, now)
			} else {
				u.add(part{l, false}, 1, now)
			}
		}, false},
		{"out", func(u *usage, l int32, now int64) { u.setAway(0, true); u.believe(2*l, false, now) }, false},
		{"not yet back", func(u *usage, l int32, now int64) {
			u.setAway(0, true)
			u.setAway(0, false)
			u.believe(2*l, false, now)
		}, false},
	} {
		for _, apart := range []int64{0, minute} {
			var u usage
			u.init(f, 0)
			for i, l := range links {
				c.do(&u, l, minute+int64(i)*apart)
			}
			if u.capacity(hour); u.cut != c.cut {
				t.Errorf("%s, %d ns apart: cut off %v", c.what, apart, u.cut)
			}
		}
	}
}
