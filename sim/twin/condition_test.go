package twin

import (
	"math/big"
	"slices"
)

// The conditions below are read off the faults in force. without is a fault left
// out of account (S23: "without which a route would exist"), or -1.

func (s *sim) inForce(x *fault, without int) bool { return x.active && x.index != without }

// cuts: fault x cuts link l.
func (x *fault) cuts(l int) bool {
	return slices.Contains(x.links, l) && (x.kind == "hard" || x.kind == "flapping" && x.off)
}

// stops: fault x makes router r dead. A router hung in its data plane sends and
// forwards nothing: dead, with its light on.
func (x *fault) stops(r int) bool {
	return slices.Contains(x.routers, r) && (x.kind == "hard" && !x.controlOnly() || x.kind == "restart" && !x.kept)
}

func (x *fault) controlOnly() bool { return x.light && x.plane == "control" }

// silences: fault x leaves router r without a control plane, forwarding on.
func (x *fault) silences(r int) bool {
	return slices.Contains(x.routers, r) && (x.kind == "hard" && x.controlOnly() || x.kind == "restart" && x.kept)
}

func (s *sim) any(without int, holds func(*fault) bool) bool {
	return s.oldest(without, holds) >= 0
}

// oldest is the oldest fault in force of which something holds, or -1.
func (s *sim) oldest(without int, holds func(*fault) bool) int {
	best := -1
	for _, x := range s.faults {
		if s.inForce(x, without) && holds(x) && (best < 0 || x.older(s.faults[best])) {
			best = x.index
		}
	}
	return best
}

func (s *sim) isFwd(r, without int) bool {
	return !s.any(without, func(x *fault) bool { return x.stops(r) })
}

func (s *sim) isCtl(r, without int) bool {
	return s.isFwd(r, without) && !s.any(without, func(x *fault) bool { return x.silences(r) })
}

func (s *sim) isAlive(l, without int) bool {
	e := s.links[l].ends
	return s.isFwd(e[0], without) && s.isFwd(e[1], without) && !s.any(without, func(x *fault) bool { return x.cuts(l) })
}

func (s *sim) isLit(l, without int) bool {
	e := s.links[l].ends
	return !s.any(without, func(x *fault) bool {
		return !x.light && (x.cuts(l) || x.stops(e[0]) || x.stops(e[1]))
	})
}

// blocks: fault x lets nothing through direction d.
func (x *fault) blocks(d int) bool {
	one := big.NewRat(1, 1)
	switch x.kind {
	case "lossy", "silent":
		return slices.Contains(x.dirs, d) && x.loss.Cmp(one) >= 0
	case "blackhole":
		return slices.Contains(x.dirs, d) && x.share.Cmp(one) >= 0
	}
	return false
}

// passes: a BFD packet crosses direction d.
func (s *sim) passes(d, without int) bool {
	return s.isAlive(d/2, without) && !s.any(without, func(x *fault) bool { return x.blocks(d) })
}

// passesHello: as passes; a router hung in its control plane sends no hellos
// (S28), one that restarts with its tables is not missed (S29).
func (s *sim) passesHello(d, without int) bool {
	r := s.links[d/2].ends[d%2]
	hung := s.any(without, func(x *fault) bool { return x.kind == "hard" && x.silences(r) })
	return s.passes(d, without) && !hung
}

// heldMetric is the metric router r holds for link l: configured or drained (S26).
func (s *sim) heldMetric(r, l, without int) int64 {
	const drained = 1<<24 - 2 // S26
	d := 2*l + s.end(l, r)
	if s.any(without, func(x *fault) bool { return x.kind == "drain" && slices.Contains(x.dirs, d) }) {
		return drained
	}
	return s.metric[l]
}

// settledBit is the overload bit of r as configured or drained.
func (s *sim) settledBit(r, without int) bool {
	return s.scn.Overload.Leaves && r < s.leaves ||
		s.any(without, func(x *fault) bool { return x.kind == "drain" && slices.Contains(x.routers, r) })
}

func (s *sim) heldBit(r int) bool { return s.settledBit(r, -1) || s.routers[r].bit }

// unwritten is the oldest fault that keeps the entry of r for leaf d from being
// written, or -1. A share of all leaves is spread evenly over their numbers.
func (s *sim) unwritten(r, d int) int {
	return s.oldest(-1, func(x *fault) bool {
		upTo := func(n int) int64 {
			v := new(big.Rat).Mul(x.share, new(big.Rat).SetInt64(int64(n)))
			return new(big.Int).Div(v.Num(), v.Denom()).Int64()
		}
		return x.kind == "unwritten" && slices.Contains(x.routers, r) && upTo(d+1) > upTo(d)
	})
}

// slowed multiplies a time by the factor of a slow router.
func (s *sim) slowed(r int, d int64) int64 {
	x := new(big.Rat).SetInt64(d)
	for _, f := range s.faults {
		if f.active && f.kind == "slow" && slices.Contains(f.routers, r) {
			x.Mul(x, f.factor)
		}
	}
	half := new(big.Rat).Add(x, big.NewRat(1, 2)) // to the nearest nanosecond
	return new(big.Int).Div(half.Num(), half.Denom()).Int64()
}

func (s *sim) perHop(sender int) int64 { return s.slowed(sender, int64(s.scn.Flooding.PerHop)) }
