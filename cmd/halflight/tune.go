package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/quantity"
	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/cmd/halflight/tuner"
	"halflight/results/page"
	"halflight/scenarios"
)

// tuneVerb searches timers.
func (d *door) tuneVerb() *cobra.Command {
	var r running
	t := tuner.Tune{Floors: map[string]string{}, Measures: swept}
	var floors []string
	limit := quantity.Share(0.5)
	c := &cobra.Command{
		Use:   "tune [SCENARIO]",
		Short: "timers of least loss and fast convergence that routers bear",
		Long: `Searches the back-off of SPF and of LSP generation, the settle time, BFD and
damping for least avoidable loss and p99 convergence, with a limit on the share
of its worst 10 s for which a router computes or writes. Candidates race, with
common draws, through a storm set and short replications at a low, the present
and a high flap rate; a local search follows. The best and the present setting
are then played on replications the search has not seen, and only those are
printed. Leaves a folder with tune.json, ./tune-NAME-SEED unless
--out says otherwise. An interrupt or a kill loses nothing: the same command
goes on.`,
		Example: `halflight tune orchard --start 12 --local 4 --race 2 --race-horizon 2d --replications 2 --horizon 20d --set warm_up=10d`,
		Args:    exactly(0, 1, "one scenario"),
	}
	r.flags(c)
	f := c.Flags()
	f.IntVar(&t.Start, "start", 200, "the `NUMBER` of candidates that start")
	f.IntVar(&t.Local, "local", 30, "the `NUMBER` of settings the local search may try")
	f.IntVar(&t.Replications, "race", 8, "the `NUMBER` of replications a race at each flap rate")
	f.StringVar(&t.Horizon, "race-horizon", "", "the `TIME` each measures (10d, the scenario's if less)")
	f.Var(&limit, "busy-limit", "a `SHARE` of the worst 10 s of any router (50%)")
	f.StringArrayVar(&floors, "floor", nil, "search a setting down to `KEY=VALUE`, not its usual floor")
	c.RunE = func(c *cobra.Command, args []string) error {
		t.Name = scenarios.Default()
		if len(args) > 0 {
			t.Name = args[0]
		}
		if err := r.check(c.Flags().Changed); err != nil {
			return err
		}
		t.Set, t.Limit = r.set, float64(limit)
		switch {
		case t.Start < 1 || t.Start > 100_000:
			return status.CommandLine("--start %d: is not between 1 and 100000", t.Start)
		case t.Local < 0 || t.Local > 100_000:
			return status.CommandLine("--local %d: is not between 0 and 100000", t.Local)
		case t.Replications < 2 || t.Replications > 1000:
			return status.CommandLine("--race %d: is not between 2 and 1000", t.Replications)
		case t.Limit == 0:
			return status.CommandLine("--busy-limit 0: nothing is that idle; a share above 0, such as 50%%")
		}
		if d, err := scenarios.ParseDuration(t.Horizon); c.Flags().Changed("race-horizon") && (err != nil || d <= 0) {
			return status.CommandLine("--race-horizon %s: is no time above 0, such as 10d", clip(t.Horizon))
		}
		for _, text := range floors {
			key, value, err := tuner.ParseFloor(text)
			if err != nil {
				return err
			}
			t.Floors[key] = value
		}
		return d.tune(&t, &r, floors)
	}
	return c
}

func (d *door) tune(t *tuner.Tune, r *running, floors []string) error {
	told := newProgress(d.err, "tune")
	h := d.host(r.workers, told.done)
	digest, err := t.Open(h)
	if err != nil {
		return err
	}
	w := t.Base.World
	again := fmt.Sprintf("halflight tune %s --start %d --local %d --race %d --race-horizon %s --busy-limit %v", quoted(t.Name), t.Start, t.Local,
		t.Replications, t.Horizon, t.Limit)
	for _, one := range floors {
		again += " --floor " + quoted(one)
	}
	for _, one := range r.set {
		again += " --set " + quoted(one)
	}
	under, err := d.begin(r, fmt.Sprintf("tune-%s-%d", w.Name, w.Seed), told, store.Manifest{Scenario: w.Name, Seed: w.Seed, Digest: digest,
		Asked: w.Replications, Replications: w.Replications, Reproduce: again + " --out again"})
	if err != nil {
		return err
	}
	defer under.end()
	t.Memory = under.folder.Path() + ".state"
	under.keeps(h)
	t.Stage = told.stage
	a, err := t.Run(under.stop, h)
	told.end()
	if errors.Is(err, context.Canceled) {
		code, how := under.stop.status()
		return &status.Failed{Status: code, Err: fmt.Errorf("%s; what was played is in %s, and the same command goes on from there", how, t.Memory)}
	}
	if err != nil {
		return err
	}
	if set := tuner.Typed(a); a.Beyond() && len(set) > 0 {
		text := "To see it side by side: halflight compare " + quoted(t.Name) + " --but " + quoted(joinSettings(set))
		for _, one := range r.set {
			text += " --set " + quoted(one)
		}
		a.Sentences = append(a.Sentences, text)
	}
	var text bytes.Buffer
	if err := a.WriteJSON(&text); err != nil {
		return err
	}
	if err := under.finish(false, r.asJSON, store.TuneName, text.Bytes(), func(b *bytes.Buffer) error { return page.Tuned(b, a) }); err != nil {
		return err
	}
	t.Done()
	return h.Done()
}

// joinSettings writes settings as --but takes them.
func joinSettings(list []string) (text string) {
	for i, one := range list {
		if i > 0 {
			text += "; "
		}
		text += one
	}
	return text
}
