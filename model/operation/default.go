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
	return Instrument{Name: "counters", Kind: Polling, Every: 300 * second, Threshold: 1e-8, InARow: 2}
}

// DefaultProbes returns 10 probes a second over each direction, located within
// 20 s, 85 % of them right (a probing system in a paper of SIGCOMM 2024); sizes
// so that faults of large packets are seen (Dong et al., NSDI 2025).
func DefaultProbes() Instrument {
	return Instrument{Kind: Probes, Rate: 10, Sizes: []float64{64, 512, 1400}, PortsVaried: true,
		TimeOut: 500 * ms, InARow: 3, WrongLink: 0.15}
}

// DefaultComplaints returns the hazard of complaints; no law of it is
// published.
func DefaultComplaints() Instrument {
	return Instrument{Name: "complaints", Kind: Complaints, Rate: 1.0 / 86400, Threshold: 0.001, RateMax: 1.0 / 1800}
}
