package control

import (
	"halflight/model/chance"
	"halflight/model/given"
	"halflight/model/setting"
	"halflight/scenarios"
	"halflight/scenarios/control"
)

// Hosts are servers that are routers of the area themselves: their LSPs come through
// their leaf, and all routers hear of it when one goes away or comes back. Nobody is
// reached through a host, so no table of the fabric changes.
type Hosts struct {
	Leaf           int // hosts of a leaf; 0 without any
	Reboots, Flaps HostEvents
}

// HostEvents is how often one host goes away, a second, and for how long, in ns.
type HostEvents struct {
	Rate float64
	Away chance.Law
}

const second = 1e9

// What is assumed of a host: a reboot a month, and a flap of its access link, as of
// optics, every 90 days.
var defaultReboots, defaultFlaps = HostEvents{1.0 / (30 * 86400), chance.LognormalOf(240*second, 0.6)}, HostEvents{1.0 / (90 * 86400), chance.LognormalOf(3*second, 0.8)}

// HostsOf returns how many hosts of a leaf are routers of the area.
func HostsOf(s *scenarios.Scenario) int {
	if s.Underlay == nil {
		return 0
	}
	return given.Or(s.Underlay.Hosts, 0)
}

// ResolveHosts resolves what hosts do.
func ResolveHosts(s *scenarios.Scenario, lawOf func(*scenarios.Distribution) chance.Law) Hosts {
	h := Hosts{Leaf: HostsOf(s)}
	if h.Leaf == 0 {
		return h
	}
	resolve := func(typed *control.HostEvents, or HostEvents) HostEvents {
		if typed == nil {
			return or
		}
		if typed.Off {
			return HostEvents{}
		}
		or.Rate = given.Number(typed.Rate, or.Rate)
		if typed.Away != nil {
			or.Away = lawOf(typed.Away)
		}
		return or
	}
	h.Reboots, h.Flaps = resolve(s.Underlay.Reboots, defaultReboots), resolve(s.Underlay.Flaps, defaultFlaps)
	return h
}

// ListHosts lists them.
func ListHosts(l *setting.List, s *scenarios.Scenario, h *Hosts) {
	if h.Leaf == 0 {
		l.Add("underlay", "false", s.Underlay != nil)
		return
	}
	l.Add("underlay.hosts", setting.Whole(h.Leaf), true)
	list := func(at string, typed *control.HostEvents, e HostEvents) {
		if e.Rate == 0 {
			l.Add(at, "false", true)
			return
		}
		if typed == nil {
			typed = &control.HostEvents{}
		}
		l.Add(at+".rate", setting.Rate(e.Rate), typed.Rate != nil)
		l.Law(at+".away", e.Away, setting.Time, typed.Away != nil)
	}
	list("underlay.reboots", s.Underlay.Reboots, h.Reboots)
	list("underlay.flaps", s.Underlay.Flaps, h.Flaps)
}
