package tuner

import (
	"fmt"
	"slices"
	"strings"

	"halflight/cmd/halflight/studies"
	"halflight/model"
	"halflight/model/fabric"
	"halflight/model/setting"
	"halflight/scenarios"
)

// condition is a kind of block: a world under which candidates are played.
type condition struct {
	name  string
	storm bool
	base  *studies.Scenario
	cuts  []string // parts whose scripted faults are cuts
	dear  int      // what is higher takes longer
}

// conditions of a race are the storm set and the scenario at its low, present and
// high flap rate, each over the same horizon; and where there is a high one, it over
// a shorter horizon, which is a trial and no condition of its own.
func conditions(h *studies.Host, name string, set []string, base *studies.Scenario, horizon, warmUp string) (storms, rates, trial []condition, err error) {
	for _, s := range storms3(base.World.Fabric) {
		one, err := h.Load(name, append(slices.Clone(set), "warm_up=0s", "horizon=3min", "random=true", "failures=[]", "operations.upgrades=false", "operations.changes=false", "replications=1", "script="+s.script))
		if err != nil {
			return nil, nil, nil, fmt.Errorf("%s: %w", s.name, err)
		}
		storms = append(storms, condition{name: s.name, storm: true, base: one, cuts: s.cuts})
	}
	short := append(slices.Clone(set), "horizon="+horizon, "warm_up="+warmUp, "replications=8")
	all := flapRates(base)
	for i, r := range all {
		one, err := h.Load(name, append(slices.Clone(short), r.set...))
		if err != nil {
			return nil, nil, nil, err
		}
		rates = append(rates, condition{name: r.name, base: one, dear: 2 * i})
	}
	if last := all[len(all)-1]; len(all) > 1 {
		one, err := h.Load(name, append(append(slices.Clone(short), last.set...), "horizon="+trialHorizon(horizon)))
		if err != nil {
			return nil, nil, nil, err
		}
		trial = []condition{{name: "trial at the " + last.name, base: one, dear: 2*(len(all)-1) - 1}}
	}
	return storms, rates, trial, nil
}

// trialShare is the share of the horizon that a trial measures, of which a range of
// x 5 leaves as many episodes as the present rate has in all of it; but a day at
// least.
const trialShare, trialLeast = 5, 86400e9

// trialHorizon is the time that a trial at the high flap rate measures, where a day
// takes as long as many at the others.
func trialHorizon(horizon string) string {
	d, err := scenarios.ParseDuration(horizon)
	if err != nil {
		return horizon // loading says what is wrong with it
	}
	return setting.Span(min(int64(d), max(int64(d)/trialShare, trialLeast)))
}

type flapRate struct {
	name string
	set  []string
}

// flapRates are the ends of the documented range of every flapping mode, a fifth
// and five times the rate where there is none, and the present rate between.
func flapRates(base *studies.Scenario) []flapRate {
	low, high := flapRate{name: "low flap rate"}, flapRate{name: "high flap rate"}
	for _, s := range model.Resolve(base.Scenario) {
		if !setting.Matches("failures.*.episodes", s.Path) {
			continue
		}
		s.Range = strings.TrimSpace(s.Range)
		e, ok := s.Span()
		if !ok {
			s.Range = "x 0.2 to x 5"
			if e, ok = s.Span(); !ok {
				continue
			}
		}
		low.set, high.set = append(low.set, s.Key+"="+e.At(0)), append(high.set, s.Key+"="+e.At(1))
	}
	present := flapRate{name: "present flap rate"}
	if len(low.set) == 0 {
		present.name = "random faults"
		return []flapRate{present}
	}
	return []flapRate{low, present, high}
}

type storm struct {
	name, script string
	cuts         []string
}

// storms3 is the storm set: a power domain of 20 leaves (or half of them) goes
// dark; a spine reloads while three links flap; a link is cut while one origin
// changes a metric every 100 ms.
func storms3(f *fabric.Fabric) []storm {
	leaves := min(20, f.Leaves/2)
	power := storm{name: fmt.Sprintf("power domain of %d leaves", leaves)}
	var lines []string
	for _, r := range f.Routers[:leaves] {
		lines = append(lines, fmt.Sprintf("{at: 10s, on: %s, kind: hard, for: 60s}", r.Name))
		power.cuts = append(power.cuts, r.Name)
	}
	power.script = "[" + strings.Join(lines, ", ") + "]"

	noise := storm{name: "spine reload in noise"}
	lines = nil
	spine := f.Routers[f.Leaves]
	step := max(1, len(f.Links)/4)
	for k := 1; k < 4; k++ {
		lines = append(lines, fmt.Sprintf("{at: %ds, on: %q, kind: flapping, period: 6s, off: 2s, for: 120s}", 4+k, f.Links[(k*step)%len(f.Links)].Name))
	}
	lines = append(lines, fmt.Sprintf("{at: 60s, on: %s, kind: restart, for: 20s}", spine.Name))
	noise.script, noise.cuts = "["+strings.Join(lines, ", ")+"]", []string{spine.Name}

	churn := storm{name: "one origin changes a metric every 100 ms"}
	lines = nil
	for k := range 300 {
		lines = append(lines, fmt.Sprintf("{at: %dms, on: %q, kind: drain, for: 100ms}", 10_000+200*k, f.DirectionName(0)))
	}
	cut := f.Links[len(f.Links)/2].Name
	lines = append(lines, fmt.Sprintf("{at: 40s, on: %q, kind: hard, for: 20s}", cut))
	churn.script, churn.cuts = "["+strings.Join(lines, ", ")+"]", []string{cut}
	return []storm{churn, noise, power} // cheap ones first, so that bad candidates die early
}

// block is one replication under a condition.
type block struct {
	condition *condition
	number    uint32
}

// order is that of the blocks of a race.
type order struct {
	blocks []block
	looks  []int // see tuning.Problem
	flat   int   // flatness is looked at over the first so many
}

// early is how many rounds at the cheap flap rates come before the trial.
const early = 3

// race puts blocks in order of what they cost, so that bad candidates die before the
// high flap rate, of which a replication takes as long as forty others: storms, a few
// rounds of the other rates, one trial at the high one, the other rounds, and at
// last the high rate. The trial has draws that no replication at the high rate has.
func (t *Tune) race() (o order) {
	for i := range t.storms {
		o.blocks = append(o.blocks, block{&t.storms[i], 0})
	}
	add := func(rates []condition, from, to int) {
		for n := from; n < to; n++ {
			for i := range rates {
				o.blocks = append(o.blocks, block{&rates[i], uint32(n)})
			}
		}
	}
	cheap, first := t.rates[:max(1, len(t.rates)-1)], min(early, t.Replications)
	add(cheap, 0, first)
	o.looks = []int{len(o.blocks)}
	add(t.trial, t.Replications, t.Replications+1)
	o.flat = len(o.blocks)
	add(cheap, first, t.Replications)
	if len(o.blocks) > o.looks[0] {
		o.looks = append(o.looks, len(o.blocks))
	}
	add(t.rates[len(cheap):], 0, t.Replications)
	return o
}
