package detection

import (
	"fmt"
	"math"
	"sort"
	"testing"

	"halflight/model/failure"
	"halflight/model/reliability"
	"halflight/sim/kernel"
)

const (
	msec = 1e6
	sec  = 1e9
	min1 = 60 * sec
	hr   = 60 * min1
	dy   = 24 * hr
	yr   = 365.25 * dy
)

// Mean time to a false session-down of one direction, jittered: 0.875 I E[N] +
// 0.125 k I, with E[N] of Feller vol. 1 XIII.7 (from memory); printed to four
// digits. The rows of k = 5 leave out that a sixth packet may fit, which
// multiplies the mean by E[T] corrected over plain.
func TestFalseDownMeans(t *testing.T) {
	for _, c := range []struct {
		p    float64
		k    int
		want [3]float64 // ns, at intervals of 10, 50 and 300 ms
	}{
		{0.001, 3, [3]float64{101.4 * dy, 1.388 * yr, 8.326 * yr}},
		{0.001, 5, [3]float64{2.775e5 * yr, 1.388e6 * yr, 8.326e6 * yr}},
		{0.01, 3, [3]float64{2.455 * hr, 12.28 * hr, 3.069 * dy}},
		{0.01, 5, [3]float64{2.801 * yr, 14.0 * yr, 84.02 * yr}},
		{0.05, 3, [3]float64{1.228 * min1, 6.14 * min1, 36.84 * min1}},
		{0.05, 5, [3]float64{8.187 * hr, 1.706 * dy, 10.23 * dy}},
		{0.1, 3, [3]float64{9.712 * sec, 48.56 * sec, 4.856 * min1}},
		{0.1, 5, [3]float64{16.2 * min1, 1.35 * hr, 8.102 * hr}},
	} {
		for i, interval := range []int64{10 * msec, 50 * msec, 300 * msec} {
			what := fmt.Sprintf("p %g k %d I %d ms", c.p, c.k, interval/msec)
			s := NewSession(Loss{Share: c.p}, c.k, interval, 0.25)
			plain, jittered := reliability.BFDFalseDownMean(c.p, c.k, float64(interval)), reliability.BFDFalseDownMeanJitter(c.p, c.k, float64(interval))
			near(t, what+", printed", s.Mean()*plain/jittered, c.want[i], 5e-4)
			near(t, what, s.Mean(), jittered, 1e-9)
			if c.want[i] > 30*yr {
				continue // a draw is cut off at Forever
			}
			heldMean(t, what, jittered, 0, 30, 400, func(u func() float64) float64 { return float64(s.FalseDown(u())) })
		}
	}
}

// Every multiplier, 1 with its own jitter, against the closed form.
func TestFalseDownClosedForm(t *testing.T) {
	for k := 1; k <= 12; k++ {
		for _, p := range []float64{0.002, 0.1, 0.4, 0.9} {
			s := NewSession(Loss{Share: p}, k, 50*msec, 0.25)
			near(t, fmt.Sprintf("p %g k %d", p, k), s.Mean(), reliability.BFDFalseDownMeanJitter(p, k, 50*msec), 1e-9)
			plain := NewSession(Loss{Share: p}, k, 50*msec, 0)
			near(t, fmt.Sprintf("p %g k %d without jitter", p, k), plain.Mean(), 50*msec*reliability.RunMean(p, k), 1e-9)
		}
	}
}

// The mean over evenly spread draws is Mean, in the table and beyond it.
func TestFalseDownDraws(t *testing.T) {
	for _, c := range []struct {
		loss   Loss
		k      int
		jitter float64
	}{{Loss{Share: 0.3}, 3, 0.25}, {Loss{Share: 0.2}, 3, 0.25}, {Loss{Share: 0.2}, 3, 0}, {Loss{Share: 0.1}, 3, 0.1}, {Loss{Share: 0.3}, 5, 0.25}, {Loss{0.01, 3, 1}, 3, 0.25}} {
		s, sum, n := NewSession(c.loss, c.k, 50*msec, c.jitter), 0.0, 1000000
		for i := range n {
			sum += float64(s.FalseDown((float64(i) + 0.5) / float64(n)))
		}
		near(t, fmt.Sprintf("%+v k %d jitter %g", c.loss, c.k, c.jitter), sum/float64(n), s.Mean(), 1e-5)
	}
}

