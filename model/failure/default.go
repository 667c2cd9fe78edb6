package failure

import (
	"reflect"

	"halflight/model/chance"
)

// Units of the laws of time, in ns.
const (
	second = 1e9
	minute = 60 * second
	hour   = 60 * minute
	day    = 24 * hour
	year   = 365 * day
)

// routerHours is the mean time between failures of a router by all its causes:
// 2 % of over 180,000 switches failed within three months (Singh et al., ACM
// CCR 51(2), 2021).
const routerHours = 110_000

// Laws of repair and of condition that several modes share.
var (
	opticLead  = chance.LognormalOf(30*hour, 0.75)
	opticHands = chance.LognormalOf(45*minute, 0.5)
	// A failed router is back after 1 to 6 h, mean 3.1 h (Dean, 2009).
	routerLead  = chance.LognormalOf(90*minute, 0.9)
	routerHands = chance.LognormalOf(45*minute, 0.5)

	frail = chance.Factor(1)
	even  = chance.Constant(1)

	silentLoss = chance.Between(1e-3, 5e-2, true)
	dirtyLoss  = chance.Tabled([]chance.Bin{
		{Share: 0.4724, Low: 1e-8, High: 1e-5}, // 47.23 % and the 0.01 % that rounding lost
		{Share: 0.1843, Low: 1e-5, High: 1e-4},
		{Share: 0.2166, Low: 1e-4, High: 1e-3},
		{Share: 0.1267, Low: 1e-3, High: 1e-2},
	})
)

// Default returns the modes of a fabric of which nobody has said how it fails.
// cards is the number of line cards of all routers; the life of a card is such
// that a router with the mean number of cards has a dirty one every 300 y.
func Default(routers, cards int) []Mode {
	perCard := float64(int64(300*365*24*float64(cards)/float64(max(routers, 1)))) * hour
	modes := []Mode{
		opticDead(), opticDirty(), opticFlap(),
		gray("silent", Silent, 140*year),
		gray("blackhole", Blackhole, 140*year),
		gray("oversize", Oversize, 280*year),
		silentRouter(), linecardDirty(max(perCard, hour)),
		routerHardware(), routerHung(), powerDomain(), routerRestart(),
	}
	for i := range modes {
		modes[i].Aged = true
		if modes[i].Frailty.Zero() {
			modes[i].Frailty = even
		}
		modes[i].BatchFrailty = even
	}
	return modes
}

func opticDead() Mode {
	return Mode{Name: "optic-dead", Kind: Hard, On: OnLink,
		Life: chance.ExponentialOf(114 * year), Frailty: frail, Lead: opticLead, HandsOn: opticHands,
		Drift: 0.3, DriftOver: DefaultDriftOver,
		Source: "between 1.28 M h a link (Qian et al., SIGCOMM 2024) and two transceivers of 0.5 to 1 M h; frailty from memory",
		Grade:  "B", Range: "28 to 285 y", Wide: 10}
}

func opticDirty() Mode {
	return Mode{Name: "optic-dirty", Kind: Lossy, On: OnLink,
		Life: chance.ExponentialOf(20 * year), Frailty: frail, Lead: opticLead, HandsOn: opticHands,
		Loss: dirtyLoss, OneWay: 0.92, Drift: 0.5, DriftOver: DefaultDriftOver,
		Source: "rate assumed, to give several a day in a large fabric (Roy et al., 2017); loss and direction from Zhuo et al., SIGCOMM 2017, from memory",
		Grade:  "D", Range: "x 0.1 to x 10", Wide: 100}
}

func opticFlap() Mode {
	return Mode{Name: "optic-flap", Kind: Flapping, On: OnLink,
		Life: Episodes(2e-4 / 86400), EpisodesPerDay: day / Episodes(2e-4/86400).Scale, Frailty: frail,
		Flaps:  chance.Law{Family: chance.Geometric, Scale: 5},
		Down:   chance.LognormalOf(3*second, 0.8),
		Gap:    chance.LognormalOf(30*second, 0.8),
		Source: "sources disagree 30 to 300 times (Qian et al., SIGCOMM 2024; Borrill, preprint)",
		Grade:  "D", Range: "4e-5 to 1.2e-2 episodes a link-day", Wide: 300}
}

// Access returns the modes of access links of which nobody has said how they
// fail: those of optics between routers. Of the seven kinds only the two that take
// the light away are simulated there.
func Access() []Mode {
	modes := []Mode{opticDead(), opticFlap()}
	modes[0].Name, modes[1].Name = "access-dead", "access-flap"
	for i := range modes {
		m := &modes[i]
		m.On, m.Aged, m.BatchFrailty, m.Drift, m.DriftOver = OnAccess, true, even, 0, chance.Law{}
		m.Source = "as of links between routers: " + m.Source
	}
	return modes
}

// Episodes returns the law of the time between episodes that come at this rate
// a second.
func Episodes(rate float64) chance.Law { return chance.ExponentialOf(second / rate) }

// gray is a mode of a link that no counter sees.
func gray(name string, kind Kind, life float64) Mode {
	m := Mode{Name: name, Kind: kind, On: OnLink,
		Life: chance.ExponentialOf(life), Frailty: even, Lead: routerLead, HandsOn: routerHands, OneWay: 0.92,
		Source: "share of all gray faults assumed: dirty 70, silent 10, black hole 10, oversize 5", Grade: "D", Range: "x 0.1 to x 10", Wide: 100}
	switch kind {
	case Silent:
		m.Loss = silentLoss
		m.Source += "; loss from memory of Guo et al., SIGCOMM 2015 (1 to 2 %)"
	case Blackhole:
		m.Share = chance.Between(1.0/64, 1.0/16, true)
		m.Source += "; kinds of hole from Guo et al., SIGCOMM 2015"
	case Oversize:
		m.Above = 1000
		m.Source += "; size from Dong et al., NSDI 2025"
	}
	return m
}

