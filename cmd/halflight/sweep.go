package main

import (
	"bytes"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/player"
	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/cmd/halflight/studies"
	"halflight/cmd/halflight/words"
	"halflight/model"
	"halflight/results"
	"halflight/results/page"
	"halflight/results/swing"
	"halflight/scenarios"
)

// swept are the measures that a sweep compares; shown are those it prints unless
// others are named.
var (
	swept = []string{"app.*.slow_share", "app.*.slow_share.worst_leaf", "lost_seconds.avoidable", "lost_seconds.stranded",
		"full_convergence.median", "full_convergence.p95", "full_convergence.p99", "wait_now.mean", "spf_runs", "busy.worst10s", "unnoticed.median",
		"technicians.offered"}
	shown = []string{"app.*.slow_share", "lost_seconds.avoidable", "full_convergence.median"}
)

// Fewer worlds than worldsLeast do not reach both ends of a bar that holds 90 % of
// them; worldsMost bounds a slip of the finger.
const worldsLeast, worldsMost = 20, 10_000

// sweepVerb varies keys or unsure inputs.
func (d *door) sweepVerb() *cobra.Command {
	var r running
	var vary, measures []string
	var worlds int
	c := &cobra.Command{
		Use:   "sweep [SCENARIO]",
		Short: "how results move with one or two keys, or every unsure input",
		Long: `Plays a scenario with other values of one or two keys. Without a key every
unsure input (one that rests on no primary source) is put to either end of its
documented range, one at a time, and the table begins with what moves most. With
--worlds all of them are drawn together. All settings share their draws. Leaves
a folder with sweep.json, ./sweep-NAME-SEED unless --out says otherwise.`,
		Example: `halflight sweep storm --vary timers.spf.rfc8405.long_delay=1s,5s --replications 2 --horizon 1h --set warm_up=10min
halflight sweep orchard --replications 2 --horizon 30d --set warm_up=30d
halflight sweep orchard --worlds 20 --replications 2 --horizon 30d --set warm_up=30d --out worlds`,
		Args: exactly(0, 1, "one scenario"),
	}
	r.flags(c)
	f := c.Flags()
	f.StringArrayVar(&vary, "vary", nil, "a `KEY=V1,V2,...`; twice, for every pair of values")
	f.StringArrayVar(&measures, "measure", nil, "a `MEASURE` to show, * for any one word; may be repeated")
	f.IntVar(&worlds, "worlds", 0, "draw the unsure inputs together, in a `NUMBER` of worlds\n(64 do well)")
	c.RunE = func(c *cobra.Command, args []string) error {
		s := &studies.Sweep{Name: scenarios.Default(), Measures: swept}
		if len(args) > 0 {
			s.Name = args[0]
		}
		if err := r.check(c.Flags().Changed); err != nil {
			return err
		}
		s.Set = r.set
		for _, m := range measures {
			if !slices.Contains(s.Measures, m) {
				s.Measures = append(slices.Clone(s.Measures), m)
			}
		}
		for _, v := range vary {
			k, err := studies.ParseKey(v)
			if err != nil {
				return status.CommandLine("--vary %s: %v", clip(v), err)
			}
			if slices.ContainsFunc(s.Keys, func(other studies.Key) bool { return other.Key == k.Key }) {
				return status.CommandLine("--vary %s: the same key twice; write all its values behind one", clip(v))
			}
			if k.Key == "replications" {
				return status.CommandLine("--vary %s: how many there are changes none of them; --replications says how many", clip(v))
			}
			s.Keys = append(s.Keys, k)
		}
		switch {
		case len(s.Keys) > 2:
			return status.CommandLine("--vary is for one or two keys, not %d", len(s.Keys))
		case c.Flags().Changed("worlds") && (worlds < worldsLeast || worlds > worldsMost):
			return status.CommandLine("--worlds %d: is not between %d and %d", worlds, worldsLeast, worldsMost)
		case worlds > 0 && len(s.Keys) > 0:
			return status.CommandLine("--worlds draws all unsure inputs; it goes with no --vary")
		case worlds > 0:
			return d.sweepWorlds(s, worlds, &r, measures)
		}
		return d.sweep(s, &r, measures)
	}
	return c
}

func (d *door) sweep(s *studies.Sweep, r *running, measures []string) error {
	told := newProgress(d.err, "sweep")
	h := d.host(r.workers, told.done)
	digest, err := s.Open(h)
	if err != nil {
		return err
	}
	settings, each := s.Count()
	w := s.Base.World
	again := sweepAgain(s, r, 0, measures)
	if measures, err = showable(w, measures); err != nil {
		return err
	}
	under, err := d.begin(r, fmt.Sprintf("sweep-%s-%d", w.Name, w.Seed), told, store.Manifest{Scenario: w.Name, Seed: w.Seed, Digest: digest,
		Asked: each, Replications: each, Reproduce: again})
	if err != nil {
		return err
	}
	defer under.end()
	told.say(fmt.Sprintf("halflight: %s, %s each", words.Many(settings, "setting"), words.Many(each, "replication")))
	under.keeps(h)
	c, partial, err := s.Run(under.stop, h)
	told.end()
	if code, how := under.stop.status(); partial && err != nil {
		return &status.Failed{Status: code, Err: fmt.Errorf("%s before every setting had a replication%s", how, under.onward)}
	}
	if err != nil {
		return err
	}
	a := &swing.Answer{Study: c.Sides[0].Set.Study, Contrast: c, Skipped: s.Skipped}
	if partial {
		_, a.Partial = under.stop.status()
	}
	under.manifest.Replications = len(c.Sides[0].Set.Replications)
	if len(s.Keys) > 0 {
		a.Grid = &swing.Grid{}
		for _, k := range s.Keys {
			a.Grid.Keys, a.Grid.Values = append(a.Grid.Keys, k.Key), append(a.Grid.Values, k.Values)
		}
		for _, one := range s.Cells {
			a.Grid.Cells = append(a.Grid.Cells, swing.GridCell(one))
		}
	} else {
		for _, m := range measures {
			t, err := swing.OneAtATime(c, s.Inputs, m)
			if err != nil {
				return status.CommandLine("--measure %s: %v", clip(m), err)
			}
			a.Tables, a.Sentences = append(a.Tables, t), append(a.Sentences, t.Sentence())
		}
	}
	if err := under.answer(partial, r.asJSON, a, measures); err != nil {
		return err
	}
	return h.Done()
}

