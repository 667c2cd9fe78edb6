package operation

import (
	"math"
	"testing"

	"halflight/model/chance"
)

// Govindan et al., SIGCOMM 2016: about 80 % of high-impact incidents last 10 to
// 100 min. The log-normal law of median 32 min and sigma 0.90 was made from
// that (arithmetic); its mean is 47 min and its 95 % point 139 min, to 2 %.
func TestReaction(t *testing.T) {
	l := Reaction(false)
	minute := float64(60e9)
	if got := l.Survival(10*minute) - l.Survival(100*minute); math.Abs(got-0.8) > 0.005 {
		t.Errorf("share between 10 and 100 min: %v", got)
	}
	if got := l.Mean() / minute; math.Abs(got-47) > 1 {
		t.Errorf("mean %v min", got)
	}
	if got := l.Survival(139 * minute); math.Abs(got-0.05) > 0.002 {
		t.Errorf("share above 139 min: %v", got)
	}
	if a := Reaction(true); a.Family != chance.Fixed || a.Mean() != minute {
		t.Errorf("automatic: %+v", a)
	}
}

// Told what is wrong, a first repair works 60 % more often (Zhuo et al., SIGCOMM 2017,
// abstract); that half of the others do is from memory.
func TestFirstRepair(t *testing.T) {
	p := Default(0.6)
	if got := p.FirstGuided / p.FirstBlind; math.Abs(got-1.6) > 1e-12 || p.FirstBlind != 0.5 {
		t.Errorf("blind %v, guided %v times as often", p.FirstBlind, got)
	}
}

// The floor is the greater of 0.75 and busiest/0.9, and never above 1: assumed; that
// there is one, Zhuo et al., SIGCOMM 2017.
func TestFloor(t *testing.T) {
	for _, c := range []struct{ busiest, want float64 }{{0.6, 0.75}, {0.72, 0.8}, {0.95, 1}} {
		if got := Default(c.busiest).Floor; math.Abs(got-c.want) > 1e-15 {
			t.Errorf("busiest %v: floor %v, want %v", c.busiest, got, c.want)
		}
	}
}

// Counters every 300 s, two in a row, and complaints: a slow share of 0.1 %
// makes one in 24 h, one of 4.8 % or more one in 30 min (our own law, no published one
// exists). Probes: ten a second over each link, given up after 500 ms (Liu et al., SIGCOMM
// 2024, section 4, the authors from memory); three in a row and 15 % assumed.
func TestInstruments(t *testing.T) {
	p := Default(0.6)
	if len(p.Instruments) != 2 || p.Instruments[0].Kind != Polling || p.Instruments[1].Kind != Complaints || p.Crew != 0 {
		t.Fatalf("%+v", p)
	}
	n, c := p.Instruments[0], p.Instruments[1]
	if n.Every != 300e9 || n.InARow != 2 || n.WrongLink != 0 {
		t.Errorf("%+v", n)
	}
	if got := 1 / c.Rate / 3600; math.Abs(got-24) > 1e-9 {
		t.Errorf("a complaint every %v h", got)
	}
	if got := c.Threshold * c.RateMax / c.Rate; math.Abs(got-0.048) > 1e-12 {
		t.Errorf("the hazard stops growing at a slow share of %v", got)
	}
	pr := DefaultProbes()
	if pr.Rate != 10 || pr.TimeOut != 500e6 || pr.InARow != 3 || pr.WrongLink != 0.15 || len(pr.Sizes) != 3 {
		t.Errorf("%+v", pr)
	}
}
