package traffic

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Time-outs of 200 ms (the least of the Linux kernel header) that double (RFC 6298
// section 5.5) make a packet late by 200, 600, 1,400 and 3,000 ms; of 1 s, the floor of
// RFC 6298 section 2.4, by 1, 3, 7 and 15 s.
func TestDelays(t *testing.T) {
	c := Calls()
	if c.Delays() != nil || c.Later() != nil {
		t.Error("a class of which delays are not followed has some")
	}
	c.TimeOuts = 4
	if got := c.Delays(); !slices.Equal(got, []int64{200e6, 600e6, 1400e6, 3000e6}) {
		t.Errorf("late by %v", got)
	}
	standard := c
	standard.TimeOut = 1e9
	if got := standard.Delays(); !slices.Equal(got, []int64{1e9, 3e9, 7e9, 15e9}) {
		t.Errorf("with the floor of the standard late by %v", got)
	}
	for k, l := range c.Later() {
		if l.Tries() != k+1 {
			t.Errorf("late by %v after %d packets lost in a row, want %d", c.Delays()[k], l.Tries(), k+1)
		}
	}
}

// How late a request of n packets is, each lost with probability p each time it is
// sent, trial by trial and by the closed form: later than k time-outs with 1 -
// (1-p^(k+1))^n, and on average, followed through four, by the sum of these over
// what each adds. The same of a tenth of the flows that a hole takes: late for ever.
func TestLateTrialByTrial(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	const trials = 400_000
	for _, s := range []struct {
		n int
		p float64
	}{{10, 0.01}, {10, 0.2}, {3, 0.05}, {100, 0.05}} {
		c := Calls()
		c.Packets, c.TimeOuts = s.n, 4
		delays := c.Delays()
		count, sum := make([]float64, len(delays)), 0.0
		for range trials {
			late := int64(0)
			for range s.n {
				lost := 0
				for lost < 4 && r.Float64() < s.p {
					lost++
				}
				if lost > 0 {
					late = max(late, delays[lost-1])
				}
			}
			sum += float64(late)
			for k, at := range delays {
				if late >= at {
					count[k]++
				}
			}
		}
		mean := 0.0
		for k, l := range c.Later() {
			share := 1 - math.Pow(1-l.Lost(s.p, 1, GripNone), float64(s.n))
			near(t, "closed form", share, 1-math.Pow(1-math.Pow(s.p, float64(k+1)), float64(s.n)), 1e-9)
			if sd := math.Sqrt(share * (1 - share) / trials); math.Abs(count[k]/trials-share) > 4*sd {
				t.Errorf("n %d, p %v: %v are late by %v ms, want %v (standard deviation %v)", s.n, s.p, count[k]/trials, delays[k]/1e6, share, sd)
			}
			mean += share * float64(delays[k]-append([]int64{0}, delays...)[k])
			if hole := 1 - l.Lost(0.1, 1, GripFlow); math.Abs(hole-0.9) > 1e-12 {
				t.Errorf("a hole lets %v through after %d tries", hole, k+1)
			}
		}
		if got := sum / trials; math.Abs(got-mean) > 0.02*mean {
			t.Errorf("n %d, p %v: late by %v ms on average, want %v", s.n, s.p, got/1e6, mean/1e6)
		}
	}
}

// Rates that are too much use up 2, 5 and 10 % of a month's budget (30 d) in 1 h, 6 h
// and 3 d: handbooks on reliability engineering, from memory.
func TestBurns(t *testing.T) {
	const hour = 3600e9
	want := []struct{ hours, share float64 }{{1, 0.02}, {6, 0.05}, {72, 0.10}}
	list := Burns()
	if len(list) != len(want) {
		t.Fatalf("%d windows", len(list))
	}
	for i, b := range list {
		near(t, "window", float64(b.Window)/hour, want[i].hours, 0)
		near(t, "share of a month's budget", b.Rate*want[i].hours/720, want[i].share, 1e-12)
	}
}
