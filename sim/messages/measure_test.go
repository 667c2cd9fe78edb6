package messages

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"halflight/model"
)

// gap is how far the engine is from the twin over many scripts.
type gap struct {
	scripts, equal     int
	routers, as        int       // routers; those that ran as often in both
	shifts             []float64 // ms, of the runs of these, without sign
	lost               []float64 // s of all demand, engine less twin
	byEngine, byTwin   float64   // s of all demand, mean
	later              float64   // ms, mean shift of the twin's runs
	sent, resent, lsps int
}

// add compares one script.
func (g *gap) add(e outcome, p *play) {
	m := asOutcome(p)
	g.scripts++
	if differ(e, m) == "" {
		g.equal++
	}
	for i, r := range m.routers {
		g.routers++
		g.lsps += len(r.originations)
		if len(r.runs) != len(e.routers[i].runs) {
			continue
		}
		g.as++
		for n, at := range r.runs {
			d := float64(at-e.routers[i].runs[n]) / 1e6
			g.shifts = append(g.shifts, math.Abs(d))
			g.later += d
		}
	}
	g.lost = append(g.lost, e.lost-m.lost)
	g.byEngine += e.lost
	g.byTwin += m.lost
	for _, x := range p.routers {
		g.sent += x.sent
		g.resent += x.resent
	}
}

// at is a quantile of sorted values.
func at(sorted []float64, q float64) float64 {
	if len(sorted) == 0 {
		return math.NaN()
	}
	return sorted[min(int(q*float64(len(sorted))), len(sorted)-1)]
}

// sorted puts the values in order, for at.
func (g *gap) sorted() (shifts, lost []float64) {
	for _, d := range g.lost {
		lost = append(lost, math.Abs(d))
	}
	slices.Sort(g.shifts)
	slices.Sort(lost)
	return g.shifts, lost
}

func (g *gap) String() string {
	shifts, lost := g.sorted()
	n := float64(g.scripts)
	return fmt.Sprintf("%d scripts, %d equal in all; %.1f %% of routers ran as often in both, their runs apart by (ms) median %.3g, 95 %% %.3g, 99 %% %.3g, most %.4g, "+
		"mean (twin later) %.3g; lost seconds apart by (ms of all demand) median %.3g, 95 %% %.3g, most %.4g; mean lost by engine %.4g, by twin %.4g (%+.2f %%)",
		g.scripts, g.equal, 100*float64(g.as)/float64(g.routers), at(shifts, 0.5), at(shifts, 0.95), at(shifts, 0.99), at(shifts, 1),
		g.later/float64(len(shifts)), 1e3*at(lost, 0.5), 1e3*at(lost, 0.95), 1e3*at(lost, 1), 1e3*g.byEngine/n, 1e3*g.byTwin/n, 100*(g.byEngine/g.byTwin-1))
}

// measured plays many random scripts with the engine and with the twin on a wire
// of its own.
func measured(t *testing.T, scripts uint64, calm bool, change func(w *model.World), by func(w *model.World) *wire, which func(p *play) bool) *gap {
	g := &gap{}
	for seed := range scripts {
		w := build(t, generate(1_000_000+seed, calm))
		change(w)
		w1 := by(w)
		w1.seed = seed
		if p := playScript(w, w1); which(p) {
			g.add(engine(w), p)
		}
	}
	return g
}

func unchanged(*model.World) {}

func every(*play) bool { return true }

// paced turns pacing on in both.
func paced(burst int, interval int64) func(w *model.World) {
	return func(w *model.World) {
		w.Timers.Pacing, w.Timers.PacingBurst, w.Timers.PacingInterval = true, burst, interval
	}
}

// queued is a wire with a queue on each interface, paced as the world says.
func queued(w *model.World) *wire {
	by := ideal(w)
	by.burst, by.interval = w.Timers.PacingBurst, w.Timers.PacingInterval
	return by
}

// real is a wire with everything: summaries and acknowledgements take their time
// (200 ms for the latter, RFC 9681, section 5.1), exchanges are sent LSP by LSP,
// every interface has a queue and a window of 60 (RFC 9681, section 6.2.4.1), and
// messages are lost.
func real(loss float64) func(w *model.World) *wire {
	return func(w *model.World) *wire {
		by := queued(w)
		by.atOnce, by.ackDelay, by.window, by.loss = false, 200e6, 60, loss
		return by
	}
}

