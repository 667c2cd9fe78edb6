package detection

import (
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/operation"
	"halflight/sim/kernel"
)

// Nothing is polled while the simulation runs: the functions of this file and
// of probing.go say at onset when an instrument will notice a fault, from
// uniform draws of the open interval (0, 1). Instants that do not come are
// Never.

// Polled returns the instant at which counter polling notices a condition that
// begins at onset. Polls of a link are at phase + n x Every for whole n. A poll
// is bad when the share lost since the one before is at least the threshold;
// the first poll after onset counts only what was lost since then, and a poll at
// the very instant of onset nothing. Loss that is not counted is never noticed.
func Polled(ins *operation.Instrument, c *failure.Condition, phase, onset int64) int64 {
	if !c.Kind.Counted() || c.Loss <= 0 || c.Loss < ins.Threshold {
		return Never
	}
	first := phase + (floorDiv(onset-phase, ins.Every)+1)*ins.Every
	if share := float64(first-onset) / float64(ins.Every); float64(c.Loss*share) < ins.Threshold {
		first += ins.Every
	}
	return first + int64(max(ins.InARow, 1)-1)*ins.Every
}

// Hazard returns the hazard of complaints, a second, about a fault that makes
// this share of units of work slow at the leaf it hits worst.
func Hazard(ins *operation.Instrument, slow float64) float64 {
	if slow <= 0 || slow < ins.Threshold {
		return 0
	}
	return min(float64(ins.Rate*slow)/ins.Threshold, ins.RateMax)
}

// Complaint is the complaint about one fault: it comes when the hazard since
// onset has added up to a unit exponential draw.
type Complaint struct {
	Need   float64 // of hazard, still
	hazard float64 // a second, since the last change
	since  int64
}

// NewComplaint returns the complaint about a fault that begins now, of hazard 0
// until it is told.
func NewComplaint(u float64, now int64) Complaint {
	return Complaint{Need: kernel.Exponential(u, 1), since: now}
}

// Advance sets another hazard, a second, from now on, and returns the instant
// at which the complaint comes if that stays. An instant returned before no
// longer holds.
func (c *Complaint) Advance(now int64, hazard float64) int64 {
	c.Need = max(c.Need-float64(c.hazard*(float64(now-c.since)/1e9)), 0)
	c.hazard, c.since = hazard, now
	if hazard <= 0 {
		return Never
	}
	return after(now, kernel.Seconds(c.Need/hazard))
}

// after adds a time to an instant; Never if it is longer than any simulation.
func after(instant, time int64) int64 {
	if time >= kernel.Forever || instant > Never-time {
		return Never
	}
	return instant + time
}

// WrongLink returns another link of a router than the one given, each as
// likely, -1 if it has no other.
func WrongLink(f *fabric.Fabric, router, link int32, u float64) int32 {
	ports := f.Ports[router]
	if len(ports) < 2 {
		return -1
	}
	n := min(int(float64(u*float64(len(ports)-1))), len(ports)-2)
	for _, p := range ports {
		if p.Link == link {
			continue
		}
		if n == 0 {
			return p.Link
		}
		n--
	}
	return ports[len(ports)-1].Link // link is not one of the router's
}
