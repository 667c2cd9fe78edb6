package sim

import "halflight/model/failure"

// passes is the share of plane 0's packets, or of a class's units, that get
// past a gray fault: a unit of n packets on one flow gets past independent
// losses with probability (1-p)^n, past a hole unless its flow is held.
func (e *engine) passes(f *fault, plane int) float64 {
	if plane == 0 {
		return float64(float64((1-f.Loss)*(1-f.Share)) * (1 - e.sizeLoss(f, plane)))
	}
	n := e.w.Classes[plane-1].Packets
	good, first := 1-f.Loss, 1-f.Loss
	if f.BurstMean > 0 && f.Loss < f.BurstLoss {
		// Two states: the share of time in the bad one, and the chance of
		// entering it before the next packet.
		bad := f.Loss / f.BurstLoss
		enter := bad / (1 - bad) / f.BurstMean
		good = 1 - float64(enter*f.BurstLoss)
	}
	small := 1 - e.sizeLoss(f, plane)
	all := float64((1 - f.Share) * first * small)
	for range n - 1 {
		all = float64(float64(all*good) * small)
	}
	return all
}

// sizeLoss is the share of packets that are too large for an oversize fault.
func (e *engine) sizeLoss(f *fault, plane int) float64 {
	switch {
	case f.Kind != failure.Oversize:
		return 0
	case plane == 0:
		return e.w.Traffic.Above(f.Above)
	}
	return e.w.Classes[plane-1].Above(f.Above)
}
