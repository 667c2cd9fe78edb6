package detection

import (
	"math"

	"halflight/sim/kernel"
)

// counting is a rule that counts losses among the trials of a window and
// alarms with the least-th of them, or, if atEnd, when the window is over and
// there were as many. Windows of a test follow one another; those of all tests
// begin together. Trials are probes or packets.
type counting struct {
	trials  int     // of a window
	gap     float64 // ns between two trials
	healthy float64 // share lost where nothing is wrong
	least   int
	atEnd   bool
	late    int64   // ns from a loss to its being known
	alarms  float64 // false ones a second, over all tests
}

// span is the length of a window, ns.
func (c *counting) span() int64 { return kernel.Nanoseconds(float64(float64(c.trials) * c.gap)) }

// leastMost is how many losses a rule may ask for: more are not searched.
const leastMost = 1000

// fit finds the least number of losses that keeps the false alarms a second of
// so many tests within a budget, by the binomial tail. It returns false when
// there is none.
func (c *counting) fit(tests int, budget float64) bool {
	most := min(c.trials, leastMost)
	for c.least = 1; c.least <= most; c.least++ {
		c.alarms = float64(float64(tests)*binomialTail(c.least, c.trials, c.healthy)) / float64(c.span()) * 1e9
		if c.alarms <= budget && budget > 0 {
			return true
		}
	}
	c.least = most
	return false
}

// met is what a test meets: with some weight, a share of its trials is lost.
type met struct{ weight, share float64 }

// sighted returns the instant at which the first of so many independent tests
// that meet the same alarms, given a uniform draw. Windows begin at phase plus
// whole spans, the trials of one with its beginning; a trial at the instant of
// onset passes. Losses are counted as independent. The law is exact.
func (c *counting) sighted(u float64, what []met, tests int, phase, onset int64) int64 {
	need := log1p(-u)
	span := c.span()
	start := phase + floorDiv(onset-phase, span)*span
	gone := min(int(float64(onset-start)/c.gap)+1, c.trials)
	left := c.trials - gone
	k := float64(tests)
	// after is k times the log of the chance that no test has alarmed by the
	// more-th trial of a window, so many whole windows after the one at onset.
	after := func(first int, windows float64, more int) float64 {
		lost := 0.0
		for _, m := range what {
			s := log1p(-c.atOnset(m.share, gone, first))
			if windows > 0 {
				s += float64(windows * log1p(-binomialTail(c.least, c.trials, m.share)))
			}
			if more > 0 {
				s += log1p(-binomialTail(c.least, more, m.share))
			}
			lost -= float64(m.weight * expm1(s))
		}
		return float64(k * log1p(-min(lost, 1)))
	}
	if left > 0 && after(left, 0, 0) <= need {
		n := c.trial(left, func(n int) bool { return after(n, 0, 0) <= need })
		return c.instant(start, gone+n-1)
	}
	windows := 1.0
	for after(left, windows, 0) > need {
		if windows *= 2; windows > 0x1p62/float64(span) {
			return Never
		}
	}
	low := math.Floor(windows / 2) // not enough, or 0
	for windows-low > 1 {
		if half := math.Floor((low + windows) / 2); after(left, half, 0) <= need {
			windows = half
		} else {
			low = half
		}
	}
	n := c.trial(c.trials, func(n int) bool { return after(left, windows-1, n) <= need })
	begin := start + int64(windows)*span
	if begin < start {
		return Never
	}
	return c.instant(begin, n-1)
}

// atOnset is the chance that a test alarms within the first so many trials after
// the onset, gone of the window's having passed before it without an alarm.
func (c *counting) atOnset(share float64, gone, first int) float64 {
	sum, quiet := 0.0, 0.0
	for j := 0; j < c.least; j++ {
		m := binomialMass(j, gone, c.healthy)
		quiet += m
		sum += float64(m * binomialTail(c.least-j, first, share))
		if m < 1e-30 && j > 0 {
			break
		}
	}
	if quiet <= 0 {
		return 1
	}
	return min(sum/quiet, 1)
}

// trial finds the first of n trials by which enough holds; all of them for a
// rule that decides at the end.
func (c *counting) trial(n int, enough func(n int) bool) int {
	if c.atEnd {
		return n
	}
	low, high := 0, n
	for high-low > 1 {
		if half := low + (high-low)/2; enough(half) {
			high = half
		} else {
			low = half
		}
	}
	return high
}

// instant is when the loss of a trial of a window that began at start is known.
func (c *counting) instant(start int64, trial int) int64 {
	if c.atEnd {
		trial = c.trials - 1
	}
	return after(after(start, kernel.Nanoseconds(float64(float64(trial)*c.gap))), c.late)
}

// log1p returns log(1+x) for x > -1, -Inf for less, accurate for small x. The
// rounding of 1+x is undone by the quotient, as W. Kahan showed.
func log1p(x float64) float64 {
	sum := 1 + x
	switch {
	case sum <= 0:
		return math.Inf(-1)
	case sum == 1:
		return x
	}
	return float64(kernel.Log(sum)*x) / (sum - 1)
}

// expm1 returns e^x - 1, accurate for small x, by the same trick.
func expm1(x float64) float64 {
	u := kernel.Exp(x)
	switch {
	case u == 1:
		return x
	case u <= 0x1p-60:
		return -1
	}
	return float64((u-1)*x) / kernel.Log(u)
}
