package sim

import (
	"slices"

	"halflight/sim/bands"
	"halflight/sim/forwarding"
)

// A detour is a repair tunnel around a dead link: what its sender still gives
// to that direction goes along another way to the router at the far end, and
// on from there as ever. It lasts until the adjacency is up again.

// goAround begins the detour of a direction, if its sender still lacks the
// adjacency and knows a way.
func (e *engine) goAround(direction int32) {
	x := e.f.From(direction)
	if e.body.mute[x] || e.links.Up(direction) {
		return
	}
	if way := e.control.Around(direction); len(way) > 0 {
		e.body.detours[direction], e.touched = way, true
		e.body.onDetour = append(e.body.onDetour, direction)
		e.commitLink(direction >> 1)
		e.ledger.Retry()
	}
}

// endDetour ends the detour of a direction.
func (e *engine) endDetour(direction int32) {
	if e.body.detours[direction] == nil {
		return
	}
	e.body.detours[direction], e.touched = nil, true
	e.body.onDetour = remove(e.body.onDetour, direction)
	e.commitLink(direction >> 1)
	e.ledger.Retry()
}

// dropDetours ends the detours of a router that lost its table. Its links are
// looked at anyway.
func (e *engine) dropDetours(x int32) {
	for _, p := range e.f.Ports[x] {
		if e.body.detours[p.Out()] != nil {
			e.body.detours[p.Out()] = nil
			e.body.onDetour = remove(e.body.onDetour, p.Out())
		}
	}
}

// throughDetour is what a direction with a detour does to packets.
func (e *engine) throughDetour(direction int32, way forwarding.Direction) forwarding.Direction {
	if e.body.dead[e.f.To(direction)] || e.body.dead[e.f.From(direction)] {
		return way
	}
	out := forwarding.Direction{Pass: e.clear, Cause: -1}
	for _, d := range e.body.detours[direction] {
		leg := &e.body.ways[d]
		if !e.body.truth[d>>1].Alive {
			return way // a repair is not repaired
		}
		if leg.Cause >= 0 && (out.Cause < 0 || e.ledger.Older(leg.Cause, out.Cause)) {
			out.Cause, out.Full = leg.Cause, leg.Full
		}
		out.Whole = out.Whole || leg.Whole
		bands.Follow(&out, leg)
	}
	return out
}

// reviewDetours brings detours up to date that lead over a link.
func (e *engine) reviewDetours(link int32) {
	for _, direction := range e.body.onDetour {
		if slices.ContainsFunc(e.body.detours[direction], func(d int32) bool { return d>>1 == link }) {
			e.setWay(direction, e.body.truth[direction>>1].Alive)
		}
	}
}
