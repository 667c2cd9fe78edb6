package detection

import (
	"math"

	"halflight/model/timer"
	"halflight/sim/kernel"
)

// damper is the penalty of one end of a link (RFC 2439): it grows each time the
// end goes down, halves in the half-life, and never passes its ceiling.
type damper struct {
	penalty    float64
	at         int64 // the penalty is as of then
	suppressed bool
	gen        uint32
}

// decayed returns the penalty at an instant.
func (d *damper) decayed(p *timer.Damping, now int64) float64 {
	if d.penalty == 0 {
		return 0
	}
	return float64(d.penalty * kernel.Exp(float64(-math.Ln2*float64(float64(now-d.at)/float64(p.HalfLife)))))
}

// down is the end going down. It returns whether that keeps it out of use.
func (d *damper) down(p *timer.Damping, now int64) bool {
	d.penalty = min(d.decayed(p, now)+p.Increment, p.Ceiling())
	d.at = now
	d.suppressed = d.suppressed || d.penalty > p.CutOff
	return d.suppressed
}

// grain is what the end of a suppression is rounded up to, as reuse lists do
// (RFC 2439, section 4.8.7): 1 ms.
const grain = 1_000_000

// reuse returns when an end that is suppressed may be used again if it does not
// go down until then.
func (d *damper) reuse(p *timer.Damping) int64 {
	if d.penalty <= p.Reuse {
		return d.at
	}
	after := float64(float64(p.HalfLife) * float64(kernel.Log(d.penalty/p.Reuse)/math.Ln2))
	return d.at + int64(math.Ceil(after/grain))*grain
}
