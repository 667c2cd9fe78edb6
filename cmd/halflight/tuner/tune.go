// Package tuner searches timers: it makes the conditions of a race, has candidates
// played under them with common draws, and plays the best and the present setting
// again where the search has not been.
//
// The search itself knows numbers only (results/tuning). It is tested by searches
// that are stopped at any moment and go on.
package tuner

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"halflight/cmd/halflight/player"
	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/studies"
	"halflight/model/setting"
	"halflight/model/timer"
	"halflight/results/contrast"
	"halflight/results/stat"
	"halflight/results/tuned"
	"halflight/results/tuning"
	"halflight/sim"
	"halflight/sim/record"
	"halflight/sim/replication"
)

// Tune is a search for timers.
type Tune struct {
	Name            string
	Set             []string
	Start, Local    int
	Replications    int    // of a candidate at each flap rate in the race
	Horizon, WarmUp string // of a replication in the race; ten days after one when empty
	Limit           float64
	Floors          map[string]string // by key, as typed
	Measures        []string          // compared at full length
	Memory          string            // path of the file that outlives a kill
	Stage           func(text string)

	Base       *studies.Scenario
	knobs      []timer.Knob
	storms     []condition
	rates      []condition
	trial      []condition // one, or none
	order      order
	study      string
	memory     *memory
	presentOf  map[int]tuning.Figures // by block
	scaleOf    map[int]float64
	playedOnes int
}

// A replication of the race measures ten days after one, or less where the
// scenario does.
const raceHorizon, raceWarmUp = 10 * 86400e9, 86400e9

// unseen is the number of the first replication that a search never sees.
const unseen = 500_000

// curvePoints is how many settings of the curve are played again.
const curvePoints = 6

// flatBy is the factor by which knobs are moved from the best.
const flatBy = 2

// Untuned says what is left alone.
var Untuned = []string{"spf_run and table writes: properties of routers, not settings"}

// Open loads the scenario and all conditions. It returns the digest of the study.
func (t *Tune) Open(h *studies.Host) (digest string, err error) {
	if t.Base, err = h.Load(t.Name, t.Set); err != nil {
		return "", err
	}
	if !t.Base.World.Random || len(t.Base.World.Modes) == 0 {
		return "", status.Data("%s has no random faults, and timers cannot be judged by a script alone", t.Base.File)
	}
	w := t.Base.World
	t.WarmUp = setting.Span(min(w.WarmUp, raceWarmUp))
	if t.Horizon == "" {
		t.Horizon = setting.Span(min(w.Horizon, raceHorizon))
	}
	t.knobs = timer.Knobs(&w.Timers)
	parts := []any{"tune", t.Base.Digest, t.Start, t.Local, t.Replications, t.Limit}
	if err := t.moveFloors(); err != nil {
		return "", err
	}
	for _, k := range t.knobs {
		parts = append(parts, k.Path, k.Floor, k.Most)
	}
	if t.storms, t.rates, t.trial, err = conditions(h, t.Name, t.Set, t.Base, t.Horizon, t.WarmUp); err != nil {
		return "", err
	}
	for _, c := range slices.Concat(t.storms, t.rates, t.trial) {
		if err := sim.Check(c.base.World); err != nil {
			return "", status.Data("%s: %w", c.base.File, err)
		}
		parts = append(parts, c.base.Digest)
	}
	t.order = t.race()
	t.study = studies.Digest(append(parts, h.Program)...)
	return t.study, nil
}

// moveFloors puts floors where they were asked to be.
func (t *Tune) moveFloors() error {
	left := maps.Clone(t.Floors)
	for i := range t.knobs {
		k := &t.knobs[i]
		text, ok := t.Floors[k.Path]
		if !ok {
			continue
		}
		delete(left, k.Path)
		most := k.Most
		if k.Off > 0 {
			most = k.Off - 1
		}
		v, err := parseKnob(k, text)
		switch {
		case err != nil:
			return status.CommandLine("--floor %s=%s: %v", k.Path, text, err)
		case v > most:
			return status.CommandLine("--floor %s=%s: is above %s, the most that is tried", k.Path, text, spell(k, most))
		}
		k.Floor = v
	}
	if len(left) > 0 {
		var known []string
		for _, k := range t.knobs {
			known = append(known, k.Path)
		}
		return status.CommandLine("--floor %s: is nothing that is searched here; that is %s", slices.Sorted(maps.Keys(left))[0], strings.Join(known, ", "))
	}
	return nil
}

