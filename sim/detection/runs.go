package detection

import (
	"math"
	"sort"

	"halflight/model/failure"
	"halflight/sim/kernel"
)

// Loss is how the packets of one stream, such as a session's or a probe's, are
// lost on a direction. A bad stretch is counted in packets of that stream.
type Loss struct {
	Share float64 // mean share of packets lost, 0 to 1
	// Two-state loss: BurstMean is the mean number of packets that a bad stretch
	// lasts, 0 for independent losses; within it a share of BurstLoss, at least
	// Share, is lost, outside it nothing.
	BurstMean, BurstLoss float64
}

// LossOf returns the loss of a lossy or silent condition; none for other kinds.
func LossOf(c *failure.Condition) Loss {
	if c.Kind != failure.Lossy && c.Kind != failure.Silent {
		return Loss{}
	}
	return Loss{c.Loss, c.BurstMean, c.BurstLoss}
}

// chain is two-state loss that steps once per packet (Gilbert 1960, from
// memory); state 0 is good. Independent loss never leaves state 0.
type chain struct {
	to   [2][2]float64 // by state, of a step
	lost [2]float64    // by state
}

func (l Loss) chain() chain {
	if l.BurstMean <= 0 || l.BurstLoss <= l.Share {
		return chain{to: [2][2]float64{{1, 0}, {1, 0}}, lost: [2]float64{l.Share, 0}}
	}
	bad := l.Share / l.BurstLoss // share of packets sent in the bad state
	leave := min(1/l.BurstMean, 1)
	enter := min(float64(leave*bad)/(1-bad), 1)
	return chain{to: [2][2]float64{{1 - enter, enter}, {leave, 1 - leave}}, lost: [2]float64{0, l.BurstLoss}}
}

// afterArrival is the share of either state just after a packet arrived.
func (c *chain) afterArrival() [2]float64 {
	enter, leave := c.to[0][1], c.to[1][0]
	good, bad := float64(leave*(1-c.lost[0])), float64(enter*(1-c.lost[1]))
	if good+bad <= 0 {
		return [2]float64{1, 0}
	}
	return [2]float64{good / (good + bad), bad / (good + bad)}
}

func (c *chain) step(v [2]float64) [2]float64 {
	return [2]float64{
		float64(v[0]*c.to[0][0]) + float64(v[1]*c.to[1][0]),
		float64(v[0]*c.to[0][1]) + float64(v[1]*c.to[1][1]),
	}
}

// runLaw is the exact law of the number of packets up to and with the last one
// that arrives before so many are lost in a row that the stream counts as dead.
// The number starts at 0: none arrives. Runs of k losses end at that plus k.
type runLaw struct {
	below  []float64 // by n: probability of n or fewer
	hazard float64   // beyond: probability of each next number, given it is reached
}

// Where the table of a runLaw may end: with nothing left, or with a hazard that
// has not moved by more than settled of itself while n doubled.
const (
	nothing  = 0x1p-54
	settled  = 1e-10
	tableMax = 1 << 20
)

// newRunLaw makes the law for k losses in a row. fits[e] is the probability
// that k+e packets are sent before time runs out; fits[0] is 1.
//
// An arrival in either state is followed by m losses and the next arrival, or
// by death; arrivals so form a renewal process, of which the numbers of packets
// between two are at most a few more than k. All terms are positive.
func newRunLaw(loss Loss, k int, fits []float64) *runLaw {
	c := loss.chain()
	again, death := c.cycles(k, fits)
	later := againLater(again)
	last := make([][2]float64, len(again)) // arrivals at the last packets, by number modulo its length
	x := c.afterArrival()
	law, below, left, mark, next := &runLaw{}, 0.0, 1.0, 0.0, 64+8*k
	for n := 0; n < tableMax; n++ {
		if n > 0 {
			x = arrive(last, again, n)
		}
		last[n%len(last)] = x
		mass := float64(x[0]*death[0]) + float64(x[1]*death[1])
		law.hazard = mass / left
		below += mass
		left = alive(last, later, n)
		if left <= nothing {
			law.below = append(law.below, 1)
			break
		}
		if left < 0.5 {
			below = 1 - left // the small side has the digits
		}
		law.below = append(law.below, below)
		if n == next {
			if math.Abs(law.hazard-mark) <= float64(settled*law.hazard) {
				break
			}
			mark, next = law.hazard, 2*next
		}
	}
	return law
}

