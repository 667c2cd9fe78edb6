package sim

import (
	"slices"

	"halflight/model/failure"
	"halflight/model/traffic"
	"halflight/sim/forwarding"
)

// passes is the share of plane 0's packets, or of a class's units, that get
// past a gray fault: a unit of n packets on one flow gets past independent
// losses with probability (1-p)^n, past a hole unless its flow is held.
func (e *engine) passes(f *fault, plane int, dir int32) float64 {
	if plane == 0 {
		return float64(float64((1-f.Loss)*(1-f.Share)) * (1 - e.sizeLoss(f, plane)))
	}
	class := &e.planes[plane-1]
	if class.Flow != nil {
		if f.Loss > class.Bears || e.sizeLoss(f, plane) > 0 {
			return 0
		}
		return 1 - f.Share
	}
	way := e.wayShare(dir)
	small := 1 - class.Lost(e.sizeLoss(f, plane), way, traffic.GripSize)
	lost := class.Lost(f.Loss, way, traffic.GripNone)
	share, enter, leave := f.Stretches() // what is sent again comes long after and meets the mean loss
	held := class.Lost(f.Share, way, traffic.GripFlow)
	good, bad := float64((1-held)*(1-share)), float64((1-held)*share)
	for i := range class.Packets {
		if i > 0 {
			in, out := float64(good*enter), float64(bad*leave)
			good, bad = good+out-in, bad+in-out
		}
		good, bad = float64(good*small), float64(float64(bad*(1-lost/share))*small)
	}
	return good + bad
}

// dropped adds to a direction what the gray faults on it do.
func (e *engine) dropped(dir int32, list []int32, way *forwarding.Direction) {
	way.Cause, way.Pass = e.oldest(list), slices.Clone(e.clear)
	narrow := e.narrowest(list)
	way.Fit = e.fits(narrow, dir)
	for _, id := range list {
		f := &e.faults[id]
		if narrow >= 0 && f.Kind == failure.Oversize && id != narrow {
			continue // what it would stop is stopped anyway
		}
		way.Whole = way.Whole || f.Loss >= 1 || f.Share > 0 || e.sizeLoss(f, 0) >= 1
		for plane := range way.Pass {
			way.Pass[plane] *= e.passes(f, plane, dir)
		}
	}
}

// narrowest is the first of those faults of a list that stop large packets which
// stops the most of them; -1 if none does, or where sizes are taken as independent.
func (e *engine) narrowest(list []int32) int32 {
	best := int32(-1)
	if !e.bySize {
		return best
	}
	for _, id := range list {
		if f := &e.faults[id]; f.Kind == failure.Oversize && (best < 0 || f.Above < e.faults[best].Above) {
			best = id
		}
	}
	return best
}

// fits is how much of the traffic is not too large for a fault on a direction, by
// plane; nil if there is none.
func (e *engine) fits(id, dir int32) []float64 {
	if id < 0 {
		return nil
	}
	fit := slices.Clone(e.clear)
	for plane := range fit {
		fit[plane] = e.passes(&e.faults[id], plane, dir)
	}
	return fit
}

// tooFull adds to what a direction does what it loses for want of room: a share of
// all packets alike. All that it drops is charged to whichever drops more.
func (e *engine) tooFull(dir int32, way *forwarding.Direction) {
	if way.Dead || e.crowd == nil || e.crowd.full[dir] == 0 {
		return
	}
	lost := &fault{Condition: failure.Condition{Kind: failure.Lossy, Loss: e.crowd.full[dir]}}
	if lost.Loss > 1-way.Pass[0] {
		way.Full, way.Cause = true, e.crowd.cause[dir]
	}
	way.Pass = slices.Clone(way.Pass)
	for plane := range way.Pass {
		way.Pass[plane] = float64(way.Pass[plane] * e.passes(lost, plane, dir))
	}
}

// changesWay says whether a direction does something else than it did.
func (e *engine) changesWay(was, is *forwarding.Direction) bool {
	if e.crowd != nil && was.Dead != is.Dead {
		e.crowd.dirty = true
	}
	return was.Dead != is.Dead || was.Cause != is.Cause || was.Whole != is.Whole || was.Full != is.Full || !slices.Equal(was.Pass, is.Pass) || !slices.Equal(was.Fit, is.Fit)
}

// wayShare is the share of the equal ways between two leaves that use a direction
// which some of them do.
func (e *engine) wayShare(dir int32) float64 {
	if leaf := e.f.Links[dir>>1].Lower; int(leaf) < e.f.Leaves {
		return 1 / float64(len(e.f.Ports[leaf]))
	}
	return 1 / float64(max(e.f.Ways(), 1))
}

// sizeLoss is the share of packets that are too large for an oversize fault.
func (e *engine) sizeLoss(f *fault, plane int) float64 {
	switch {
	case f.Kind != failure.Oversize:
		return 0
	case plane == 0:
		return e.w.Traffic.Above(f.Above)
	}
	return e.planes[plane-1].Above(f.Above)
}
