package sim

import (
	"fmt"
	"math"
	"testing"
)

// bursty is a hall in which every link is lossy all the time: 1 % on average, in bad
// stretches of so many packets that lose so much.
const bursty = `
horizon: 1d
warm_up: 60d
fabric: {clos: {pods: 1, leaves: 4, spines: 3, tops: 0}}
telemetry: [{name: nobody, complaints: false}]
detection: {bfd: false, hello: false}
failures: [{name: g, on: link, kind: lossy, loss: 0.01, burst: {length: %g, bad: %g}, one_way: 0, life: {exponential: {mean: 1h}}}]
applications:
  - {name: plain, request: {packets: %d}}
  - {name: patient, request: {packets: %[3]d, time_out: 200ms, deadline: 300ms}}
`

// unhurt is the chance that none of n packets in a row is lost, summed over all
// paths through good and bad states: bit i of a path is whether packet i meets a bad
// one. Each packet sent in a bad stretch is lost with probability q.
func unhurt(n int, share, length, q float64) float64 {
	leave := 1 / length
	enter := share * leave / (1 - share)
	sum := 0.0
	for path := range 1 << n {
		p := 1.0
		for i := range n {
			was, is := path>>max(i-1, 0)&1, path>>i&1
			p *= [2][2]float64{{1 - enter, enter}, {leave, 1 - leave}}[was][is]
			if i == 0 {
				p = [2]float64{1 - share, share}[is]
			}
			if is == 1 {
				p *= 1 - q
			}
		}
		sum += p
	}
	return sum
}

// A unit of work crosses four lossy directions, two each way, which have bad
// stretches of their own (two-state loss, Gilbert 1960, Elliott 1963, from memory).
// One that is sent again once meets the mean loss then: a hundredth of its losses
// stay. Where bad stretches lose everything the chain has a closed form: all n are
// unhurt if the first is sent in the good state and none after it enters the bad one.
// Length 100, bad 10 %, 10 packets: 0.066 a direction, 0.2397 a unit.
func TestUnitsInBadStretches(t *testing.T) {
	for _, c := range []struct {
		length, bad float64
		n           int
	}{{100, 0.1, 10}, {20, 0.8, 6}, {3, 0.5, 8}, {1, 1, 1}, {3, 1, 10}, {1000, 0.02, 5}} {
		e := newRandom(build(t, "bursty", fmt.Sprintf(bursty, c.length, c.bad, c.n)), 1, 0, apart)
		e.run()
		share := 0.01 / c.bad
		for k, again := range []float64{1, 0.01} {
			each := unhurt(c.n, share, c.length, c.bad*again)
			if c.bad == 1 && k == 0 {
				enter := share / (1 - share) / c.length
				if closed := (1 - share) * math.Pow(1-enter, float64(c.n-1)); math.Abs(closed-each) > 1e-12 {
					t.Fatalf("%v: paths give %v, the closed form %v", c, each, closed)
				}
			}
			want := 1 - math.Pow(each, 4)
			if got := e.record(0).Applications[k].SlowShare; math.Abs(got-want) > 1e-6*want {
				t.Errorf("%v, class %d: a share of %v is slow, want %v", c, k, got, want)
			}
		}
	}
}