// Where something changes while an LSP is on its way the engine keeps to S11 and
// S12, which are not what messages do. How far it is from them is measured here.
func TestMeasureChangesInFlight(t *testing.T) {
	g := measured(t, 500, false, unchanged, ideal, func(p *play) bool { return p.meetings > 0 })
	t.Log("changes in flight:", g)
	g.hold(t, 0.85, 1, 0.001)
}

// hold fails if the figures have become worse than those that are stated: a share
// of scripts equal in all, ms for 95 of 100 runs, a relative error of what is lost.
func (g *gap) hold(t *testing.T, equal, shift, lost float64) {
	t.Helper()
	shifts, _ := g.sorted()
	if float64(g.equal) < equal*float64(g.scripts) || at(shifts, 0.95) > shift || math.Abs(g.byEngine/g.byTwin-1) > lost {
		t.Errorf("worse than %g equal, %g ms, %g of what is lost: %v", equal, shift, lost, g)
	}
}

// How far the token bucket of the whole area (S13) is from queues on each
// interface.
func TestMeasurePacing(t *testing.T) {
	for _, c := range []struct {
		burst              int
		interval           int64
		equal, shift, lost float64
	}{{1, 33e6, 0.05, 300, 0.02}, {10, 33e6, 0.8, 1, 0.003}, {1, 5e6, 0.1, 20, 0.002}, {1, 1e6, 0.15, 2, 0.002}} {
		g := measured(t, 200, true, paced(c.burst, c.interval), queued, every)
		t.Logf("pacing, burst %d, interval %d ms: %v", c.burst, c.interval/1e6, g)
		g.hold(t, c.equal, c.shift, c.lost)
	}
}

// Queues, windows, acknowledgements that take their time, exchanges LSP by LSP,
// and messages that are lost.
func TestMeasureAll(t *testing.T) {
	for _, c := range []struct{ loss, equal, shift, lost float64 }{{0, 0.4, 10, 0.01}, {0.001, 0.4, 10, 0.01}, {0.01, 0.35, 15, 0.01}, {0.1, 0.15, 150, 0.05}} {
		g := measured(t, 200, true, paced(10, 33e6), real(c.loss), every)
		t.Logf("queues, windows, %g of messages lost: %v; %d LSPs sent, %d again", c.loss, g, g.sent, g.resent)
		g.hold(t, c.equal, c.shift, c.lost)
	}
}

// One failure at a time: when the last router computes, after a spine of sixteen
// leaves fails (sixteen LSPs at once) and returns, or one link does. The returning
// spine has its own timers.
func TestMeasureOneFailure(t *testing.T) {
	const text = "{name: one, random: false, horizon: 200s, fabric: {clos: {pods: 1, leaves: 16, spines: 4, tops: 0}}, " +
		"detection: {bfd: false, hello: false}, script: [{at: 1s, on: %s, kind: hard, for: 99s}]}"
	for _, on := range []string{"leaf-0-0~spine-0-0", "spine-0-0"} {
		for _, c := range []struct {
			burst    int
			interval int64
			worst    float64 // ms
		}{{1, 1e6, 20}, {1, 33e6, 600}, {10, 33e6, 600}} {
			w := build(t, fmt.Sprintf(text, on))
			paced(c.burst, c.interval)(w)
			p := playScript(w, queued(w))
			m, e := asOutcome(p), engine(w)
			var lasts [2][2]float64 // first run after the failure, last router; after the return
			for i, o := range []outcome{e, m} {
				for half, begin := range []int64{1e9, 100e9} {
					for _, r := range o.routers {
						for _, at := range r.runs {
							if at >= begin && at < begin+50e9 {
								lasts[i][half] = max(lasts[i][half], float64(at-begin)/1e6)
								break
							}
						}
					}
				}
			}
			t.Logf("%s, burst %d, interval %d ms: last router's first run after the failure, by engine %g ms, by twin %g ms; after the return %g ms, %g ms; lost %.6g ms, %.6g ms",
				on, c.burst, c.interval/1e6, lasts[0][0], lasts[1][0], lasts[0][1], lasts[1][1], 1e3*e.lost, 1e3*m.lost)
			if d := math.Abs(lasts[0][0] - lasts[1][0]); d > c.worst {
				t.Errorf("%s: %g ms apart, stated %g", on, d, c.worst)
			}
		}
	}
}
