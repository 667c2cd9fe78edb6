package sim

import (
	"halflight/sim/detection"
	"halflight/sim/kernel"
	"halflight/sim/linkstate"
)

// What can happen. The comment says what A and B of the event are.
const (
	physical uint8 = iota // A: fault, B: step of its course
	control               // Sub: kind of task of the control plane, A and B as there
	detect                // Sub: kind of task of detection, A as there
	onset                 // A: unit of a population, Gen: number of the onset
	foresee               // A: unit, B: instrument, Gen: number of the onset that it sees coming
	phantom               // A: instrument that alarms about nothing, B: how many times before
	sight                 // A: fault, B: instrument, -1 for none
	fall                  // A: direction whose session loses too many packets in a row, B: session, or -1 as it comes up again in a sketch
	operate               // Sub: kind of task of the operator, A as there
	measure               // A: 0 the measured window begins, 1 a day of it ends
	wake                  // the routers begin to be played
	planned               // A: a campaign or a change, B: its number
	host                  // A: leaf, B: number of the event, Sub: reboots or flaps, and what of one
	attach                // Sub: kind of task of servers and their attachments, A and B as there
	busiest               // A: 1 the busiest hour of a day begins, 0 it ends
)

// The order in which a round takes what is due at one instant.
const (
	rankPhysical uint8 = iota
	rankTimer
	rankGeneration // LSP generation, and floods that waited for a token
	rankDetection  // ends that go down
	rankRise       // ends that come up
	rankPrune
	rankArrival
	rankCrossing // LSPs over one adjacency: exchanges, and what follows later
	rankWrite
	rankOperator
	rankEnd
)

// rankOfTask is the place of the control plane's tasks.
var rankOfTask = [...]uint8{
	linkstate.Expire: rankTimer, linkstate.Originate: rankGeneration, linkstate.Token: rankGeneration,
	linkstate.Redraw: rankOperator, linkstate.Prune: rankPrune, linkstate.Detour: rankPrune, linkstate.Arrive: rankArrival, linkstate.Cross: rankCrossing,
	linkstate.Start: rankWrite, linkstate.EndRun: rankWrite, linkstate.Write: rankWrite, linkstate.Ready: rankWrite,
}

// push makes something due. What is due at the present instant belongs to the
// next round.
func (e *engine) push(at int64, rank uint8, router, link int32, ev kernel.Event) {
	if at > e.until {
		return
	}
	round := uint16(0)
	if at <= e.now {
		at, round = e.now, e.round+1
	}
	ev.At, ev.Key = at, kernel.Key(round, rank, uint32(router), uint32(link))
	e.queue.Push(ev)
}

// drain takes the tasks that the parts left and makes them due.
func (e *engine) drain() {
	if e.routerless() {
		return
	}
	for _, t := range e.control.Tasks {
		e.push(t.At, rankOfTask[t.Kind], t.Router, t.Place, kernel.Event{Kind: control, Sub: uint8(t.Kind), A: t.A, B: t.B})
	}
	e.control.Tasks = e.control.Tasks[:0]
	for _, t := range e.links.Tasks {
		rank := rankDetection
		if t.Kind >= detection.Lit {
			rank = rankRise
		}
		e.push(t.At, rank, t.Router, t.A>>1, kernel.Event{Kind: detect, Sub: uint8(t.Kind), A: t.A, Gen: t.Gen})
	}
	e.links.Tasks = e.links.Tasks[:0]
}
