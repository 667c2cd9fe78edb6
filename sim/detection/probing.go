package detection

import (
	"fmt"

	"halflight/model/failure"
	"halflight/model/operation"
	"halflight/sim/kernel"
)

// healthyLoss is the share of probes, and of packets as servers see them, lost
// where nothing is wrong: the low end of 1e-5 to 1e-4 (Guo et al., SIGCOMM 2015,
// from memory).
const healthyLoss = 1e-5

// BudgetError says that a rule cannot keep the false alarms of all its tests
// within the instrument's budget.
type BudgetError struct {
	Instrument     string
	Budget, Expect float64 // false alarms a second
	InARow         int     // losses in a row that are an alarm; 0: so many of a window
	Least, Window  int     // the most losses that were tried, of so many
}

// Error says what is wrong and what would help.
func (e *BudgetError) Error() string {
	if e.InARow > 0 {
		return fmt.Sprintf("telemetry %q: %d losses in a row alarm falsely %.3g times a second, above the %.3g allowed: ask for more in a row, or for fewer probes",
			e.Instrument, e.InARow, e.Expect, e.Budget)
	}
	return fmt.Sprintf("telemetry %q: even %d losses of %d alarm falsely %.3g times a second, above the %.3g allowed: allow more false alarms, or look at fewer packets",
		e.Instrument, e.Least, e.Window, e.Expect, e.Budget)
}

// Probing is active probes with their decision rule: over every direction of
// every link, or between leaves.
type Probing struct {
	ins   *operation.Instrument
	gap   int64 // between the probes of a test
	count counting
	rows  float64 // false alarms a second of losses in a row
}

// NewProbing returns the rule of an instrument with so many tests: directions,
// or ordered pairs of leaves. With InARow above 0 it is that many losses in a
// row, held to the budget only if there is one. Otherwise it is a number of
// losses in windows that do not overlap: the least that keeps the false alarms a
// second over all tests within FalseAlarms. The error is a *BudgetError.
func NewProbing(ins *operation.Instrument, tests int) (*Probing, error) {
	p := &Probing{ins: ins, gap: max(kernel.Seconds(1/ins.Rate), 1)}
	if ins.InARow > 0 {
		p.rows = float64(newRunLaw(Loss{Share: healthyLoss}, ins.InARow, runs).hazard * float64(float64(tests)*ins.Rate))
		if ins.FalseAlarms > 0 && p.rows > ins.FalseAlarms {
			return nil, &BudgetError{Instrument: ins.Name, Budget: ins.FalseAlarms, Expect: p.rows, InARow: ins.InARow}
		}
		return p, nil
	}
	p.count = counting{trials: ins.Window, gap: float64(p.gap), healthy: healthyLoss, late: ins.TimeOut}
	if !p.count.fit(tests, ins.FalseAlarms) {
		return nil, p.count.over(ins)
	}
	return p, nil
}

// over is the error of a rule that cannot keep its budget.
func (c *counting) over(ins *operation.Instrument) error {
	return &BudgetError{Instrument: ins.Name, Budget: ins.FalseAlarms, Expect: c.alarms, Least: c.least, Window: c.trials}
}

// FalseRate returns the false alarms a second over the whole fabric.
func (p *Probing) FalseRate() float64 {
	if p.ins.InARow > 0 {
		return p.rows
	}
	return p.count.alarms
}

// Loss returns how a condition of a direction loses probes that cross it. Sizes
// are drawn at random for each probe, and sizes above that of an oversize fault
// are lost. A hole holds its share of the probes if their ports are varied; if
// not, all of them or none, by the uniform draw u of that direction and fault.
func (p *Probing) Loss(c *failure.Condition, u float64) Loss {
	switch c.Kind {
	case failure.Hard:
		return Loss{Share: 1}
	case failure.Blackhole:
		if p.ins.PortsVaried {
			return Loss{Share: c.Share}
		}
		if u < c.Share {
			return Loss{Share: 1}
		}
		return Loss{}
	case failure.Oversize:
		above := 0
		for _, size := range p.ins.Sizes {
			if size > c.Above {
				above++
			}
		}
		return Loss{Share: float64(above) / float64(max(len(p.ins.Sizes), 1))}
	}
	return LossOf(c)
}

// Sighted returns the instant at which the rule alarms about a direction, by the
// draw U: a probe is known to be lost TimeOut after it was sent, and one sent at
// the instant of onset passes. Probes of a direction are at phase + n / Rate for
// whole n; losses in a window are counted as independent.
func (p *Probing) Sighted(s *Sight) int64 {
	if p.ins.Pairs {
		return p.acrossPairs(s)
	}
	loss := p.Loss(s.Condition, s.Flow)
	phase := kernel.Nanoseconds(float64(s.Phase * float64(p.gap)))
	switch {
	case loss.Share <= 0:
		return Never
	case p.ins.InARow > 0:
		first := floorDiv(s.From-phase, p.gap) + 1
		last := newRunLaw(loss, p.ins.InARow, runs).draw(s.U) + float64(p.ins.InARow-1)
		return after(phase+first*p.gap+p.ins.TimeOut, kernel.Nanoseconds(float64(last*float64(p.gap))))
	}
	return p.count.sighted(s.U, []met{{1, loss.Share}}, 1, phase, s.From)
}

// acrossPairs is when the first of the pairs of leaves alarms that have ways over
// the direction. Varied ports spread the probes of a pair over all its ways;
// fixed ones put each of its flows on one of them for good, so that a pair with m
// flows of which each is on the direction with probability s covers it with
// probability 1-(1-s)^m.
func (p *Probing) acrossPairs(s *Sight) int64 {
	phase := kernel.Nanoseconds(float64(s.Phase * float64(p.count.span())))
	share, hit := s.Way.Share, 0.0
	if s.Condition.Kind == failure.Blackhole {
		hit, share = 1, float64(share*s.Condition.Share) // flows in the hole lose all
	} else {
		hit = p.Loss(s.Condition, 0).Share
	}
	if hit <= 0 || s.Way.Pairs == 0 {
		return Never
	}
	if p.ins.PortsVaried {
		return p.count.sighted(s.U, []met{{1, float64(share * hit)}}, s.Way.Pairs, phase, s.From)
	}
	var what []met
	for k := 1; k <= p.ins.Flows; k++ {
		weight := binomialMass(k, p.ins.Flows, share)
		if weight < 1e-12 && float64(k) > float64(float64(p.ins.Flows)*share) {
			break
		}
		what = append(what, met{weight, float64(float64(k)*hit) / float64(p.ins.Flows)})
	}
	return p.count.sighted(s.U, what, s.Way.Pairs, phase, s.From)
}
