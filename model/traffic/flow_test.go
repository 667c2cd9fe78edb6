package traffic

import (
	"math"
	"testing"

	"halflight/model/reliability"
)

func flow(law Law, segment, rtt float64) *Flow {
	return &Flow{Law: law, RoundTrip: rtt, Segment: segment, Rate: 1e15, Least: 0.5}
}

// RFC 5348 section 3.1, bytes/s by the printed digits of our own calculation, and
// the second program of model/reliability; with t_RTO of four round trips, and of
// 200 ms and 5 ms, which decide at the round trips of a data centre.
func TestEquation(t *testing.T) {
	for _, c := range []struct{ segment, rtt, loss, timeOut, want float64 }{
		{1460, 0.1, 0.01, 0, 164005.06217}, {1460, 0.1, 0.001, 0, 560411.701831}, {1460, 0.1, 0.05, 0, 53813.9255691},
		{1460, 1e-4, 0.01, 0.2, 3875102.96513}, {1460, 1e-4, 0.001, 0.2, 102807411.687}, {1460, 1e-4, 1e-4, 0.2, 1233191265.28},
		{1460, 1e-4, 0.01, 0.005, 84004862.9255}, {8960, 1e-4, 0.01, 0.2, 23781453.8134},
	} {
		got := flow(Equation, c.segment, c.rtt).Reach(c.loss, c.timeOut) * 1e15 / 8
		near(t, "RFC 5348", got, c.want, 1e-11)
		near(t, "second program", got, reliability.ThroughputRFC5348(c.segment, c.rtt, c.loss, 1, max(4*c.rtt, c.timeOut)), 1e-12)
	}
}

// RFC 3649 section 5: a window of 1.2/sqrt(p), 12 at 1e-2, 38 at 1e-3, 120 at
// 1e-4 ... 120,000 at 1e-10; and a slope of -1/2 on logarithmic axes (Mathis et
// al., 1997).
func TestSquareRoot(t *testing.T) {
	f := flow(SquareRoot, 1500, 0.1)
	for i, want := range []float64{12, 37.94733, 120, 379.4733, 1200, 3794.733, 12000, 37947.33, 120000} {
		loss := math.Pow(10, -float64(i+2))
		near(t, "window", f.Reach(loss, 0)*1e15/8*0.1/1500, want, 1e-6)
	}
	if slope := math.Log(f.Reach(1e-3, 0)/f.Reach(1e-5, 0)) / math.Log(100); math.Abs(slope+0.5) > 1e-12 {
		t.Errorf("slope %v", slope)
	}
}

// Go-back-N is whole up to 1e-5, at half by logarithms between, and gone from 1e-2
// on (the 1 % end: abstract of a paper on recovery over Ethernet; the rest assumed).
func TestGoBackN(t *testing.T) {
	f := Steps().Flow
	for _, c := range []struct{ loss, want float64 }{{0, 1}, {1e-6, 1}, {1e-5, 1}, {math.Sqrt(1e-7), 0.5}, {1e-3, 1.0 / 3}, {1e-2, 0}, {0.5, 0}} {
		if got := f.Reach(c.loss, 0); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("at %v: %v, want %v", c.loss, got, c.want)
		}
	}
}

// The loss a flow bears is where its rate is what it needs: by the inverse of the
// square-root law, p = (1.2 segment 8 / (RTT x rate))^2, and by going a hair past.
func TestBearable(t *testing.T) {
	f := &Flow{Law: SquareRoot, RoundTrip: 100e-6, Segment: 8960, Rate: 5e9, Least: 0.5}
	want := math.Pow(1.2*8960*8/(100e-6*2.5e9), 2)
	near(t, "square root", f.Bearable(0), want, 1e-5)
	for _, c := range []Class{Copies(), Steps()} {
		p := c.Flow.Bearable(0.2)
		if c.Flow.Reach(p, 0.2) < c.Flow.Least || c.Flow.Reach(p*1.00002, 0.2) >= c.Flow.Least {
			t.Errorf("%v: %v of the rate at %v, %v beyond", c.Flow.Law, c.Flow.Reach(p, 0.2), p, c.Flow.Reach(p*1.00002, 0.2))
		}
		t.Logf("%v bears a loss of %v", c.Flow.Law, p)
	}
	if (&Flow{RoundTrip: 1e-6, Segment: 9000, Rate: 1, Least: 0.1, Law: SquareRoot}).Bearable(0) != 1 {
		t.Error("a flow that nothing slows")
	}
}

// Retransmissions at 200 ms, 600 ms, 1.4 s ... (RFC 6298 section 5.5: the time-out
// doubles): a packet that is lost with 1 % each time misses a deadline of 1 s with
// 1e-6; a hole takes it each time, unless it goes another of 16 ways; a size that a
// quarter of all packets exceed stops those whenever they come by again.
func TestTries(t *testing.T) {
	c := Calls()
	for _, s := range []struct {
		deadline int64
		want     int
	}{{0, 1}, {200e6, 1}, {201e6, 2}, {600e6, 2}, {601e6, 3}, {1000e6, 3}, {1401e6, 4}} {
		c.Deadline = s.deadline
		if got := c.Tries(); got != s.want {
			t.Errorf("deadline %v ms: %d tries, want %d", s.deadline/1e6, got, s.want)
		}
	}
	c.Deadline = 1000e6
	near(t, "lost three times", c.Lost(0.01, 1.0/16, GripNone), 1e-6, 1e-12)
	near(t, "a hole each time", c.Lost(0.05, 1.0/16, GripFlow), 0.05, 1e-12)
	near(t, "too large each time", c.Lost(0.25, 1.0/16, GripSize), 0.25, 1e-12)
	c.Repath = true
	near(t, "too large wherever the size is met", c.Lost(0.25, 1.0/16, GripSize), 0.25/256, 1e-12)
	near(t, "a hole on another way", c.Lost(0.05, 1.0/16, GripFlow), 0.05*0.05*0.05/256, 1e-12)
	near(t, "loss on another way", c.Lost(0.01, 1.0/16, GripNone), 1e-6/256, 1e-12)
	// Poor ways chosen anew r times all miss the good ones with (1/w)^r: of 8 ways, twice, 1 in 64.
	near(t, "eight ways", c.Lost(1, 1.0/8, GripFlow), 1.0/64, 1e-12)
}

func near(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %.15g, want %.15g", what, got, want)
	}
}
