package detection

import (
	"fmt"
	"math"

	"halflight/model/failure"
	"halflight/model/operation"
	"halflight/sim/kernel"
)

const (
	// healthyLoss is the share of probes lost where nothing is wrong: the low end
	// of 1e-5 to 1e-4 (Guo et al., SIGCOMM 2015, from memory).
	healthyLoss = 1e-5
	// windowProbes is the number of probes that one test looks at, when the rule
	// is a number of losses among them: at 10 a second a test every 100 s, which
	// finds 1 % loss nearly always and 0.1 % within some 20 min. Our choice.
	windowProbes = 1000
)

// Probing is the decision rule of an instrument of active probes, the same on
// every direction of every link.
type Probing struct {
	ins        *operation.Instrument
	directions int
	gap        int64 // between the probes of a direction
	least      int   // losses among windowProbes that are an alarm; 0: InARow losses in a row
	falseTest  float64
	falseTests float64 // tests a second over all directions, each falsely alarming with probability falseTest
}

// BudgetError says that a rule cannot keep the false alarms of all directions
// within the instrument's budget.
type BudgetError struct {
	Instrument     string
	Budget, Expect float64 // false alarms a second
	InARow         int     // losses in a row that are an alarm; 0: so many among windowProbes
}

// Error says what is wrong and what would help.
func (e *BudgetError) Error() string {
	if e.InARow > 0 {
		return fmt.Sprintf("telemetry %q: %d losses in a row alarm falsely %.3g times a second, above the %.3g allowed: ask for more in a row, or for fewer probes",
			e.Instrument, e.InARow, e.Expect, e.Budget)
	}
	return fmt.Sprintf("telemetry %q: even %d losses of %d alarm falsely %.3g times a second, above the %.3g allowed: allow more false alarms, or ask for fewer probes",
		e.Instrument, windowProbes, windowProbes, e.Expect, e.Budget)
}

// NewProbing returns the rule of an instrument with so many directions to test.
// With InARow above 0 it is that many losses in a row, held to the budget only
// if there is one. Otherwise it is a number of losses in windows of
// windowProbes that do not overlap: the least that keeps the false alarms a
// second over all directions within FalseAlarms. The error is a *BudgetError.
func NewProbing(ins *operation.Instrument, directions int) (*Probing, error) {
	p := &Probing{ins: ins, directions: directions, gap: max(kernel.Seconds(1/ins.Rate), 1)}
	probes := float64(directions) * ins.Rate
	if ins.InARow > 0 {
		p.falseTest, p.falseTests = newRunLaw(Loss{Share: healthyLoss}, ins.InARow, runs).hazard, probes
		if ins.FalseAlarms > 0 && p.FalseRate() > ins.FalseAlarms {
			return nil, &BudgetError{ins.Name, ins.FalseAlarms, p.FalseRate(), ins.InARow}
		}
		return p, nil
	}
	p.falseTests = probes / windowProbes
	for p.least = 1; ; p.least++ {
		p.falseTest = binomialTail(p.least, windowProbes, healthyLoss)
		if p.FalseRate() <= ins.FalseAlarms && ins.FalseAlarms > 0 {
			return p, nil
		}
		if p.least == windowProbes {
			return nil, &BudgetError{ins.Name, ins.FalseAlarms, p.FalseRate(), 0}
		}
	}
}

// FalseRate returns the false alarms a second over all directions.
func (p *Probing) FalseRate() float64 { return float64(p.falseTest * p.falseTests) }

// NextFalse returns the time, in ns, to the next false alarm on any direction,
// given a uniform draw; each direction is as likely. Tests of the directions are
// spread evenly over time.
func (p *Probing) NextFalse(u float64) int64 {
	if p.falseTest <= 0 {
		return kernel.Forever
	}
	return kernel.Seconds(kernel.Geometric(u, 1/p.falseTest) / p.falseTests)
}

// Loss returns how a condition of a direction loses probes. Sizes are drawn at
// random for each probe, and sizes above that of an oversize fault are lost. A
// hole holds its share of the probes if their ports are varied; if not, all of
// them or none, by the uniform draw u of that direction and fault.
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

// Sighted returns the instant at which the rule alarms about a direction that
// loses probes from onset on, given a uniform draw. Probes of the direction are
// at phase + n / Rate for whole n, and windows of windowProbes begin with n = 0;
// one sent at the instant of onset passes. A probe is known to be lost TimeOut
// after it was sent. Losses in a window are counted as independent.
func (p *Probing) Sighted(u float64, loss Loss, phase, onset int64) int64 {
	if loss.Share <= 0 {
		return Never
	}
	first := floorDiv(onset-phase, p.gap) + 1
	if p.least == 0 {
		last := newRunLaw(loss, p.ins.InARow, runs).draw(u) + float64(p.ins.InARow-1)
		return after(phase+first*p.gap+p.ins.TimeOut, kernel.Nanoseconds(float64(last*float64(p.gap))))
	}
	window := floorDiv(first, windowProbes)
	end := phase + ((window+1)*windowProbes-1)*p.gap + p.ins.TimeOut
	more := p.windows(u, loss.Share, int((window+1)*windowProbes-first))
	return after(end, kernel.Nanoseconds(float64(more*windowProbes*float64(p.gap))))
}

// windows draws how many windows after the one at onset the alarm comes, when
// that has so many probes left: exact, since windows are independent.
func (p *Probing) windows(u, share float64, left int) float64 {
	at := 0.0
	for j := 0; j < p.least; j++ {
		at += float64(binomialMass(j, left, share) * binomialTail(p.least-j, windowProbes-left, healthyLoss))
	}
	at = min(at+binomialTail(p.least, left, share), 1)
	if u < at {
		return 0
	}
	power := binomialTail(p.least, windowProbes, share)
	if power <= 0 {
		return math.Inf(1)
	}
	return kernel.Geometric(max((u-at)/(1-at), 0x1p-53), 1/power)
}

// binomialTail is P(X >= c) of X ~ Binomial(n, p), from its own side. The
// smaller of c and n must be below some thousand.
func binomialTail(c, n int, p float64) float64 {
	switch {
	case c <= 0:
		return 1
	case c > n || p <= 0:
		return 0
	case p >= 1:
		return 1
	}
	sum := 0.0
	if float64(c) <= float64(float64(n)*p) {
		for j := 0; j < c; j++ {
			sum += binomialMass(j, n, p)
		}
		return max(1-sum, 0)
	}
	term := binomialMass(c, n, p)
	for j := c; j <= n && term > 1e-18*sum; j++ {
		sum += term
		term = float64(term*float64(n-j)) / float64(j+1) * (p / (1 - p))
	}
	return sum
}

// binomialMass is P(X = j).
func binomialMass(j, n int, p float64) float64 {
	switch {
	case j > n:
		return 0
	case p <= 0:
		return step(j == 0)
	case p >= 1:
		return step(j == n)
	}
	q := 1 - p
	log := kernel.Log(q)
	if q != 1 {
		log = float64(log*p) / (1 - q) // undoes the rounding of 1-p
	} else {
		log = -p
	}
	mass := kernel.Exp(float64(float64(n-j) * log))
	for i := range j {
		mass = float64(float64(mass*float64(n-i))/float64(i+1)) * p
	}
	return mass
}

func step(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