func silentRouter() Mode {
	return Mode{Name: "silent-router", Kind: Silent, On: OnRouter,
		Life: chance.ExponentialOf(300 * year), Lead: routerLead, HandsOn: routerHands, Loss: silentLoss,
		Source: "rate assumed; partial loss over several interfaces at once is seen", Grade: "D", Range: "x 0.1 to x 10", Wide: 100}
}

func linecardDirty(life float64) Mode {
	return Mode{Name: "linecard-dirty", Kind: Lossy, On: OnLineCard,
		Life: chance.ExponentialOf(life), Lead: opticLead, HandsOn: opticHands, Loss: silentLoss, OneWay: 0.92, Ports: 4,
		Source: "300 y a router, assumed; shared components cluster on one router (Zhuo et al., SIGCOMM 2017, from memory)",
		Grade:  "D", Range: "x 0.1 to x 10", Wide: 100}
}

// part returns the mean life of a router, in whole hours, against one cause
// that has this share of all its failures.
func part(share float64) chance.Law {
	return chance.ExponentialOf(float64(int64(routerHours/share+0.5)) * hour)
}

const (
	routerSource = "110,000 h a router by all causes and the shares of hardware and software: Singh et al., ACM CCR 51(2), 2021"
	routerRange  = "50,000 h to 1.4 M h by all causes"
)

func routerHardware() Mode {
	return Mode{Name: "router-hardware", Kind: Hard, On: OnRouter, Life: part(0.32), Lead: routerLead, HandsOn: routerHands,
		Source: routerSource + "; back in 1 to 6 h (Dean, 2009), split into waiting and work assumed", Grade: "B", Range: routerRange, Wide: 28}
}

func routerHung() Mode {
	return Mode{Name: "router-hung", Kind: Hard, On: OnRouter, Life: part(0.17), Light: 1,
		Lead:   chance.LognormalOf(32*minute, 0.9),
		Source: routerSource + "; that software faults leave the light on is assumed; fixed in 10 to 100 min (Govindan et al., SIGCOMM 2016)",
		Grade:  "C", Range: "0 to 30 % of router faults", Wide: 2}
}

// powerDomain fails as often as one router loses its power: each router is in
// one domain, whatever the size of that.
func powerDomain() Mode {
	return Mode{Name: "power-domain", Kind: Hard, On: OnPowerDomain, Life: part(0.28),
		Lead:   chance.Between(3*hour, 9*hour, false),
		Source: routerSource + "; share of power from memory; 6 h (Dean, 2009)", Grade: "C", Range: routerRange + "; 1 to 12 h", Wide: 28}
}

func routerRestart() Mode {
	return Mode{Name: "router-restart", Kind: Restart, On: OnRouter, Life: part(0.23),
		Down:   chance.LognormalOf(4*minute, 0.6),
		Source: routerSource + "; the rest of the causes taken as reloads of a couple of minutes (Dean, 2009)", Grade: "B", Range: routerRange + "; 1 to 30 min", Wide: 28}
}

// What a mode does that says nothing about it.
var (
	DefaultShare  = chance.Between(1.0/64, 1.0/16, true)
	DefaultReload = chance.LognormalOf(4*minute, 0.6)
	DefaultFactor = chance.Between(2, 20, true)
	DefaultStuck  = chance.Between(0.01, 0.5, true)
	DefaultLasts  = chance.LognormalOf(32*minute, 0.9)
)

// DefaultDriftOver is how long an optic drifts before it drops anything:
// assumed; that links drift slowly through a window narrow in dB follows from
// the steepness of the correction.
var DefaultDriftOver = chance.LognormalOf(7*day, 1)

// DefaultAbove is the size in bytes above which an oversize fault drops.
const DefaultAbove int64 = 1000

// DefaultLoss returns the law of the loss of a lossy or silent mode.
func DefaultLoss(k Kind) chance.Law {
	if k == Silent {
		return silentLoss
	}
	return dirtyLoss
}

// DefaultFlaps returns the laws of an episode: flaps, dark and light times.
func DefaultFlaps() (flaps, down, gap chance.Law) {
	m := opticFlap()
	return m.Flaps, m.Down, m.Gap
}

// DefaultRepair returns the laws of a repair: that of optics for what breaks on
// links and their groups, that of routers otherwise, that of power, and none
// for flaps and restarts, which end by themselves.
func DefaultRepair(k Kind, on Class) (lead, handsOn chance.Law) {
	switch {
	case k == Flapping || k == Restart || k == Slow || k == Unwritten:
		return chance.Law{}, chance.Law{}
	case on == OnPowerDomain:
		return powerDomain().Lead, chance.Law{}
	case (&Mode{On: on}).Routers():
		return routerLead, routerHands
	}
	return opticLead, opticHands
}

// Same says whether two modes do the same, whatever is written about them.
func (m *Mode) Same(o *Mode) bool {
	a, b := *m, *o
	for _, x := range []*Mode{&a, &b} {
		x.Source, x.Grade, x.Note, x.Range, x.Wide, x.Residual = "", "", "", "", 0, nil
	}
	return reflect.DeepEqual(a, b)
}
