package detection

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"halflight/model/reliability"
)

// The mean time from a cut at any moment to a session missed is k I less that since the
// last packet: k I - 0.4405 I with gaps of 75 to 100 % of I, k I - 0.4136 I with a
// multiplier of 1 and gaps of 75 to 90 % (RFC 5880, section 6.8.7; closed form).
func TestPhaseClosedForm(t *testing.T) {
	const interval, n = 50 * msec, 200_000
	for _, k := range []int{1, 2, 3, 5} {
		p, sum, longest := NewPhase(k, interval, 0.25), 0.0, int64(0)
		for i := range n {
			away := p.Away((float64(i) + 0.5) / n)
			if sum += float64(away); away < longest {
				t.Fatalf("k %d: %d after %d", k, away, longest)
			}
			longest = away
		}
		near(t, fmt.Sprintf("k %d: mean", k), float64(k)*interval-sum/n, reliability.BFDDetectMean(k, interval), 1e-8)
		if high := p.high; float64(longest) > high || float64(longest) < 0.99*high {
			t.Errorf("k %d: longest %d of %g", k, longest, high)
		}
	}
	even := NewPhase(3, interval, 0)
	near(t, "without jitter", float64(even.Away(0.3)), 0.3*interval, 1e-9)
	early := NewPhase(1, interval, 0.05) // gaps of 90 % always
	near(t, "jitter of 5 %, k 1", float64(early.Away(0.3)), 0.3*0.9*interval, 1e-9)
	if at := even.Away(1e-12); at != 1 {
		t.Errorf("at once: %d", at)
	}
}

// Packets played one by one, and an instant among them that knows nothing of them: the
// times to the last and to the next are below each quantile as often as they should be.
func TestPhaseAgainstPlay(t *testing.T) {
	const interval, n = 50 * msec, 20_000
	for _, c := range []struct {
		k            int
		jitter       float64
		low, breadth float64
	}{{3, 0.25, 0.75, 0.25}, {1, 0.25, 0.75, 0.15}, {5, 0.1, 0.9, 0.1}} {
		chance := rand.New(rand.NewPCG(5880, uint64(c.k)))
		p := NewPhase(c.k, interval, c.jitter)
		levels := []float64{0.05, 0.3, 0.5, 0.7, 0.8, 0.85, 0.9, 0.95, 0.99}
		below, above := make([]float64, len(levels)), make([]float64, len(levels))
		for range n {
			at, last, next := (20+200*chance.Float64())*interval, 0.0, 0.0
			for next <= at {
				last = next
				next += (c.low + c.breadth*chance.Float64()) * interval
			}
			for i, u := range levels {
				limit := float64(p.Away(u))
				if at-last < limit {
					below[i]++
				}
				if next-at < limit {
					above[i]++
				}
			}
		}
		for i, u := range levels {
			for what, count := range map[string]float64{"last": below[i], "next": above[i]} {
				if z := (count - n*u) / math.Sqrt(n*u*(1-u)); math.Abs(z) > 4 {
					t.Errorf("k %d, jitter %g: %s below the quantile of %g %.0f times of %d, z %.1f", c.k, c.jitter, what, u, count, n, z)
				}
			}
		}
	}
}
