package detection

import (
	"fmt"

	"halflight/model/failure"
	"halflight/model/operation"
	"halflight/model/traffic"
	"halflight/sim/kernel"
)

// Lookout is an instrument at work; complaints are none. The law of its sightings
// is exact.
type Lookout interface {
	// Sighted returns the instant at which it alarms about a fault on one
	// direction that is there from From on; Never if it does not.
	Sighted(s *Sight) int64
	// FalseRate returns its false alarms a second over the whole fabric.
	FalseRate() float64
}

// Sight is a fault on one direction as an instrument meets it, with the uniform
// draws that its law needs.
type Sight struct {
	Condition *failure.Condition
	Way       Way
	From      int64   // the onset, or when the instrument is switched on
	Phase     float64 // of its clock on this link, as a share of its period
	Blind     float64 // whether it can see this fault at all: one draw a fault
	Flow      float64 // whether a fixed flow is in a hole: one draw a fault and direction
	U         float64 // when: one draw a fault, direction and sighting
}

// Way is what crosses a direction while all tables are at rest.
type Way struct {
	Pairs   int     // ordered pairs of leaves of which some probes or replies do
	Share   float64 // of the ways of such a pair, those that do
	Packets float64 // a second
	Class   int     // of direction, 0 or 1: between leaf and spine, or above
	Number  int     // directions of that class
}

// Site is a fabric and its demand as instruments need it: what crosses the
// directions of its two classes.
type Site struct {
	Leaves int
	Ways   [2]Way
	Demand *traffic.Demand
}

// NewLookout puts an instrument to work; nil for complaints. The error is a
// *BudgetError.
func NewLookout(ins *operation.Instrument, s *Site) (Lookout, error) {
	directions := s.Ways[0].Number + s.Ways[1].Number
	switch ins.Kind {
	case operation.Polling:
		return polling{ins}, nil
	case operation.Optics:
		if ins.Threshold <= healthyRatio {
			return nil, fmt.Errorf("telemetry %q: a sound receiver has an error ratio of %g, so that a threshold of %g would alarm about all of them: ask for more",
				ins.Name, healthyRatio, ins.Threshold)
		}
		return optics{ins}, nil
	case operation.Probes:
		tests := directions
		if ins.Pairs {
			tests = s.Leaves * (s.Leaves - 1)
		}
		p, err := NewProbing(ins, tests)
		if err != nil {
			return nil, err
		}
		return p, nil
	case operation.Hosts, operation.Drops:
		p, err := newPackets(ins, s)
		if err != nil {
			return nil, err
		}
		return p, nil
	}
	return nil, nil
}

// NextFalse returns the time, in ns, to the next false alarm of an instrument
// that makes so many a second, given a uniform draw: its tests are many, and each
// alarms falsely seldom, so that false alarms come as a Poisson process.
func NextFalse(rate, u float64) int64 {
	if rate <= 0 {
		return kernel.Forever
	}
	return kernel.Seconds(kernel.Exponential(u, 1/rate))
}

// polling is counters that are read.
type polling struct{ ins *operation.Instrument }

func (p polling) FalseRate() float64 { return p.ins.FalseAlarms }

func (p polling) Sighted(s *Sight) int64 {
	return Polled(p.ins, s.Condition, kernel.Nanoseconds(float64(s.Phase*float64(p.ins.Every))), s.From)
}

// optics is receivers that tell their error ratio before correction.
type optics struct{ ins *operation.Instrument }

func (o optics) FalseRate() float64 { return o.ins.FalseAlarms }

// Sighted sees what corrupts frames on the way, as long as it corrupts them: an
// alarm is InARow readings at or above the threshold.
func (o optics) Sighted(s *Sight) int64 {
	if !s.Condition.Kind.Counted() || ratio(s.Condition.Loss) < o.ins.Threshold {
		return Never
	}
	return o.reading(s.Phase, s.From)
}

// reading is the InARow-th reading after an instant.
func (o optics) reading(phase float64, from int64) int64 {
	at := kernel.Nanoseconds(float64(phase * float64(o.ins.Every)))
	return at + (floorDiv(from-at, o.ins.Every)+int64(o.ins.InARow))*o.ins.Every
}

// Foreseen returns when an instrument alarms about a receiver whose error ratio
// before correction rises, evenly on a logarithmic scale, from that of a sound
// one to that of a fault which loses so much, within so long before an onset.
// Never if that is not before the onset, or if it does not look at error ratios.
func Foreseen(w Lookout, lost float64, over, onset, from int64, phase float64) int64 {
	o, ok := w.(optics)
	if !ok || over <= 0 {
		return Never
	}
	top := kernel.Log(ratio(lost) / healthyRatio)
	need := kernel.Log(o.ins.Threshold / healthyRatio)
	crossed := onset
	if need < top {
		crossed = onset - kernel.Nanoseconds(float64(float64(over)*(1-need/top)))
	}
	if at := o.reading(phase, max(crossed, from, 0)-1); at < onset {
		return at
	}
	return Never
}

// packets is a rule that counts lost packets of real traffic: as servers notice
// them, or as routers report them.
type packets struct {
	ins    *operation.Instrument
	count  [2]counting // by class of direction
	used   [2]bool
	demand *traffic.Demand
}

// healthyDrops is the share of packets that a sound router reports as dropped
// for no reason that it knows to be harmless: what a bit error ratio of 1e-12
// loses (IEEE 802.3).
const healthyDrops = 1e-8

func newPackets(ins *operation.Instrument, s *Site) (*packets, error) {
	p := &packets{ins: ins, demand: s.Demand}
	all := s.Ways[0].Number + s.Ways[1].Number
	for class, way := range s.Ways {
		rate := way.Packets
		c := &p.count[class]
		*c = counting{healthy: healthyDrops}
		if ins.Kind == operation.Hosts {
			rate = float64(rate * ins.Sample)
			*c = counting{healthy: healthyLoss, atEnd: true}
		}
		trials := float64(rate*float64(ins.Every)) / 1e9
		if way.Number == 0 || trials < 1 {
			continue // nothing to look at
		}
		p.used[class] = true
		c.trials = int(min(trials, 1e12))
		c.gap = float64(ins.Every) / float64(c.trials)
		if share := float64(way.Number) / float64(all); !c.fit(way.Number, float64(ins.FalseAlarms*share)) {
			return nil, c.over(ins)
		}
	}
	return p, nil
}

func (p *packets) FalseRate() float64 {
	sum := 0.0
	for class := range p.count {
		if p.used[class] {
			sum += p.count[class].alarms
		}
	}
	return sum
}

// Sighted sees every kind of loss of real traffic, unless it is blind for this
// fault: servers for a share of all, routers for what they do not know they
// drop. It starts a test at a phase of its own.
func (p *packets) Sighted(s *Sight) int64 {
	c := s.Condition
	seen, lost := 1-p.ins.Missed, c.Loss
	switch c.Kind {
	case failure.Silent:
		if p.ins.Kind == operation.Drops {
			seen = float64(seen * p.ins.Silent)
		}
	case failure.Blackhole:
		lost = c.Share
		if p.ins.Kind == operation.Drops {
			seen = float64(seen * p.ins.Holes)
		}
	case failure.Oversize:
		lost = p.demand.Above(c.Above)
	case failure.Lossy:
	default:
		return Never
	}
	rule := &p.count[s.Way.Class]
	if s.Blind >= seen || lost <= 0 || !p.used[s.Way.Class] {
		return Never
	}
	phase := kernel.Nanoseconds(float64(s.Phase * float64(rule.span())))
	return rule.sighted(s.U, []met{{1, lost}}, 1, phase, s.From)
}
