package sim

import (
	area "halflight/model/control"
	"halflight/sim/kernel"
)

// Hosts that are routers of the area go away and come back. Those of a leaf are taken
// together: their reboots, and their flaps, are each a Poisson process of that leaf.

// What of a host's event is due.
const (
	hostReboots uint8 = iota // a host reboots
	hostFlaps                // the access link of a host flaps
	hostSeen                 // the leaf notices that one went, or is back
)

// hostPurposes are those of reboots and of flaps.
var hostPurposes = [...][2]kernel.Purpose{
	hostReboots: {kernel.PurposeOf("host reboots"), kernel.PurposeOf("host away")},
	hostFlaps:   {kernel.PurposeOf("host flaps"), kernel.PurposeOf("host dark")},
}

// enrolHosts makes the first event of every leaf due.
func (e *engine) enrolHosts() {
	if e.w.Hosts.Leaf == 0 || e.sketch != nil {
		return
	}
	for x := range int32(e.f.Leaves) {
		e.nextHost(x, 0, hostReboots)
		e.nextHost(x, 0, hostFlaps)
	}
}

func (e *engine) hostLaw(kind uint8) area.HostEvents {
	if kind == hostReboots {
		return e.w.Hosts.Reboots
	}
	return e.w.Hosts.Flaps
}

// nextHost makes a leaf's n-th event of a kind due, counted from now.
func (e *engine) nextHost(x, n int32, kind uint8) {
	rate := e.hostLaw(kind).Rate * float64(e.w.Hosts.Leaf)
	if rate == 0 {
		return
	}
	u := e.chance.stream.Uniform(hostPurposes[kind][0], routerOwner(&e.f.Routers[x]), uint64(n))
	after := kernel.Nanoseconds(kernel.Exponential(u, 1e9/rate))
	from := max(e.now, 0)
	if after < e.until-from {
		e.push(from+max(after, 1), rankDetection, x, int32(kind), kernel.Event{Kind: host, A: x, B: n, Sub: kind})
	}
}

// hostEvent is a host that goes away, or what its leaf notices of it: light is gone, or
// has been back for the time to settle.
func (e *engine) hostEvent(x, n int32, kind uint8) {
	if kind == hostSeen {
		if !e.routerless() {
			e.control.HostChanged(x, e.now)
		}
		return
	}
	law := e.hostLaw(kind)
	away := kernel.Nanoseconds(quantile(&law.Away, e.chance.stream.Uniform(hostPurposes[kind][1], routerOwner(&e.f.Routers[x]), uint64(n))))
	if away > e.t.Signal {
		seen := kernel.Event{Kind: host, A: x, B: 4*n + 2*int32(kind), Sub: hostSeen}
		e.push(e.now+e.t.Signal, rankDetection, x, int32(kind), seen)
		if seen.B++; away < e.until-e.now {
			e.push(e.now+away+e.t.Settle, rankRise, x, int32(kind), seen)
		}
	}
	e.nextHost(x, n+1, kind)
}
