package operation

import "halflight/model/chance"

const (
	ms     = int64(1e6)
	second = 1000 * ms
	minute = 60 * second
)

// Default returns the plan of an operator of whom nothing is said. busiest is
// the load of the busiest hour: a drain must leave the greater of 0.75 and
// busiest/0.9 of a leaf's uplinks.
func Default(busiest float64) Plan {
	return Plan{
		Instruments: []Instrument{DefaultPolling(), DefaultComplaints()},
		Reaction:    Reaction(false),
		Floor:       min(max(0.75, busiest/0.9), 1),
		SoakTime:    10 * minute,
		FirstBlind:  0.5, FirstGuided: 0.8, // Zhuo et al., SIGCOMM 2017: ratio from its abstract, values from memory
	}
}

// Reaction returns the law from sighting to drain. People: 80 % within 10 to
// 100 min (Govindan et al., SIGCOMM 2016). Programs: 60 s, assumed.
func Reaction(automatic bool) chance.Law {
	if automatic {
		return chance.Constant(float64(60 * second))
	}
	return chance.LognormalOf(float64(32*minute), 0.9)
}

// DefaultPolling returns counters read every 5 min, two bad polls in a row
// (common practice, no source). A healthy link loses below 1e-8: IEEE 802.3
// wants a bit error ratio of 1e-12.
func DefaultPolling() Instrument {
	return Instrument{Name: "counters", Kind: Polling, From: -1, Every: 300 * second, Threshold: 1e-8, InARow: 2}
}

// DefaultProbes returns 10 probes a second over each direction, located within
// 20 s, 85 % of them right (a probing system in a paper of SIGCOMM 2024); sizes
// so that faults of large packets are seen (Dong et al., NSDI 2025).
func DefaultProbes() Instrument {
	return Instrument{Kind: Probes, From: -1, Rate: 10, Sizes: []float64{64, 512, 1400}, PortsVaried: true, Flows: 1,
		TimeOut: 500 * ms, InARow: 3, Window: 1000, WrongLink: 0.15}
}

// DefaultHosts returns what servers know of their own traffic: a test a minute
// over each direction on one packet in 10,000, one false alarm in 30 days, blind
// on 30 % of the directions, because too little traffic crosses them or their
// paths are not known. All of it is assumed; how many links are named wrongly is
// as for probes.
func DefaultHosts() Instrument {
	return Instrument{Kind: Hosts, From: -1, Every: minute, Sample: 1e-4, FalseAlarms: 1.0 / 2592000, Missed: 0.3, WrongLink: 0.15}
}

// DefaultDrops returns routers that report each packet they know they drop: of
// silent losses 30 %, of holes half, of all others all; a test looks at 10 s.
// All of it is assumed.
func DefaultDrops() Instrument {
	return Instrument{Kind: Drops, From: -1, Every: 10 * second, FalseAlarms: 1.0 / 2592000, Silent: 0.3, Holes: 0.5}
}

// DefaultOptics returns receivers whose bit error ratio before correction is
// read every 5 min; an alarm is twice in a row above 1e-5, well below the 2e-4
// that the correction is made for (IEEE 802.3, from memory). One false alarm in
// 30 days, assumed.
func DefaultOptics() Instrument {
	return Instrument{Kind: Optics, From: -1, Every: 300 * second, Threshold: 1e-5, InARow: 2, FalseAlarms: 1.0 / 2592000}
}

// DefaultComplaints returns the hazard of complaints; no law of it is
// published.
func DefaultComplaints() Instrument {
	return Instrument{Name: "complaints", Kind: Complaints, From: -1, Rate: 1.0 / 86400, Threshold: 0.001, RateMax: 1.0 / 1800}
}

// YearlyCost returns what an instrument costs a year when nothing is said: so
// much for each leaf. Nothing is published; all of it is assumed.
func YearlyCost(k Kind, leaves int) float64 {
	return float64(leaves) * [...]float64{5, 50, 100, 100, 20, 0}[k]
}

// DefaultPrices returns prices of which nothing is said. A visit of 150 to 500
// (trade pages, not of data centres) and an optic of 100 Gb/s at 3 for each Gb/s
// (a trade page of 2016) are in US dollars; the rest is assumed.
func DefaultPrices(classes int) Prices {
	p := Prices{Currency: "units", TechnicianHour: 100, Visit: 300, Optic: 300}
	for range classes {
		p.DegradedLeafHour = append(p.DegradedLeafHour, 1)
	}
	return p
}

// Offers returns the instruments that one may think of buying, with what each
// costs a year in a fabric of so many leaves: counters every 300 s and streamed
// every 10 s (common practice), probes by a window of 100,000 with one false alarm
// in 30 d, servers, reports of drops and error ratios.
func Offers(leaves int) []Instrument {
	streaming := DefaultPolling()
	streaming.Name, streaming.Every = "streaming", 10*second
	probes, hosts, drops, optics := DefaultProbes(), DefaultHosts(), DefaultDrops(), DefaultOptics()
	probes.Name, probes.InARow, probes.Window, probes.FalseAlarms = "probes", 0, 100_000, 1.0/2592000
	hosts.Name, drops.Name, optics.Name = "hosts", "drops", "optics"
	list := []Instrument{DefaultPolling(), streaming, probes, hosts, drops, optics}
	for i := range list {
		list[i].YearlyCost = YearlyCost(list[i].Kind, leaves)
	}
	list[1].YearlyCost = 20 * float64(leaves) // assumed, as the others
	return list
}
