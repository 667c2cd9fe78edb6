package sim

import (
	"math"
	"slices"

	"halflight/model/failure"
	"halflight/sim/detection"
)

// commitControl takes a router's control plane out or, later, back, as the
// faults on it say. dead is whether it is dead altogether. returns says that it has
// one again.
func (e *engine) commitControl(x int32, dead bool) (returns bool) {
	b := &e.body
	was, is := b.mute[x], dead || len(b.onControl[x]) > 0
	b.mute[x] = is
	if is && !was {
		b.lostAll[x] = false
		e.links.Stop(x)
		e.control.Silence(x, e.now)
	}
	if is && (dead || e.hung(x)) {
		b.lostAll[x] = true
	}
	if is && !dead {
		e.control.KeptAway(x, e.oldest(b.onControl[x]))
	}
	if e.chance != nil {
		e.chance.operator.Away(x, is)
	}
	return was && !is
}

// hung says whether a router hangs in its control plane: it sends no hellos.
func (e *engine) hung(x int32) bool {
	return slices.ContainsFunc(e.body.onControl[x], func(id int32) bool { return e.faults[id].Kind == failure.Hard })
}

// await has neighbours wait for a router that begins at this instant to restart with its
// tables kept, be it that it had no control plane before; as the routers begin to be
// played, for what is left of the time.
func (e *engine) await(x int32) {
	for _, id := range e.body.onControl[x] {
		if f := &e.faults[id]; f.Kind == failure.Restart && slices.Contains(e.body.stepped, id) {
			e.links.Await(x, max(f.onset+e.t.Grace, e.now))
		}
	}
}

// graceOver says whether a router restarts with its tables kept for longer than
// its neighbours wait.
func (e *engine) graceOver(x int32) bool {
	return slices.ContainsFunc(e.body.onControl[x], func(id int32) bool {
		f := &e.faults[id]
		return f.Kind == failure.Restart && e.now >= f.onset+e.t.Grace
	})
}

// detect carries out a task of detection.
func (e *engine) detect(t detection.Task) {
	if t.Kind == detection.Grace && !e.graceOver(e.f.To(t.A)) {
		return // the restart is over, though the router has no control plane for another reason
	}
	e.changes = e.links.Do(t, e.now, e.changes[:0])
	e.noticed()
	if t.Kind == detection.Reused {
		e.commitLink(t.A >> 1)
		e.applyTruth()
		e.ledger.Retry()
	}
}

// pace makes a router's control plane as slow, and as many of its entries
// unwritten, as the faults on it say.
func (e *engine) pace(x int32) {
	factor := 1.0
	var stuck []int32
	for _, id := range e.body.onPace[x] {
		f := &e.faults[id]
		if f.Kind == failure.Slow {
			factor *= f.Factor
			continue
		}
		if stuck == nil {
			stuck = make([]int32, e.f.Leaves)
			for d := range stuck {
				stuck[d] = -1
			}
		}
		for _, d := range f.destinations {
			if stuck[d] < 0 || e.ledger.Older(id, stuck[d]) {
				stuck[d] = id
			}
		}
	}
	e.control.Slow(x, factor, e.now)
	e.control.Stick(x, stuck)
}

// spread lists the destinations that a share of all comes to, spread evenly.
func spread(leaves int, share float64) []int32 {
	var out []int32
	upTo := func(d int) float64 { return math.Floor(float64(float64(d)*share) + 1e-9) }
	for d := range leaves {
		if upTo(d+1) > upTo(d) {
			out = append(out, int32(d))
		}
	}
	return out
}

// cuts says whether a fault is one that routers can notice, on a link, one of its
// directions or a router at its ends.
func (e *engine) cuts(id, l int32) bool {
	f, link := &e.faults[id], &e.f.Links[l]
	if f.Kind >= failure.Slow || (f.Kind.Gray() && !(e.clocked() && (f.Loss >= 1 || f.Share >= 1 || f.randomHold))) {
		return false
	}
	return slices.Contains(f.links, l) || slices.Contains(f.routers, link.Lower) || slices.Contains(f.routers, link.Upper) ||
		slices.Contains(f.directions, 2*l) || slices.Contains(f.directions, 2*l+1)
}

// listedWithout says whether both ends would list a link once all is noticed if
// a fault were not there; then damping of a link that it cut, and a session that it took
// down, would not be either.
func (e *engine) listedWithout(l, without int32) bool {
	b, link := &e.body, &e.f.Links[l]
	with := func(list []int32, holds func(*fault) bool) bool {
		return slices.ContainsFunc(list, func(id int32) bool { return id != without && holds(&e.faults[id]) })
	}
	any := func(*fault) bool { return true }
	dark := func(f *fault) bool { return !f.Light }
	if b.falseDown[l] && e.ledger.Truth.LinkFault[l] != without {
		return false
	}
	if (e.links.Suppressed(2*l) || e.links.Suppressed(2*l+1)) && !e.cuts(without, l) {
		return false
	}
	alive := true
	for _, list := range [3][]int32{b.onLink[l], b.onRouter[link.Lower], b.onRouter[link.Upper]} {
		if with(list, dark) {
			return false
		}
		alive = alive && !with(list, any)
	}
	if !alive {
		return !e.clocked() && e.staysListed(2*l) && e.staysListed(2*l+1)
	}
	mute, hung, over := false, false, false
	for _, x := range [2]int32{link.Lower, link.Upper} {
		mute = mute || with(b.onControl[x], any)
		hung = hung || with(b.onControl[x], func(f *fault) bool { return f.Kind == failure.Hard })
		over = over || with(b.onControl[x], func(f *fault) bool { return f.Kind == failure.Restart && e.now >= f.onset+e.t.Grace })
	}
	if e.clocked() {
		for d := 2 * l; d <= 2*l+1; d++ {
			for _, id := range b.onDirection[d] {
				if id != without && e.blocks(id, d) {
					return false
				}
			}
		}
	}
	if e.t.Hello && hung {
		return false
	}
	return !mute || !over && e.staysListed(2*l) && e.staysListed(2*l+1)
}