// Probability that a packet more than the multiplier fits into the detection
// time: 58/720 for 5, 6/720 for 4, never for 3 and less (Irwin-Hall).
func TestFitting(t *testing.T) {
	for _, c := range []struct {
		k    int
		want []float64
	}{{2, nil}, {3, nil}, {4, []float64{6.0 / 720}}, {5, []float64{58.0 / 720}}} {
		fits := fitting(c.k, 0.25)
		if len(fits) != 1+len(c.want) {
			t.Fatalf("k %d: %v", c.k, fits)
		}
		for e, want := range c.want {
			near(t, fmt.Sprintf("k %d", c.k), fits[1+e], want, 1e-12)
		}
	}
	// Sums of uniforms at whole and other numbers: 1/2 of the square, 1/6 and
	// 47/48 of the cube (x^3/6; 1 - (3-x)^3/6 at 2.5).
	near(t, "two below 1", uniformSumBelow(2, 1), 0.5, 1e-14)
	near(t, "three below 1", uniformSumBelow(3, 1), 1.0/6, 1e-14)
	near(t, "three below 2.5", uniformSumBelow(3, 2.5), 47.0/48, 1e-14)
	if uniformSumBelow(3, 3) != 1 {
		t.Error("three below 3")
	}
}

// packetByPacket plays a session with its clock, from an arrival to its end, ns.
// The chain begins as it is after an arrival that finds it good: bad stretches
// lose everything, or losses are independent.
func packetByPacket(u func() float64, loss Loss, k int, interval, jitter float64) float64 {
	last, now, bad := 0.0, 0.0, false
	leave := 1 / loss.BurstMean
	enter := leave * loss.Share / (1 - loss.Share)
	for {
		now += interval * (1 - jitter*u())
		if now > last+float64(k)*interval {
			return last + float64(k)*interval
		}
		switch {
		case loss.BurstMean == 0:
			bad = u() < loss.Share
		case bad:
			bad = u() >= leave
		default:
			bad = u() < enter
		}
		if !bad {
			last = now
		}
	}
}

// Against the clock of a session played packet by packet: the mean, and by the
// two-sample test of Kolmogorov and Smirnov (level 1e-3: 1.95, from memory) the
// whole law.
func TestFalseDownAgainstPackets(t *testing.T) {
	for _, c := range []struct {
		loss   Loss
		k      int
		jitter float64
	}{
		{Loss{Share: 0.5}, 1, 0}, {Loss{Share: 0.3}, 2, 0.25}, {Loss{Share: 0.2}, 3, 0.25}, {Loss{Share: 0.4}, 4, 0.25}, {Loss{Share: 0.3}, 5, 0.25},
		{Loss{Share: 0.3}, 4, 0.5}, {Loss{Share: 0.9}, 3, 0.1}, {Loss{Share: 1}, 3, 0.25},
		{Loss{0.01, 3, 1}, 3, 0.25}, {Loss{0.01, 3, 1}, 5, 0.25}, {Loss{0.2, 40, 1}, 3, 0},
	} {
		what := fmt.Sprintf("%+v k %d jitter %g", c.loss, c.k, c.jitter)
		s := NewSession(c.loss, c.k, 50*msec, c.jitter)
		var drawn, played []float64
		heldMean(t, what+" drawn", s.Mean(), 1, 40, 150, func(u func() float64) float64 {
			x := float64(s.FalseDown(u()))
			drawn = append(drawn, x)
			if x < float64(c.k)*50*msec {
				t.Fatalf("%s: down after %v ns, before its detection time", what, x)
			}
			return x
		})
		heldMean(t, what+" played", s.Mean(), 1, 40, 150, func(u func() float64) float64 {
			x := packetByPacket(u, c.loss, c.k, 50*msec, c.jitter)
			played = append(played, x)
			return x
		})
		if d := farthest(drawn, played); d*math.Sqrt(float64(len(drawn))/2) > 1.95 {
			t.Errorf("%s: the laws differ by %.4f", what, d)
		}
	}
}

