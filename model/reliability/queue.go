package reliability

import "math"

// RepairQueue is the finite-source queue M/M/c//N: Units with exponential lives, Crew technicians, exponential repair,
// first come first served.
type RepairQueue struct {
	Units  int     // N >= 1
	MTBF   float64 // mean up time of one unit, > 0
	Repair float64 // mean hands-on repair, > 0
	Crew   int     // c >= 1
}

// QueueFigures are the long-run figures of a RepairQueue; times in the unit of its MTBF.
type QueueFigures struct {
	Down            float64 // mean units down, waiting or in repair (L)
	Waiting         float64 // mean units waiting for a technician (Lq)
	Utilisation     float64 // share of a technician's time spent repairing
	Throughput      float64 // failures, and repairs, per unit of time (X)
	Wait            float64 // mean wait for a technician (Wq)
	DownTime        float64 // mean time from failure to repair done (W)
	WaitProbability float64 // probability that a failure finds every technician busy (arrival theorem)
	AllUp           float64 // probability that nothing is down (P0); 0 below the range of float64
	LogAllUp        float64 // its natural logarithm, always finite
}

// queueSums are sums of weights over the number down; the weight of the likeliest number is 1.
type queueSums struct {
	all, down, waiting, busy, arrive, arriveWaiting float64
}

func (s *queueSums) add(q RepairQueue, j int, w float64) {
	f := float64(j)
	s.all += w
	s.down += float64(f * w)
	s.busy += float64(float64(min(j, q.Crew)) * w)
	s.arrive += float64(float64(q.Units-j) * w)
	if j >= q.Crew {
		s.waiting += float64(float64(j-q.Crew) * w)
		s.arriveWaiting += float64(float64(q.Units-j) * w)
	}
}

// ratio is the weight of j+1 down over that of j down. It falls with j, so the weights have one peak.
func (q RepairQueue) ratio(j int) float64 {
	return float64(q.Units-j) * q.Repair / (q.MTBF * float64(min(j+1, q.Crew)))
}

// peak is the likeliest number down.
func (q RepairQueue) peak() int {
	low, high := 0, q.Units
	for low < high {
		if mid := (low + high) / 2; q.ratio(mid) > 1 {
			low = mid + 1
		} else {
			high = mid
		}
	}
	return low
}

// Figures sums outwards from the likeliest number down, so that an overloaded crew with tens of thousands down is as
// exact as an idle one. Relative error about 1e-12, for small Waiting and WaitProbability too.
func (q RepairQueue) Figures() QueueFigures {
	require(q.Units >= 1 && q.Crew >= 1 && q.MTBF > 0 && q.Repair > 0,
		"a repair queue needs units and crew of at least 1 and an MTBF and a repair above 0")
	s := q.sums()
	f := QueueFigures{
		Down:            s.down / s.all,
		Waiting:         s.waiting / s.all,
		Utilisation:     s.busy / s.all / float64(q.Crew),
		Throughput:      s.busy / s.all / q.Repair,
		WaitProbability: s.arriveWaiting / s.arrive,
		LogAllUp:        q.logWeightOfZero() - math.Log(s.all),
	}
	f.AllUp = math.Exp(f.LogAllUp)
	f.Wait = f.Waiting / f.Throughput
	f.DownTime = f.Down / f.Throughput
	return f
}

func (q RepairQueue) sums() queueSums {
	var s queueSums
	top := q.peak()
	s.add(q, top, 1)
	w := 1.0
	for j := top; j > 0 && w > smallTerm*s.all/float64(q.Units); j-- {
		w /= q.ratio(j - 1)
		s.add(q, j-1, w)
	}
	w = 1.0
	for j := top; j < q.Units && w > 0; j++ {
		w *= q.ratio(j)
		s.add(q, j+1, w)
		// The states past the crew are the whole of Waiting: go on until they no longer move even that.
		if j > q.Crew && w*float64(q.Units) < smallTerm*s.waiting {
			break
		}
	}
	return s
}

func (q RepairQueue) logWeightOfZero() float64 {
	sum := 0.0
	for j := q.peak(); j > 0; j-- {
		sum -= math.Log(q.ratio(j - 1))
	}
	return sum
}