// againLater is the probability, by state of an arrival, of a next arrival
// after at least so many losses.
func againLater(again [][2][2]float64) [][2]float64 {
	later := make([][2]float64, len(again))
	var sum [2]float64
	for m := len(again) - 1; m >= 0; m-- {
		for s := range sum {
			sum[s] += again[m][s][0] + again[m][s][1]
		}
		later[m] = sum
	}
	return later
}

// alive is the probability that a packet after number n arrives.
func alive(last [][2]float64, later [][2]float64, n int) float64 {
	sum := 0.0
	for m := 0; m < len(later) && m <= n; m++ {
		from := &last[(n-m)%len(last)]
		sum += float64(from[0]*later[m][0]) + float64(from[1]*later[m][1])
	}
	return sum
}

// arrive is the probability, by state, that packet n arrives and the stream is
// alive until then.
func arrive(last [][2]float64, again [][2][2]float64, n int) (x [2]float64) {
	for m := 0; m < len(again) && m < n; m++ {
		from, w := &last[(n-1-m)%len(last)], &again[m]
		x[0] += float64(from[0]*w[0][0]) + float64(from[1]*w[1][0])
		x[1] += float64(from[0]*w[0][1]) + float64(from[1]*w[1][1])
	}
	return x
}

// cycles returns what can follow an arrival, by its state: m losses and then an
// arrival in either state, or the death of the stream.
func (c *chain) cycles(k int, fits []float64) (again [][2][2]float64, death [2]float64) {
	again = make([][2][2]float64, k+len(fits)-1)
	for s := range 2 {
		v := [2]float64{}
		v[s] = 1
		for m := range again {
			v = c.step(v)
			sent := 1.0 // probability that packet m+1 is sent in time
			if m >= k {
				sent = fits[m+1-k]
			}
			for r := range v {
				again[m][s][r] = float64(float64(v[r]*(1-c.lost[r])) * sent)
				v[r] = float64(v[r] * c.lost[r])
			}
			if e := m + 1 - k; e >= 0 {
				none := fits[e]
				if e+1 < len(fits) {
					none -= fits[e+1]
				}
				death[s] += float64((v[0] + v[1]) * none)
			}
		}
	}
	return again, death
}

// quantile returns the number below which the law lies with probability u, and
// where within that number u falls, 0 to 1. Beyond the table the number is -1,
// and u is that of what is left.
func (l *runLaw) quantile(u float64) (n int, within float64) {
	n = sort.SearchFloat64s(l.below, u)
	if n == len(l.below) {
		top := l.below[n-1]
		return -1, (u - top) / (1 - top)
	}
	low := 0.0
	if n > 0 {
		low = l.below[n-1]
	}
	return n, (u - low) / (l.below[n] - low)
}

// beyond draws how many packets more than the table has, 1 or more: exact,
// since the hazard no longer changes. +Inf without loss.
func (l *runLaw) beyond(u float64) float64 {
	if l.hazard <= 0 {
		return math.Inf(1)
	}
	return kernel.Geometric(max(u, 0x1p-53), 1/l.hazard)
}

// draw returns the number as a whole number, +Inf if it never comes.
func (l *runLaw) draw(u float64) float64 {
	n, within := l.quantile(u)
	if n >= 0 {
		return float64(n)
	}
	return float64(len(l.below)-1) + l.beyond(within)
}

// mean returns the expected number; +Inf without loss.
func (l *runLaw) mean() float64 {
	n, sum := len(l.below)-1, 0.0
	for _, below := range l.below[:n] {
		sum += 1 - below
	}
	if l.below[n] >= 1 {
		return sum
	}
	return sum + (1-l.below[n])/l.hazard
}

// runs are the fits of a stream that dies of the k-th loss.
var runs = []float64{1}