// turned is the scenario of a condition at a point; see value.
func (t *Tune) turned(c *condition, point []float64) *studies.Scenario {
	w := *c.base.World
	if !slices.Equal(point, t.present()) {
		for i := range t.knobs {
			t.knobs[i].Turn(&w.Timers, t.value(i, point[i]))
		}
		w.Timers.Consistent()
	}
	return &studies.Scenario{Scenario: c.base.Scenario, World: &w, Digest: c.base.Digest}
}

// value rounds that of a knob to three digits, so that it can be typed, but for the
// present one.
func (t *Tune) value(knob int, v float64) int64 {
	if now := t.knobs[knob].Value(&t.Base.World.Timers); v == float64(now) {
		return now
	}
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 2, 64), 64)
	return int64(math.Round(rounded))
}

// play is one thing to play for a search or its proof.
type play struct {
	condition *condition
	number    uint32
	point     []float64
}

func (t *Tune) key(p *play) string {
	w := t.turned(p.condition, p.point).World
	var b strings.Builder
	fmt.Fprintf(&b, "%s|%d", p.condition.name, p.number)
	for i := range t.knobs {
		fmt.Fprintf(&b, "|%d", t.knobs[i].Value(&w.Timers))
	}
	return b.String()
}

// figures plays what the memory does not hold, what takes longest first.
func (t *Tune) figures(ctx context.Context, h *studies.Host, list []play) ([]tuning.Figures, error) {
	out := make([]tuning.Figures, len(list))
	keys := make([]string, len(list))
	var missing []int
	asked := map[string]bool{}
	for i := range list {
		keys[i] = t.key(&list[i])
		if _, ok := t.memory.held[keys[i]]; !ok && !asked[keys[i]] {
			missing = append(missing, i)
			asked[keys[i]] = true
		}
	}
	slices.SortStableFunc(missing, func(i, k int) int { return list[k].condition.dear - list[i].condition.dear })
	jobs := make([]replication.Job, len(missing))
	for k, i := range missing {
		jobs[k] = replication.Job{World: t.turned(list[i].condition, list[i].point).World, Seed: t.Base.World.Seed, Number: list[i].number}
	}
	keep := func(k int, r *record.Replication) error {
		one := &list[missing[k]]
		header := sim.HeaderOf(one.condition.base.World)
		t.playedOnes++
		return t.memory.keep(keys[missing[k]], tuning.FiguresOf(&header, r, one.condition.cuts...))
	}
	if _, err := replication.Each(ctx, jobs, h.Workers, keep, nil); err != nil {
		return nil, studies.OursOf(err)
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	for i := range list {
		out[i] = t.memory.held[keys[i]]
	}
	return out, nil
}

// evaluate is the cost function of the search.
func (t *Tune) evaluate(ctx context.Context, h *studies.Host) func([]tuning.Job) ([]tuning.Outcome, error) {
	now := t.present()
	return func(jobs []tuning.Job) ([]tuning.Outcome, error) {
		var list []play
		for _, j := range jobs {
			b := t.order.blocks[j.Block]
			list = append(list, play{b.condition, b.number, j.Point}, play{b.condition, b.number, now})
		}
		figures, err := t.figures(ctx, h, list)
		if err != nil {
			return nil, err
		}
		out := make([]tuning.Outcome, len(jobs))
		for i, j := range jobs {
			present := figures[2*i+1]
			t.presentOf[j.Block] = present
			out[i] = tuning.Outcome{Cost: tuning.Cost(figures[2*i], present, t.scale(j.Block)), Load: figures[2*i].Busy}
		}
		return out, nil
	}
}

// scale is the present loss in phases of convergence, over the blocks of the same
// condition up to one; it is fixed when a block is first met.
func (t *Tune) scale(block int) float64 {
	if v, ok := t.scaleOf[block]; ok {
		return v
	}
	of := t.order.blocks[block].condition
	sum, n := 0.0, 0
	for b := 0; b <= block; b++ {
		if t.order.blocks[b].condition == of {
			if f, ok := t.presentOf[b]; ok {
				sum, n = sum+f.Routing, n+1
			}
		}
	}
	t.scaleOf[block] = max(sum/float64(max(n, 1)), 1e-3)
	return t.scaleOf[block]
}

// present is the present setting as a point.
func (t *Tune) present() []float64 {
	point := make([]float64, len(t.knobs))
	for i := range t.knobs {
		point[i] = float64(t.knobs[i].Value(&t.Base.World.Timers))
	}
	return point
}

// Run searches, then plays the best and the present setting again where the search
// has not been. An error that is the context's leaves the memory for another time.
func (t *Tune) Run(ctx context.Context, h *studies.Host) (*tuned.Answer, error) {
	var err error
	if t.memory, err = recall(t.Memory, studies.Digest(t.study, player.Build())); err != nil {
		return nil, err
	}
	defer t.memory.close()
	t.presentOf, t.scaleOf = map[int]tuning.Figures{}, map[int]float64{}
	p := &tuning.Problem{Blocks: len(t.order.blocks), Looks: t.order.looks, Limit: t.Limit, Start: t.Start,
		Local: t.Local, Seed: t.Base.World.Seed, Evaluate: t.evaluate(ctx, h)}
	for i, now := range t.present() {
		p.Knobs = append(p.Knobs, tuning.Knob{Low: float64(t.knobs[i].Floor), High: float64(t.knobs[i].Most), Now: now})
	}
	p.Told = func(stage string, n int) {
		if stage == "local" {
			t.Stage(fmt.Sprintf("local search, %d of %d", n, t.Local))
			return
		}
		t.Stage(fmt.Sprintf("race, %s left", plural(n, "candidate")))
	}
	found, err := tuning.Search(p)
	if err != nil {
		return nil, err
	}
	return t.prove(ctx, h, p, found)
}

func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// prove plays on unseen replications and writes down what came of it.
func (t *Tune) prove(ctx context.Context, h *studies.Host, p *tuning.Problem, found *tuning.Result) (*tuned.Answer, error) {
	best := found.Candidates[found.Best]
	a := &tuned.Answer{Limit: t.Limit, Found: found.Best != 0, Untuned: Untuned,
		Searched: tuned.Searched{Start: t.Start, Alive: found.Alive, Local: found.Local}}
	t.writeKnobs(a, best.Point)
	t.Stage("how flat the best is")
	if err := t.flat(a, p, best); err != nil {
		return nil, err
	}
	t.Stage("unseen replications")
	if err := t.conditions(ctx, h, a, best.Point); err != nil {
		return nil, err
	}
	t.Stage("the curve, on unseen replications")
	if err := t.curve(ctx, h, a, p, found); err != nil {
		return nil, err
	}
	if a.Found {
		t.Stage("present and best setting at full length")
		if err := t.full(ctx, h, a, best.Point); err != nil {
			return nil, err
		}
	}
	a.Study = h.Set(t.Base, t.Base.World.Replications).Study
	a.Study.First = unseen
	a.Searched.Replications = len(t.memory.held)
	if a.Full != nil {
		a.Searched.Replications += 2 * t.Base.World.Replications
	}
	a.Sentences = a.Words()
	return a, nil
}

func (t *Tune) writeKnobs(a *tuned.Answer, point []float64) {
	w := t.turned(&t.rates[0], point).World
	for i := range t.knobs {
		k := &t.knobs[i]
		best := k.Value(&w.Timers)
		a.Knobs = append(a.Knobs, tuned.Knob{Key: k.Path, Present: spell(k, k.Value(&t.Base.World.Timers)), Best: spell(k, best),
			Floor: spell(k, k.Floor), Most: spell(k, k.Most), AtFloor: float64(best) <= float64(k.Floor)*1.02})
	}
}

func (t *Tune) flat(a *tuned.Answer, p *tuning.Problem, best *tuning.Candidate) error {
	steps, err := tuning.Flatness(p, best.Point, best.Costs, flatBy, t.order.flat)
	if err != nil {
		return err
	}
	for _, s := range steps {
		k := &t.knobs[s.Knob]
		a.Flat = append(a.Flat, tuned.Flat{Key: k.Path, To: spell(k, t.value(s.Knob, s.Point[s.Knob])),
			Up: s.Point[s.Knob] > best.Point[s.Knob], Change: tuned.ChangeOf(s.Change), Over: s.Load > t.Limit})
	}
	return nil
}

// unseenPlays are the replications of a point that the search has not seen.
func (t *Tune) unseenPlays(c *condition, point []float64, count int) (list []play) {
	for n := range count {
		list = append(list, play{c, uint32(unseen + n), point})
	}
	return list
}

func (t *Tune) conditions(ctx context.Context, h *studies.Host, a *tuned.Answer, best []float64) error {
	now := t.present()
	costs := make([]float64, t.Replications) // of a replication number, the mean over all conditions
	for i, all := 0, slices.Concat(t.storms, t.rates); i < len(all); i++ {
		c := &all[i]
		both, err := t.figures(ctx, h, append(t.unseenPlays(c, now, t.Replications), t.unseenPlays(c, best, t.Replications)...))
		if err != nil {
			return err
		}
		present, after := both[:t.Replications], both[t.Replications:]
		scale := 0.0
		for _, f := range present {
			scale += f.Routing / float64(len(present))
		}
		for k := range present {
			costs[k] += tuning.Cost(after[k], present[k], max(scale, 1e-3)) / float64(len(all))
		}
		a.Conditions = append(a.Conditions, tuned.Condition{Name: c.name, Storm: c.storm, Present: tuned.MeansOf(present), Best: tuned.MeansOf(after),
			P99: tuned.RatioOf(after, present)})
	}
	a.Gain = stat.Paired(costs, make([]float64, len(costs)), 0.95)
	return nil
}

// curveRuns is how often each setting of the curve is played at each rate,
// curveCostly how often at that which takes longest.
const curveRuns, curveCostly = 4, 2

func (t *Tune) curve(ctx context.Context, h *studies.Host, a *tuned.Answer, p *tuning.Problem, found *tuning.Result) error {
	points := []*tuning.Candidate{found.Candidates[0]}
	labels := []string{"present"}
	if found.Best != 0 {
		points, labels = append(points, found.Candidates[found.Best]), append(labels, "best")
	}
	for _, c := range tuning.Front(found.Candidates, p.Looks[0], curvePoints) {
		if !slices.Contains(points, c) {
			points, labels = append(points, c), append(labels, fmt.Sprint(len(points)))
		}
	}
	var runs []int
	for range t.rates {
		runs = append(runs, min(curveRuns, t.Replications))
	}
	if last := len(runs) - 1; last > 0 {
		runs[last] = min(curveCostly, t.Replications)
	}
	var list []play
	for _, c := range points {
		for r := range t.rates {
			list = append(list, t.unseenPlays(&t.rates[r], c.Point, runs[r])...)
		}
	}
	figures, err := t.figures(ctx, h, list)
	if err != nil {
		return err
	}
	for i, c := range points {
		one := tuned.Point{Label: labels[i]}
		w := t.turned(&t.rates[0], c.Point).World
		for k := range t.knobs {
			one.Values = append(one.Values, spell(&t.knobs[k], t.knobs[k].Value(&w.Timers)))
		}
		for _, n := range runs {
			one.Means = append(one.Means, tuned.MeansOf(figures[:n]))
			figures = figures[n:]
		}
		a.Curve = append(a.Curve, one)
	}
	slices.SortStableFunc(a.Curve, func(x, y tuned.Point) int {
		return cmp.Compare(busiest(x), busiest(y))
	})
	return nil
}

func busiest(p tuned.Point) (most float64) {
	for _, m := range p.Means {
		most = max(most, m.Busy)
	}
	return most
}

// full plays present and best at the scenario's own length. What is finished is kept
// whole, as that of a comparison is: whoever goes on has lost what was under way.
func (t *Tune) full(ctx context.Context, h *studies.Host, a *tuned.Answer, best []float64) error {
	c := condition{name: "full length", base: t.Base}
	turned := t.turned(&c, best)
	turned.Digest = studies.Digest(t.Base.Digest, t.key(&play{condition: &c, point: best}))
	sets, err := h.PlayFrom(ctx, []*studies.Scenario{t.Base, turned}, unseen, t.Base.World.Replications)
	if err != nil {
		return err
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	a.Full, err = contrast.Of([]contrast.Side{{Name: "present", Set: sets[0]}, {Name: "best", Set: sets[1]}}, 0.95, t.Measures...)
	return err
}

// Done drops the memory: all is in the result.
func (t *Tune) Done() { t.memory.drop() }
