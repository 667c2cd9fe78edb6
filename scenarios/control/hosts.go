package control

import (
	"halflight/scenarios/law"
	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
)

// Underlay says which servers are routers of the area themselves, each an origin of LSPs.
type Underlay struct {
	Off            bool
	Hosts          *int // of each leaf
	Reboots, Flaps *HostEvents
}

// HostEvents is how often each host goes away, and for how long.
type HostEvents struct {
	Off  bool
	Rate *unit.Rate
	Away *law.Distribution
}

// hostsMost is how many hosts a leaf may have.
const hostsMost = 10_000

// ReadUnderlay reads what the area knows of servers, nil where not given; o is the whole scenario.
func ReadUnderlay(o *outline.Object) *Underlay {
	m, off, given := o.Switchable("underlay")
	if !given {
		return nil
	}
	u := &Underlay{Off: off}
	if m == nil {
		if !off {
			o.Wrong("underlay", "underlay has no default", "say {hosts: 40}, or false")
		}
		return u
	}
	m.Require("hosts")
	m.Whole("hosts", &u.Hosts, 1, hostsMost)
	u.Reboots, u.Flaps = hostEvents(m, "reboots"), hostEvents(m, "flaps")
	m.Done()
	return u
}

func hostEvents(o *outline.Object, key string) *HostEvents {
	m, off, given := o.Switchable(key)
	if !given {
		return nil
	}
	e := &HostEvents{Off: off}
	if m != nil {
		m.Rate("rate", &e.Rate)
		law.Read(m, "away", &e.Away, &law.Durations)
		m.Done()
	}
	return e
}
