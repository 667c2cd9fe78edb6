package reliability

import "math"

// PeriodicLoad is what a Backoff does in the long run under one event every fixed gap.
type PeriodicLoad struct {
	Stuck     bool    // QUIET is never regained: the gap is below the hold-down
	RunPeriod float64 // from one SPF run to the next
	WaitMean  float64 // wait that a fresh event at a uniformly random moment would meet
	WaitMax   float64 // the longest such wait
	Quiet     float64 // shares of time; they add to 1
	ShortWait float64
	LongWait  float64
}

// UnderPeriodic solves a Backoff under one event every gap, > 0, in its unit of time. At equal instants timers go before
// events, so a gap equal to the hold-down is not stuck. The fresh event asks only: it changes nothing.
//
// An SPF timer of D armed by an event is met half spent; after it the wait is the delay of the state. Fast noise keeps
// the timer armed, so the worst noise is a little slower than the hold-down, not the fastest.
func (b Backoff) UnderPeriodic(gap float64) (PeriodicLoad, error) {
	require(gap > 0, "the gap between events must be above 0")
	if err := b.check(); err != nil {
		return PeriodicLoad{}, err
	}
	if gap < b.Holddown {
		l := PeriodicLoad{Stuck: true, LongWait: 1, WaitMax: b.Long}
		l.RunPeriod = wholeGaps(b.Long, gap)
		l.WaitMean = (float64(b.Long*b.Long/2) + float64((l.RunPeriod-b.Long)*b.Long)) / l.RunPeriod
		return l, nil
	}
	l := PeriodicLoad{ShortWait: b.Learn / gap, LongWait: (b.Holddown - b.Learn) / gap, Quiet: (gap - b.Holddown) / gap}
	l.RunPeriod = wholeGaps(b.Initial, gap)
	// After the timer ends, at this time since the last event, states follow from the last event on.
	from := b.Initial - (l.RunPeriod - gap)
	sum := float64(b.Initial * b.Initial / 2)
	l.WaitMax = b.Initial
	for _, s := range [...]struct{ begin, end, wait float64 }{
		{0, b.Learn, b.Short}, {b.Learn, b.Holddown, b.Long}, {b.Holddown, gap, b.Initial},
	} {
		if span := s.end - max(s.begin, from); span > 0 {
			sum += float64(span * s.wait)
			l.WaitMax = max(l.WaitMax, s.wait)
		}
	}
	l.WaitMean = sum / l.RunPeriod
	return l, nil
}

// wholeGaps is the time from an event to the first event at which a timer of delay armed by it has ended, at least one
// gap.
func wholeGaps(delay, gap float64) float64 {
	return gap * max(1, math.Ceil(delay/gap))
}
