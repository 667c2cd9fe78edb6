package twin

import "math"

// carries: LSPs cross direction d as far as gray faults let them.
func (s *sim) carries(d int) bool {
	return !s.scn.Flooding.Lossy || !s.any(-1, func(x *fault) bool { return x.blocks(d) })
}

// lastLeaves is when the last of n LSPs of an exchange leaves after its begin, by
// the window played step by step: the earliest of what can happen next, arrivals
// before acknowledgements before sending.
func (s *sim) lastLeaves(n int, delay int64) int64 {
	w := s.scn.Flooding.Window
	if !w.On {
		return int64(n) * int64(s.scn.Flooding.Exchange)
	}
	const never = int64(math.MaxInt64)
	type ack struct {
		at   int64
		upTo int
	}
	var onTheWay []int64 // arrivals
	var acks []ack
	sent, acked, here, last := 0, 0, 0, int64(0)
	patience := never // the receiver acknowledges then
	now := int64(0)
	for sent < n {
		next, what := never, ""
		consider := func(t int64, kind string) {
			if t < next {
				next, what = t, kind
			}
		}
		if len(onTheWay) > 0 {
			consider(onTheWay[0], "arrival")
		}
		consider(patience, "patience")
		if len(acks) > 0 {
			consider(acks[0].at, "acknowledged")
		}
		if sent-acked < w.Receive {
			consider(max(now, int64(max(0, sent+1-w.Burst))*int64(w.Interval)), "send")
		}
		now = next
		switch what {
		case "arrival":
			onTheWay = onTheWay[1:]
			here++
			waiting := here
			for _, a := range acks {
				waiting = here - a.upTo
			}
			if len(acks) == 0 {
				waiting = here - acked
			}
			if waiting == 1 {
				patience = now + int64(w.AckDelay)
			}
			if waiting >= w.PerAck {
				acks, patience = append(acks, ack{now + delay, here}), never
			}
		case "patience":
			acks, patience = append(acks, ack{now + delay, here}), never
		case "acknowledged":
			acked, acks = acks[0].upTo, acks[1:]
		case "send":
			onTheWay = append(onTheWay, now+delay)
			sent++
			last = now
		}
	}
	return last
}
