package sim

import (
	"slices"

	"halflight/model"
	"halflight/model/failure"
	"halflight/sim/kernel"
)

// Routers forget: what their timers, databases and tables are follows from the
// last minutes. Faults, repairs and instruments remember for months, and none of
// them hears of a routing table. So the warm-up is played without routers, as in
// a sketch, until wakeBefore before the measured window; then every fault in
// force strikes the routers, and they have that long to come to where they would
// be. Up to then an adjacency is believed down at the instant at which it stops
// passing packets, so that tickets of dead parts are earlier by the detection time.

// wakeBefore is how long routers are played before the window begins: a day,
// against 10 s of SPF back-off, minutes of LSP generation and an hour of damping.
const wakeBefore = 86_400_000_000_000

// routerless says whether no routers are played at present.
func (e *engine) routerless() bool { return e.asleep || e.sketch != nil }

// sleeps says whether a world may begin without routers: not if tables remember. A
// script of a random play begins with the measured window.
func sleeps(w *model.World) bool {
	return w.WarmUp > wakeBefore && !slices.ContainsFunc(w.Modes, func(m failure.Mode) bool { return m.Kind == failure.Unwritten })
}

// sleep begins a random play without routers.
func (e *engine) sleep() {
	c := e.chance
	c.early = make([]bool, len(e.f.Links))
	if e.sketch != nil || !sleeps(e.w) {
		return
	}
	e.asleep = true
	e.push(e.w.WarmUp-wakeBefore, rankEnd, 0, 0, kernel.Event{Kind: wake})
}

// wake begins to play the routers: all that is in force strikes now.
func (e *engine) wake() {
	e.asleep = false
	b := &e.body
	down := b.falseDown
	b.falseDown, b.dead = make([]bool, len(down)), make([]bool, len(b.dead))
	e.outside = true
	for _, id := range e.inForce {
		f := &e.faults[id]
		e.ledger.Turn(id, e.now)
		b.stepped = append(b.stepped, id)
		if f.Kind == failure.Drain {
			e.drainParts(id, true)
		}
		for _, x := range f.routers {
			if f.Kind == failure.Slow {
				e.pace(x)
				continue
			}
			b.dirtyRouters = append(b.dirtyRouters, x)
		}
		for _, l := range f.links {
			b.touchLink(l)
		}
		for _, d := range f.directions {
			b.touchLink(d >> 1)
		}
	}
	for l, on := range e.chance.early {
		if on {
			e.takeOut(int32(l), true)
		}
	}
	e.commit()
	for l := range down {
		if !down[l] || !b.truth[l].Alive {
			continue
		}
		s := b.fell[l]
		id := e.chance.sessions[s].fault
		for _, d := range e.directionsOf(&e.faults[id]) {
			if d>>1 == int32(l) && !e.faults[id].over {
				e.goDown(d, id, b.again[l])
				break
			}
		}
	}
}
