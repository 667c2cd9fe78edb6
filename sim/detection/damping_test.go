package detection

import (
	"math"
	"testing"

	"halflight/model/timer"
)

const secondNS, minuteNS = int64(1e9), int64(60e9)

// fell runs downs through a damper and returns the penalties just after each.
func fell(p *timer.Damping, downs ...int64) (d damper, penalties []float64, suppressed int) {
	suppressed = -1
	for i, at := range downs {
		if d.down(p, at) && suppressed < 0 {
			suppressed = i
		}
		penalties = append(penalties, d.penalty)
	}
	return d, penalties, suppressed
}

func every(period int64, n int) (downs []int64) {
	for i := range n {
		downs = append(downs, int64(i)*period)
	}
	return downs
}

func holdNear(t *testing.T, what string, got, want, off float64) {
	t.Helper()
	if math.Abs(got-want) > off {
		t.Errorf("%s: %.6f, want %.6f", what, got, want)
	}
}

// RFC 2439, section 4.3, its table: increment 1, a down every quarter of the
// half-life; and every half of it, where 3 is reached on the seventh.
func TestDampingTable(t *testing.T) {
	p := &timer.Damping{Increment: 1, CutOff: 1e9, Reuse: 1, HalfLife: 400 * secondNS, Hold: 40000 * secondNS}
	_, got, _ := fell(p, every(100*secondNS, 200)...)
	for i, want := range []float64{1, 1.84, 2.55, 3.14, 3.64, 4.06, 4.42, 4.71, 4.96, 5.17} {
		holdNear(t, "quarter of a half-life", got[i], want, 0.0051)
	}
	holdNear(t, "limit", got[199], 6.285, 0.0005)
	_, got, _ = fell(p, every(200*secondNS, 200)...)
	if got[5] >= 3 || got[6] < 2.995 {
		t.Errorf("every half of a half-life: %.4f on the 6th, %.4f on the 7th; 3 is reached on the 7th, to two digits", got[5], got[6])
	}
	holdNear(t, "limit", got[199], 3.414, 0.0005)
}

// The parameters of RFC 7196, table 1: 1000, half-life 15 min, reuse 750, at most
// 60 min. The numbers below are arithmetic on RFC 2439's decay.
func rfc7196(cutOff float64) *timer.Damping {
	return &timer.Damping{On: true, Increment: 1000, CutOff: cutOff, Reuse: 750, HalfLife: 15 * minuteNS, Hold: 60 * minuteNS}
}

func TestDampingOfThreeDowns(t *testing.T) {
	p := rfc7196(2000)
	d, got, when := fell(p, 0, 60*secondNS, 120*secondNS)
	for i, want := range []float64{1000, 1954.842, 2866.564} {
		holdNear(t, "penalty", got[i], want, 0.0005)
	}
	if when != 2 {
		t.Errorf("suppressed at down %d, want the third", when+1)
	}
	// 120 s + 900 s x log2(2866.564 / 750), rounded up to the grain of 1 ms.
	if got := d.reuse(p); got != 1_860_925_000_000 {
		t.Errorf("reused at %d ns, want 1860.924 s and the rest of a ms", got)
	}
}

func TestDampingOfManyDowns(t *testing.T) {
	p := rfc7196(6000)
	_, got, when := fell(p, every(minuteNS, 7)...)
	if when != 6 {
		t.Errorf("suppressed at down %d, want the 7th", when+1)
	}
	holdNear(t, "penalty at 360 s", got[6], 6119.911, 0.0005)
	d, got, _ := fell(p, every(minuteNS, 20)...)
	holdNear(t, "clipped", got[19], 12000, 1e-9)
	if got := d.reuse(p) - 19*minuteNS; got != 3600*secondNS {
		t.Errorf("reused %d ns after the last down, want an hour", got)
	}
}

// RFC 2439, section 4.2: nothing is kept out for longer than the hold time after
// it went down last, so that the ceiling is reuse x 2^(hold/half-life); section
// 4.5 prints it with a logarithm outside the exponent, which would be 28,383 here
// and hold for longer. A cut-off of 12,000 can then never be exceeded, which is
// why RFC 7196, section 6, wants room for 50,000: 90.88 min in truth.
func TestDampingCeiling(t *testing.T) {
	holdNear(t, "ceiling", rfc7196(2000).Ceiling(), 12000, 1e-9)
	if _, _, when := fell(rfc7196(12000), every(secondNS, 500)...); when >= 0 {
		t.Errorf("a cut-off at the ceiling was exceeded at down %d", when+1)
	}
	p := rfc7196(12000)
	p.Hold = int64(float64(p.HalfLife) * math.Log2(50000.0/750))
	holdNear(t, "minutes", float64(p.Hold)/60e9, 90.88, 0.005)
	holdNear(t, "ceiling", p.Ceiling(), 50000, 0.01)
	if _, _, when := fell(p, every(secondNS, 500)...); when != 12 {
		t.Errorf("with room it is exceeded at down %d, want the 13th", when+1)
	}
}

// The slowest steady flap that is suppressed some day: half-life x log2(cut-off /
// (cut-off - increment)), by the geometric series.
func TestDampingSlowestFlap(t *testing.T) {
	for cut, seconds := range map[float64]float64{2000: 900.0, 3000: 526.5, 6000: 236.7, 12000: 113.0} {
		p := rfc7196(cut)
		p.Hold = 100 * 60 * minuteNS // no ceiling in the way
		for _, c := range []struct {
			factor float64
			want   bool
		}{{0.998, true}, {1.002, false}} {
			_, _, when := fell(p, every(int64(seconds*c.factor*1e9), 3000)...)
			if (when >= 0) != c.want {
				t.Errorf("cut-off %g, every %g s: suppressed at %d", cut, seconds*c.factor, when)
			}
		}
	}
}

// A suppressed end counts on while it is out, and what was the end of its time is
// no longer.
func TestSuppressedEndCountsOn(t *testing.T) {
	p := rfc7196(2000)
	d, _, _ := fell(p, 0, 60*secondNS, 120*secondNS)
	first := d.reuse(p)
	if !d.down(p, 180*secondNS) || d.reuse(p) <= first {
		t.Error("one more down must put the end off")
	}
}