// farthest is the greatest distance of two empirical distributions.
func farthest(a, b []float64) float64 {
	sort.Float64s(a)
	sort.Float64s(b)
	worst, i, j := 0.0, 0, 0
	for i < len(a) && j < len(b) {
		x := math.Min(a[i], b[j])
		for i < len(a) && a[i] <= x+1 { // ns: rounding
			i++
		}
		for j < len(b) && b[j] <= x+1 {
			j++
		}
		worst = math.Max(worst, math.Abs(float64(i)/float64(len(a))-float64(j)/float64(len(b))))
	}
	return worst
}

// Clock-accurate simulations of a jittered sender by another program, ms and
// standard error, interval 50 ms: independent of ours.
func TestFalseDownAgainstOthers(t *testing.T) {
	for _, c := range []struct {
		p        float64
		k        int
		mean, se float64
	}{{0.1, 3, 48506.7, 764.5}, {0.05, 3, 350006.9, 10404.9}, {0.1, 5, 5655398.4, 484660.8}, {0.2, 3, 6793.9, 47.4}, {0.2, 5, 178886.2, 3310.2}, {0.3, 5, 27159.8, 191}} {
		got := NewSession(Loss{Share: c.p}, c.k, 50*msec, 0.25).Mean() / msec
		if z := (got - c.mean) / c.se; math.Abs(z) > 3.5 {
			t.Errorf("p %g k %d: %.1f ms, simulated %.1f +- %.1f", c.p, c.k, got, c.mean, c.se)
		}
	}
}

// The extremes of a draw, and of two directions the lesser.
func TestFalseDownBounds(t *testing.T) {
	s := NewSession(Loss{Share: 0.1}, 3, 50*msec, 0.25)
	if got := s.FalseDown(0x1p-53); got != 150*msec {
		t.Errorf("least %d ns, want 150 ms: the first three are lost", got)
	}
	if got := s.FalseDown(1 - 0x1p-53); got < int64(20*s.Mean()) || got > int64(60*s.Mean()) {
		t.Errorf("greatest %d ns of mean %v", got, s.Mean())
	}
	if NewSession(Loss{}, 3, 50*msec, 0.25).FalseDown(0.999) != kernel.Forever {
		t.Error("false down without loss")
	}
	if got := NewSession(Loss{Share: 1}, 3, 50*msec, 0.25).FalseDown(0.5); got != 150*msec {
		t.Errorf("all lost: %d", got)
	}
	// A greater draw is a later time, but for the spread of the gaps.
	for late, u := int64(0), 0x1p-20; u < 1; u += 1.0 / 4096 {
		got := s.FalseDown(u)
		if gaps := float64(got) / s.gap; float64(late-got) > 3*s.spread*math.Sqrt(gaps) {
			t.Fatalf("%d ns at u %v, %d before", got, u, late)
		}
		late = max(late, got)
	}
	// Rates of two directions add, near enough for rare events.
	rare := NewSession(Loss{Share: 0.02}, 3, 50*msec, 0.25)
	heldMean(t, "the lesser of two", rare.Mean()/2, rare.Mean()*1e-4, 40, 500, func(u func() float64) float64 {
		return float64(min(rare.FalseDown(u()), rare.FalseDown(u())))
	})
}

func TestLossOf(t *testing.T) {
	c := failure.Condition{Kind: failure.Silent, Loss: 0.02, BurstMean: 7, BurstLoss: 0.5}
	if got := LossOf(&c); got != (Loss{0.02, 7, 0.5}) {
		t.Errorf("%+v", got)
	}
	c.Kind = failure.Oversize
	if got := LossOf(&c); got != (Loss{}) {
		t.Errorf("hellos pass an oversize fault: %+v", got)
	}
}

func BenchmarkSession(b *testing.B) {
	for _, c := range []struct {
		name string
		loss Loss
		k    int
	}{{"k=3", Loss{Share: 0.1}, 3}, {"k=5", Loss{Share: 0.1}, 5}, {"k=3/bursts", Loss{0.05, 100, 0.5}, 3}} {
		b.Run("new/"+c.name, func(b *testing.B) {
			for b.Loop() {
				NewSession(c.loss, c.k, 50*msec, 0.25)
			}
		})
		b.Run("draw/"+c.name, func(b *testing.B) {
			s, u := NewSession(c.loss, c.k, 50*msec, 0.25), 0.0
			for b.Loop() {
				u = math.Mod(u+0.618, 1)
				s.FalseDown(max(u, 1e-9))
			}
		})
	}
}
