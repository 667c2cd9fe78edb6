package sim

import (
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/sim/paths"
)

// culprits knows the faults in force that keep links from being listed or a router from being passed, to
// tell without which there would be a route where there is none (S23).
type culprits struct {
	known bool // list is as the world is
	list  []culprit
}

// culprit is one of them, with what would be otherwise without it.
type culprit struct {
	id     int32
	links  []int32 // listed
	passed []int32 // routers without the overload bit
}

// culprit is the oldest fault in force without which a route from source to d would exist; -1 for none,
// or if there is a route.
func (e *engine) culprit(source, d int32) int32 {
	c := &e.culprits
	if e.ledger.Truth.Routes.Cost(d, source) != paths.Unreachable {
		return -1
	} else if !c.known {
		e.findCulprits()
	}
	for i := range c.list {
		if one := &c.list[i]; e.ledger.Truth.Joined(source, d, one.links, one.passed) {
			return one.id
		}
	}
	return -1
}

// findCulprits lists what each fault in force keeps out of use, the oldest first.
func (e *engine) findCulprits() {
	c := &e.culprits
	c.known, c.list = true, c.list[:0]
	for _, id := range e.faultsInForce() {
		f, one := &e.faults[id], culprit{id: id}
		take := func(l int32) {
			if !e.ledger.Truth.LinkUp[l] && e.listedWithout(l, id) {
				one.links = append(one.links, l)
			}
		}
		for _, l := range e.linksOf(f) {
			take(l)
		}
		for _, x := range f.routers {
			for _, p := range e.f.Ports[x] {
				take(p.Link)
			}
			drains := e.body.drainRouter[x]
			if len(drains) == 1 && drains[0] == id && f.Kind == failure.Drain && !(e.t.OverloadLeaves && e.f.Routers[x].Class == fabric.Leaf) {
				one.passed = append(one.passed, x)
			}
		}
		if len(one.links)+len(one.passed) > 0 {
			c.list = append(c.list, one)
		}
	}
}
