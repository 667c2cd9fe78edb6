package detection

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"halflight/model/failure"
	"halflight/model/operation"
	"halflight/model/reliability"
)

const windowTrials = 1000

// byWindow are probes of 10 a second with a budget of so many false alarms in
// the time of a window, over all directions.
func byWindow(perWindow float64) *operation.Instrument {
	ins := operation.DefaultProbes()
	ins.Name, ins.InARow, ins.FalseAlarms = "mesh", 0, perWindow/100
	return &ins
}

func probing(t *testing.T, ins *operation.Instrument, directions int) *Probing {
	t.Helper()
	p, err := NewProbing(ins, directions)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The least c with m P(X >= c) <= alpha, X ~ Bin(1000, 1e-5), and m P(X >= c):
// at 60 digits. Between 47,104 and 94,208 directions c moves from 3 to 4.
func TestWindowThresholds(t *testing.T) {
	for _, c := range []struct {
		alpha      float64
		directions int
		least      int
		alarms     float64
	}{{0.01, 1, 1, 9.950216e-03}, {0.01, 1024, 3, 1.688877e-04}, {0.01, 47104, 3, 7.768836e-03}, {0.05, 47104, 3, 7.768836e-03}, {0.01, 94208, 4, 3.870863e-05}} {
		p := probing(t, byWindow(c.alpha), c.directions)
		if p.count.least != c.least || p.count.least != reliability.AlarmThreshold(windowTrials, healthyLoss, c.alpha, c.directions) {
			t.Errorf("%d directions, %v: %d losses, want %d", c.directions, c.alpha, p.count.least, c.least)
		}
		near(t, fmt.Sprintf("false alarms of %d directions", c.directions), p.FalseRate()*100, c.alarms, 1e-6)
	}
}

func TestBinomialTail(t *testing.T) {
	for _, n := range []int{1, 7, 1000} {
		for _, p := range []float64{1e-12, 1e-5, 0.003, 0.3, 0.9} {
			for _, c := range []int{0, 1, 2, 3, 9, 400, 1000, 1001} {
				if want := reliability.BinomialTail(c, n, p); want > 1e-290 {
					near(t, fmt.Sprintf("n %d p %g c %d", n, p, c), binomialTail(c, n, p), want, 1e-10)
				}
			}
		}
	}
	if binomialTail(1, 5, 0) != 0 || binomialTail(5, 5, 1) != 1 || binomialTail(6, 5, 1) != 0 {
		t.Error("certain losses")
	}
}

// Mean windows to the first alarm, 1/power, for c = 3 of 1,000.
func TestWindowsToAlarm(t *testing.T) {
	p := probing(t, byWindow(0.01), 47104)
	for _, c := range []struct{ loss, windows float64 }{{0.001, 12.46737555}, {0.003, 1.732662286}, {0.01, 1.002686631}} {
		what := fmt.Sprintf("loss %g", c.loss)
		near(t, what, 1/binomialTail(3, windowTrials, c.loss), c.windows, 1e-9)
		// The first window is whole: onset just before its first probe.
		heldMean(t, what, c.windows, 0, 40, 1000, func(u func() float64) float64 {
			at := sight(p, &failure.Condition{Kind: failure.Silent, Loss: c.loss}, 0, -1, u()) - p.ins.TimeOut
			return float64(at/(100*sec)) + 1
		})
	}
}

// sight is when the rule alarms about a direction, its clock being at phase, in
// ns.
func sight(p *Probing, c *failure.Condition, phase, onset int64, u float64) int64 {
	period := p.gap
	if p.ins.InARow == 0 {
		period = p.count.span()
	}
	return p.Sighted(&Sight{Condition: c, From: onset, Phase: float64(phase) / float64(period), U: u, Flow: u})
}

// sightedByProbes sends every probe of a direction from a window before onset.
func sightedByProbes(u func() float64, p *Probing, share float64, phase, onset int64) float64 {
	start := phase + (floorDiv(floorDiv(onset-phase, p.gap), windowTrials)*windowTrials)*p.gap
	lost, row := 0, 0
	for n := int64(0); ; n++ {
		at, here := start+n*p.gap, healthyLoss
		if n%windowTrials == 0 {
			lost = 0
		}
		if at > onset {
			here = share
		}
		row++
		if u() < here {
			lost++
		} else {
			row = 0
		}
		if at <= onset && p.count.least == 0 {
			row = 0
		}
		alarm := p.count.least > 0 && lost >= p.count.least || p.count.least == 0 && row == p.ins.InARow
		if at > onset && alarm {
			return float64(at + p.ins.TimeOut)
		}
	}
}

// Both rules against probes sent one by one, with the onset within a window.
func TestSightedAgainstProbes(t *testing.T) {
	row := operation.DefaultProbes()
	for _, c := range []struct {
		ins   *operation.Instrument
		share float64
		onset int64
	}{{&row, 0.3, 3*sec + 7}, {&row, 0.6, 100 * msec}, {byWindow(0.01), 0.002, 30 * sec}, {byWindow(0.01), 0.01, 95 * sec}, {byWindow(1e-9), 0.01, 60 * sec}} {
		p := probing(t, c.ins, 47104)
		what := fmt.Sprintf("%d in a row, %d in a window, loss %g", c.ins.InARow, p.count.least, c.share)
		// The mean of the law by its quantiles, evenly spread.
		want, n := 0.0, 20000
		for i := range n {
			want += float64(sight(p, &failure.Condition{Kind: failure.Silent, Loss: c.share}, 40*msec, c.onset, (float64(i)+0.5)/float64(n))) / float64(n)
		}
		heldMean(t, what, want, 3e-4*want, 40, 25, func(u func() float64) float64 {
			return sightedByProbes(u, p, c.share, 40*msec, c.onset)
		})
	}
}

// k losses in a row at 10 probes a second: the mean of the run-length law, half
// a gap less for the phase, and the time-out.
func TestRowMean(t *testing.T) {
	ins := operation.DefaultProbes()
	p := probing(t, &ins, 1000)
	for _, share := range []float64{0.02, 0.1, 0.5} {
		want := (reliability.RunMean(share, 3)-0.5)*100*msec + 500*msec
		heldMean(t, fmt.Sprintf("loss %g", share), want, 0, 40, 500, func(u func() float64) float64 {
			phase := int64(u() * 100 * msec)
			return float64(sight(p, &failure.Condition{Kind: failure.Silent, Loss: share}, phase, 77*sec, u()) - 77*sec)
		})
	}
	if sight(p, &failure.Condition{Kind: failure.Silent}, 0, 0, 0.5) != Never || sight(p, &failure.Condition{Kind: failure.Silent, Loss: 1e-9}, 0, 0, 0.999) != Never {
		t.Error("what comes after more than a century never comes")
	}
	if got := sight(p, &failure.Condition{Kind: failure.Hard}, 0, 50*msec, 0.5); got != 800*msec {
		t.Errorf("all lost: %d, want probes of 100, 200 and 300 ms and 500 ms", got)
	}
}

// What probes can see of each kind.
func TestProbesSee(t *testing.T) {
	ins := operation.DefaultProbes() // 64, 512, 1400 bytes
	p := probing(t, &ins, 10)
	fixed := ins
	fixed.PortsVaried = false
	one := probing(t, &fixed, 10)
	for _, c := range []struct {
		what string
		p    *Probing
		cond failure.Condition
		u    float64
		want float64
	}{
		{"lossy", p, failure.Condition{Kind: failure.Lossy, Loss: 0.01}, 0.5, 0.01},
		{"silent", p, failure.Condition{Kind: failure.Silent, Loss: 0.02}, 0.5, 0.02},
		{"oversize above 1000", p, failure.Condition{Kind: failure.Oversize, Above: 1000}, 0.5, 1.0 / 3},
		{"oversize above 100", p, failure.Condition{Kind: failure.Oversize, Above: 100}, 0.5, 2.0 / 3},
		{"oversize above all", p, failure.Condition{Kind: failure.Oversize, Above: 1400}, 0.5, 0},
		{"hole, ports varied", p, failure.Condition{Kind: failure.Blackhole, Share: 0.25}, 0.9, 0.25},
		{"hole, the one flow in it", one, failure.Condition{Kind: failure.Blackhole, Share: 0.25}, 0.2, 1},
		{"hole, the one flow not in it", one, failure.Condition{Kind: failure.Blackhole, Share: 0.25}, 0.3, 0},
		{"hung", p, failure.Condition{Kind: failure.Hard, Light: true}, 0.5, 1},
		{"flapping", p, failure.Condition{Kind: failure.Flapping}, 0.5, 0},
	} {
		if got := c.p.Loss(&c.cond, c.u); got.Share != c.want {
			t.Errorf("%s: %v, want %v", c.what, got.Share, c.want)
		}
	}
	small := ins
	small.Sizes = []float64{64}
	if got := probing(t, &small, 10).Loss(&failure.Condition{Kind: failure.Oversize, Above: 1000}, 0.5); got.Share != 0 {
		t.Error("probes of 64 B see a fault of packets above 1,000 B")
	}
	bursty := failure.Condition{Kind: failure.Lossy, Loss: 0.01, BurstMean: 3, BurstLoss: 1}
	if got := p.Loss(&bursty, 0.5); got != (Loss{0.01, 3, 1}) {
		t.Errorf("bursts: %+v", got)
	}
}

// Time to the next false alarm anywhere: the reciprocal of the rate.
func TestNextFalse(t *testing.T) {
	two := operation.DefaultProbes()
	two.InARow = 2
	for _, p := range []*Probing{probing(t, byWindow(0.01), 47104), probing(t, &two, 94208)} {
		mean := 1 / p.FalseRate()
		if p.count.least == 0 {
			near(t, "rate of two in a row", p.FalseRate(), 94208*10/reliability.RunMean(healthyLoss, 2), 1e-4)
		}
		heldMean(t, fmt.Sprintf("false alarm of %d", p.count.least), mean, 0, 40, 1000, func(u func() float64) float64 {
			return float64(NextFalse(p.FalseRate(), u())) / sec
		})
	}
}

func TestBudget(t *testing.T) {
	row := operation.DefaultProbes()
	row.Name, row.InARow, row.FalseAlarms = "rows", 1, 1e-3
	for _, c := range []struct {
		ins  *operation.Instrument
		says string
	}{{byWindow(0), "1000 losses of 1000"}, {&row, "1 losses in a row alarm falsely 0.471 times a second"}} {
		_, err := NewProbing(c.ins, 4710)
		var budget *BudgetError
		if !errors.As(err, &budget) || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), c.ins.Name) {
			t.Errorf("%v, want %q", err, c.says)
		}
	}
	row.InARow = 3
	if p := probing(t, &row, 4710); math.Abs(p.FalseRate()/(47100e-15)-1) > 1e-4 {
		t.Errorf("three in a row: %v", p.FalseRate())
	}
}