func (d *door) sweepWorlds(s *studies.Sweep, count int, r *running, measures []string) error {
	told := newProgress(d.err, "sweep")
	h := d.host(r.workers, told.done)
	base, err := h.Load(s.Name, s.Set)
	if err != nil {
		return err
	}
	w := base.World
	again := sweepAgain(s, r, count, measures)
	if measures, err = showable(w, measures); err != nil {
		return err
	}
	worlds, err := studies.OpenWorlds(h, s.Name, s.Set, base, count)
	if err != nil {
		return err
	}
	each, _ := worlds.Count(base)
	under, err := d.begin(r, fmt.Sprintf("sweep-%s-worlds-%d", w.Name, w.Seed), told, store.Manifest{Scenario: w.Name, Seed: w.Seed,
		Digest: studies.Digest("worlds", base.Digest, count, s.Measures), Asked: each, Replications: each, Reproduce: again})
	if err != nil {
		return err
	}
	defer under.end()
	under.keeps(h)
	out, partial, err := worlds.Run(under.stop, h, base, s.Measures)
	told.end()
	if err != nil {
		return err
	}
	if code, how := under.stop.status(); partial && out.Count < 2 {
		return &status.Failed{Status: code, Err: fmt.Errorf("%s before every world had a replication%s", how, under.onward)}
	}
	a := &swing.Answer{Study: studies.StudyOf(h, base, each), Worlds: out, Skipped: worlds.Skipped}
	if partial {
		_, a.Partial = under.stop.status()
	}
	for i := range out.Bars {
		if b := &out.Bars[i]; slices.ContainsFunc(measures, func(m string) bool { return results.Matches(m, b.Measure) }) {
			a.Sentences = append(a.Sentences, out.Sentence(b))
		}
	}
	for _, m := range measures {
		if text := out.NotSeen(m); text != "" {
			a.Sentences = append(a.Sentences, text)
		}
	}
	if err := under.answer(partial, r.asJSON, a, measures); err != nil {
		return err
	}
	return h.Done()
}

// answer writes sweep.json and prints.
func (s *study) answer(partial, asJSON bool, a *swing.Answer, measures []string) error {
	var text bytes.Buffer
	if err := a.WriteJSON(&text); err != nil {
		return err
	}
	return s.finish(partial, asJSON, store.SweepName, text.Bytes(), func(b *bytes.Buffer) error { return page.Swing(b, a, measures) })
}

// showable are the measures to show: those asked for, all of which the scenario must
// have, or those of the usual ones that it has.
func showable(w *model.World, asked []string) ([]string, error) {
	names := measuresOf(w).Names()
	missing := func(m string) bool {
		return !slices.ContainsFunc(names, func(name string) bool { return results.Matches(m, name) })
	}
	if len(asked) == 0 {
		return slices.DeleteFunc(slices.Clone(shown), missing), nil
	}
	if i := slices.IndexFunc(asked, missing); i >= 0 {
		return nil, status.CommandLine("--measure %s: there is no such measure in this scenario%s", clip(asked[i]), didYouMean(asked[i], names))
	}
	return asked, nil
}

func sweepAgain(s *studies.Sweep, r *running, worlds int, measures []string) string {
	text := "halflight sweep " + quoted(s.Name)
	for _, k := range s.Keys {
		text += " --vary " + quoted(k.Text())
	}
	for _, m := range measures {
		text += " --measure " + quoted(m)
	}
	if worlds > 0 {
		text += fmt.Sprintf(" --worlds %d", worlds)
	}
	for _, one := range r.set {
		text += " --set " + quoted(one)
	}
	return text + " --out again"
}

// varied plays the worlds of a run, whose result will be the one named; nil when an
// interrupt left none that every world has. The host keeps what is finished until it is done.
func (d *door) varied(l *loaded, r *running, result string, stop *stopped) (*results.Varied, *studies.Host, error) {
	told := newProgress(d.err, l.world.Name+", worlds")
	h := d.host(r.workers, told.done)
	base, err := h.Load(r.name, r.set)
	if err != nil {
		return nil, nil, err
	}
	h.KeepAt(player.JournalPath(result, studies.Digest("worlds", base.Digest, r.worlds)))
	worlds, err := studies.OpenWorlds(h, r.name, r.set, base, r.worlds)
	if err != nil {
		return nil, nil, err
	}
	out, _, err := worlds.Run(stop, h, base, swept)
	told.end()
	if err != nil {
		return nil, nil, err
	}
	return out.Varied(), h, nil
}
