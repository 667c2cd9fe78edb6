package detection

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"halflight/model/failure"
	"halflight/model/operation"
	"halflight/model/reliability"
	"halflight/model/traffic"
)

// site is a fabric of 400 leaves in ten pods under 16 spines and 8 tops, with a
// million packets a second on each direction.
func site() *Site {
	d := traffic.Default()
	return &Site{Leaves: 400, Demand: &d, Ways: [2]Way{
		{Pairs: 2 * 399, Share: 1.0 / 16, Packets: 1e6, Class: 0, Number: 12800},
		{Pairs: 2 * 40 * 360, Share: 1.0 / 128, Packets: 1e6, Class: 1, Number: 2560}}}
}

func lookout(t *testing.T, ins operation.Instrument) Lookout {
	t.Helper()
	ins.Name = "it"
	w, err := NewLookout(&ins, site())
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// meanOf is the mean of a sighting's delay over draws and phases, by evenly
// spread quantiles; what never comes makes it infinite.
func meanOf(w Lookout, s Sight, n int) float64 {
	sum := 0.0
	for i := range n {
		s.U = (float64(i) + 0.5) / float64(n)
		s.Phase = math.Mod(float64(i)*0.6180339887498949, 1)
		s.From = 1e15
		at := w.Sighted(&s)
		if at == Never {
			return math.Inf(1)
		}
		sum += float64(at-s.From) / float64(n)
	}
	return sum
}

// Silent loss is found by probes in k / (rate x loss) where a window holds many
// times the losses that it takes: a slope of -1 on logarithmic axes, by
// arithmetic. Counted loss is found by counters at the pace of the poll,
// whatever the loss: flat. By the mean time to lose so many probes: 10 a second
// and k = 3 take 30 s at 1e-2, 5 min at 1e-3 and 50 min at 1e-4.
func TestDelayAgainstLoss(t *testing.T) {
	probes := operation.DefaultProbes()
	probes.InARow, probes.FalseAlarms, probes.Window = 0, 1, 1_000_000 // no real budget: the rule is k = 18 of a million
	p := lookout(t, probes)
	k := float64(p.(*Probing).count.least)
	counters := lookout(t, operation.DefaultPolling())
	var logs, delays []float64
	for _, loss := range []float64{3e-4, 1e-3, 3e-3, 1e-2, 3e-2, 1e-1} {
		silent := meanOf(p, Sight{Condition: &failure.Condition{Kind: failure.Silent, Loss: loss}}, 2000) - 500*msec
		near(t, fmt.Sprintf("probes at %g", loss), silent, k/(10*loss)*sec, 0.12)
		logs, delays = append(logs, math.Log(loss)), append(delays, math.Log(silent))
		counted := meanOf(counters, Sight{Condition: &failure.Condition{Kind: failure.Lossy, Loss: loss}}, 2000)
		near(t, fmt.Sprintf("counters at %g", loss), counted, 450*sec, 0.01)
	}
	if slope := slopeOf(logs, delays); math.Abs(slope+1) > 0.05 {
		t.Errorf("slope %v, want -1 within 0.05", slope)
	} else {
		t.Logf("delay of silent loss against loss: slope %.3f; of counted loss: flat", slope)
	}
	for _, c := range []struct {
		loss, want float64
	}{{1e-2, 30}, {1e-3, 300}, {1e-4, 3000}} {
		three := counting{trials: 100_000_000, gap: 100 * msec, healthy: 0, least: 3}
		got := 0.0
		for i := range 4000 {
			got += float64(three.sighted((float64(i)+0.5)/4000, []met{{1, c.loss}}, 1, 0, -1)+100*msec) / 4000
		}
		near(t, fmt.Sprintf("three losses at %g", c.loss), got, c.want*sec, 2e-3)
	}
}

// Ten probes a second over each link, three losses: a fault is located within 20 s
// down to 2 % of loss, and no longer at 1 % (probes between
// network cards that locate within 20 s: Liu et al., SIGCOMM 2024, sections 4 and 6, the
// authors from memory; the boundary by arithmetic, 3 / (10 x loss)).
func TestLocatedWithinTwentySeconds(t *testing.T) {
	rule := counting{trials: 1_000_000, gap: 100 * msec, healthy: healthyLoss, least: 3}
	for _, c := range []struct {
		loss   float64
		within bool
	}{{0.05, true}, {0.02, true}, {0.01, false}, {0.005, false}} {
		mean := 0.0
		for i := range 2000 {
			mean += float64(rule.sighted((float64(i)+0.5)/2000, []met{{1, c.loss}}, 1, 0, -1)) / 2000
		}
		if (mean <= 20*sec) != c.within {
			t.Errorf("loss %v: %v s", c.loss, mean/sec)
		}
	}
}

func slopeOf(x, y []float64) float64 {
	n, sx, sy, sxx, sxy := float64(len(x)), 0.0, 0.0, 0.0, 0.0
	for i := range x {
		sx, sy, sxx, sxy = sx+x[i], sy+y[i], sxx+x[i]*x[i], sxy+x[i]*y[i]
	}
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}

// Many tests at once against playing each of them, trial by trial.
func TestFirstOfManyAgainstTrials(t *testing.T) {
	for _, c := range []struct {
		rule  counting
		what  []met
		tests int
		onset int64
	}{
		{counting{trials: 40, gap: 10, healthy: 0.001, least: 3}, []met{{1, 0.03}}, 5, 177},
		{counting{trials: 40, gap: 10, healthy: 0.001, least: 2, late: 7}, []met{{0.6, 0.02}, {0.4, 0.05}}, 12, 395},
		{counting{trials: 40, gap: 10, healthy: 0.001, least: 3, atEnd: true}, []met{{1, 0.03}}, 4, 20},
	} {
		want, n := 0.0, 20000
		for i := range n {
			want += float64(c.rule.sighted((float64(i)+0.5)/float64(n), c.what, c.tests, 0, c.onset)) / float64(n)
		}
		heldMean(t, fmt.Sprintf("first of %d, %d losses", c.tests, c.rule.least), want, 1e-3*want, 40, 100, func(u func() float64) float64 {
			first := math.Inf(1)
			for range c.tests {
				share, v := 0.0, u()
				for _, m := range c.what {
					if v < m.weight && share == 0 {
						share = m.share
					}
					v -= m.weight
					if v < 0 {
						break
					}
				}
				first = min(first, oneTest(u, &c.rule, share, c.onset, first))
			}
			return first
		})
	}
}

// oneTest plays one test until it alarms, or longer than is asked for.
func oneTest(u func() float64, c *counting, share float64, onset int64, most float64) float64 {
	lost := 0
	for n := int64(0); ; n++ {
		at, here := n*int64(c.gap), share
		if at <= onset {
			here = c.healthy
		}
		if n%int64(c.trials) == 0 {
			lost = 0
		}
		if u() < here {
			lost++
		}
		if float64(at) > most || here == 0 && at > onset {
			return most + 1
		}
		if at > onset && lost >= c.least && (!c.atEnd || n%int64(c.trials) == int64(c.trials)-1) {
			return float64(at + c.late)
		}
	}
}

// Fixed flows find a link that none of them crosses never: with m flows and s of
// the ways over the link, one pair covers it with 1-(1-s)^m. Coupon collector's
// rule of probing: 16 ways, one flow each, and how many flows it takes to cover a
// link with 90 % (closed form). All pairs together leave nothing out.
func TestCoverage(t *testing.T) {
	ins := operation.DefaultProbes()
	ins.InARow, ins.FalseAlarms, ins.Pairs, ins.PortsVaried = 0, 1.0/2592000, true, false
	for _, c := range []struct {
		flows, pairs int
		want         float64
	}{{1, 1, 1.0 / 16}, {36, 1, 1 - math.Pow(15.0/16, 36)}, {1, 798, 1 - math.Pow(15.0/16, 798)}} {
		ins.Flows = c.flows
		w := lookout(t, ins)
		s := Sight{Condition: &failure.Condition{Kind: failure.Silent, Loss: 0.5}, Way: Way{Pairs: c.pairs, Share: 1.0 / 16}}
		seen, n := 0, 4000
		for i := range n {
			s.U = (float64(i) + 0.5) / float64(n)
			if w.Sighted(&s) < 1000*hr {
				seen++
			}
		}
		if got := float64(seen) / float64(n); math.Abs(got-c.want) > 1.5/float64(n) {
			t.Errorf("%d flows of %d pairs: %v, want %v", c.flows, c.pairs, got, c.want)
		}
	}
	if f := math.Ceil(math.Log(0.1) / math.Log(15.0/16)); f != 36 {
		t.Errorf("flows for 90 %%: %v", f)
	}
	// With ports varied every pair crosses every way in turn: a share of its probes.
	ins.PortsVaried = true
	s := Sight{Condition: &failure.Condition{Kind: failure.Silent, Loss: 0.5}, Way: Way{Pairs: 1, Share: 1.0 / 16}}
	if at := meanOf(lookout(t, ins), s, 200); at > 60*sec {
		t.Errorf("varied ports take %v s", at/sec)
	}
}

// What each instrument can see of each kind. This only gives back what was put in:
// that counters miss silent loss, holes and sizes is what these kinds mean, and no
// evidence that faults are like that.
func TestWhoSeesWhat(t *testing.T) {
	mesh := operation.DefaultProbes()
	mesh.InARow, mesh.FalseAlarms, mesh.Pairs = 0, 1.0/2592000, true
	hosts, drops := operation.DefaultHosts(), operation.DefaultDrops()
	all := map[string]Lookout{"counters": lookout(t, operation.DefaultPolling()), "mesh": lookout(t, mesh), "hosts": lookout(t, hosts), "drops": lookout(t, drops),
		"optics": lookout(t, operation.DefaultOptics())}
	for _, c := range []struct {
		cond failure.Condition
		see  string
	}{
		{failure.Condition{Kind: failure.Lossy, Loss: 0.01}, "counters mesh hosts drops optics"},
		{failure.Condition{Kind: failure.Silent, Loss: 0.01}, "mesh hosts drops"},
		{failure.Condition{Kind: failure.Blackhole, Share: 0.05}, "mesh hosts drops"},
		{failure.Condition{Kind: failure.Oversize, Above: 1000}, "mesh hosts drops"},
		{failure.Condition{Kind: failure.Flapping}, ""},
	} {
		for name, w := range all {
			s := Sight{Condition: &c.cond, Way: site().Ways[0], U: 0.5, Blind: 0.1, From: 1e12}
			at := w.Sighted(&s)
			if want := strings.Contains(c.see, name); (at < 1e12+hr) != want {
				t.Errorf("%s, %s: sighted at %v, want seen %v", name, c.cond.Kind, at, want)
			}
			s.Blind = 0.6 // beyond the share that routers know they drop
			if at := w.Sighted(&s); name == "drops" && c.cond.Kind == failure.Silent && at != Never {
				t.Errorf("a part of the router that reports nothing: %v", at)
			}
			s.Blind = 0.9
			if at := w.Sighted(&s); name == "hosts" && at != Never {
				t.Errorf("servers without traffic there: %v", at)
			}
		}
	}
}

// Frames lost at an error ratio: the table against the exact codeword sum, and
// the way back. IEEE 802.3 clause 91 codes; 12,000 bits lie on 1 + 12000/5140
// codewords of 5,140 data bits.
func TestRatio(t *testing.T) {
	for _, r := range ratios {
		exact := -math.Expm1((1 + 12000.0/5140) * math.Log1p(-reliability.RS544.CodewordFailure(r.ratio)))
		near(t, fmt.Sprintf("frames lost at %g", r.ratio), r.lost, exact, 1e-4)
		near(t, fmt.Sprintf("ratio of %g", r.lost), ratio(r.lost), r.ratio, 1e-12)
	}
	// Between two rows the interpolation is off by little.
	for _, ber := range []float64{4.5e-4, 6e-4, 8e-4, 1.2e-3} {
		lost := (1 + 12000.0/5140) * reliability.RS544.CodewordFailure(ber)
		near(t, fmt.Sprintf("ratio at %g", ber), ratio(lost), ber, 0.02)
	}
	if ratio(1e-30) != 2e-4 || ratio(1) != 3e-3 {
		t.Error("beyond the table")
	}
}

// A receiver drifts from 1e-8 to 1e-3 (5.1e-4 of frames) within 10 d: by hand,
// three of five decades are passed after 6 d, and the second reading from then on
// at most 10 min later. A threshold above what the fault reaches sees nothing.
func TestForeseen(t *testing.T) {
	w := lookout(t, operation.DefaultOptics())
	const onset = 30 * 86400 * int64(1e9)
	over := 10 * 86400 * int64(1e9)
	at := Foreseen(w, 5.10194e-4, over, onset, 0, 0.5)
	if crossed := onset - over*2/5; at < crossed || at > crossed+600e9 || (at-150e9)%300e9 != 0 {
		t.Errorf("seen %v s after crossing", float64(at-crossed)/1e9)
	}
	if at := Foreseen(w, 5.10194e-4, over, onset, onset-3600e9, 0.5); at < onset-3600e9 || at > onset-3600e9+600e9 {
		t.Errorf("switched on an hour before: %v s before the onset", float64(onset-at)/1e9)
	}
	late := operation.DefaultOptics()
	late.Threshold = 2e-3
	if at := Foreseen(lookout(t, late), 5.10194e-4, over, onset, 0, 0.5); at != Never {
		t.Errorf("a threshold that is never reached: %v", at)
	}
	if Foreseen(lookout(t, operation.DefaultPolling()), 0.5, over, onset, 0, 0.5) != Never || Foreseen(w, 0.5, 1, onset, 0, 0.5) != Never {
		t.Error("counters foresee, or there is no time between two readings")
	}
}

// False alarms of a rule stay within the budget, and one loss less would not.
func TestBudgetsOfPackets(t *testing.T) {
	for _, ins := range []operation.Instrument{operation.DefaultHosts(), operation.DefaultDrops()} {
		p := lookout(t, ins).(*packets)
		if p.FalseRate() > ins.FalseAlarms || p.FalseRate() <= 0 {
			t.Errorf("%v: %v a second, budget %v", ins.Kind, p.FalseRate(), ins.FalseAlarms)
		}
		for class, c := range p.count {
			m := float64(site().Ways[class].Number)
			want := reliability.AlarmThreshold(c.trials, c.healthy, ins.FalseAlarms*m/15360*float64(ins.Every)/1e9, int(m))
			if c.least != want {
				t.Errorf("%v, class %d: %d losses of %d, want %d", ins.Kind, class, c.least, c.trials, want)
			}
			t.Logf("%v: %d losses of %d packets", ins.Kind, c.least, c.trials)
		}
	}
	tight := operation.DefaultHosts()
	tight.FalseAlarms, tight.Every, tight.Sample, tight.Name = 1e-300, 1e9, 2e-5, "tight"
	if _, err := NewLookout(&tight, site()); err == nil || !strings.Contains(err.Error(), `"tight": even 20 losses of 20 alarm falsely`) {
		t.Errorf("%v", err)
	}
	blunt := operation.DefaultOptics()
	blunt.Threshold = 1e-9
	if _, err := NewLookout(&blunt, site()); err == nil || !strings.Contains(err.Error(), "would alarm about all of them") {
		t.Errorf("%v", err)
	}
}
