package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"runtime"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/quantity"
	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/results"
	"halflight/results/page"
	"halflight/scenarios"
	"halflight/sim/replication"
)

// running is what the flags of run say.
type running struct {
	seed         uint64
	replications int
	horizon      quantity.Span
	workers      int
	asJSON       bool
	out          string
	replace      bool
	parquet      bool
	set          []string
}

// replicationsMost and workersMost bound what a slip of the finger can ask for.
const (
	replicationsMost = 1_000_000
	workersMost      = 1024
)

// runVerb simulates.
func (d *door) runVerb() *cobra.Command {
	var r running
	c := &cobra.Command{
		Use:   "run [SCENARIO]",
		Short: "simulate months of failures, many times over, and sum them up",
		Long: fmt.Sprintf(`Plays the replications of a scenario (%s when none is named), prints the
summary and leaves a folder, ./NAME-SEED unless --out says otherwise, with the
resolved scenario, the summary, the records of every replication, faults and
replications as CSV, and how to make them again. Equal inputs give equal bytes,
whatever the number of workers.

An interrupt keeps the replications that are finished and marks the result as
partial.`, scenarios.Default()),
		Example: `halflight run storm --replications 2 --horizon 2h --set warm_up=1h
halflight run storm --replications 3 --horizon 2h --set warm_up=1h --replace
halflight run lull --replications 2 --horizon 2h --json --out calm`,
		Args: exactly(0, 1, "one scenario"),
	}
	r.flags(c)
	c.Flags().BoolVar(&r.parquet, "parquet", false, "write faults and replications as Parquet too")
	c.RunE = func(c *cobra.Command, args []string) error {
		name := scenarios.Default()
		if len(args) > 0 {
			name = args[0]
		}
		if err := r.check(c.Flags().Changed); err != nil {
			return err
		}
		l, err := d.load(name, r.set)
		if err != nil {
			return err
		}
		return d.play(l, &r)
	}
	return c
}

// flags adds the flags of what plays and leaves a folder.
func (r *running) flags(c *cobra.Command) {
	f := c.Flags()
	f.Uint64Var(&r.seed, "seed", 0, "the `NUMBER` all chance is drawn from (the scenario's)")
	f.IntVar(&r.replications, "replications", 0, "the `NUMBER` of replications (the scenario's)")
	f.Var(&r.horizon, "horizon", "the `TIME` measured after the warm-up (the scenario's)")
	f.IntVar(&r.workers, "workers", runtime.GOMAXPROCS(0), "the `NUMBER` played at a time (all processors)")
	f.BoolVar(&r.asJSON, "json", false, "print the answer as JSON, as in the folder")
	f.StringVar(&r.out, "out", "", "the `FOLDER` for the result (named after what was asked)")
	f.BoolVar(&r.replace, "replace", false, "replace the result of another scenario or setting")
	setFlag(c, &r.set)
}

// check holds the flags against their ranges and turns those that change the
// scenario into settings.
func (r *running) check(given func(string) bool) error {
	if r.workers < 1 || r.workers > workersMost {
		return status.CommandLine("--workers %d: is not between 1 and %d", r.workers, workersMost)
	}
	if given("out") && r.out == "" {
		return status.CommandLine("--out needs the name of a folder")
	}
	if given("replications") {
		if r.replications < 1 || r.replications > replicationsMost {
			return status.CommandLine("--replications %d: is not between 1 and %d", r.replications, replicationsMost)
		}
		r.set = append(r.set, fmt.Sprintf("replications=%d", r.replications))
	}
	if given("seed") {
		r.set = append(r.set, fmt.Sprintf("seed=%d", r.seed))
	}
	if r.horizon.Given {
		r.set = append(r.set, "horizon="+r.horizon.String())
	}
	return nil
}

// play simulates, writes the folder and prints the summary.
func (d *door) play(l *loaded, r *running) error {
	made := manifestOf(l)
	made.parquet = r.parquet
	if r.out == "" {
		r.out = fmt.Sprintf("%s-%d", l.world.Name, l.world.Seed)
	}
	folder, err := store.Make(r.out, made.Digest, r.replace)
	if err != nil {
		return err
	}
	defer folder.Drop()

	told := newProgress(d.err, l.world.Name)
	stop := listen(func() {
		told.say("halflight: stopping; the replications that are finished are kept, those under way are dropped")
	})
	defer stop.release()
	set, err := d.replicate(stop, l, r, made, told)
	if err != nil {
		return err
	}
	code, how := stop.status()
	if set.Part.Len() > len(set.Replications) {
		made.Partial = how
	}
	if len(set.Replications) == 0 {
		return &status.Failed{Status: code, Err: fmt.Errorf("%s before a replication was finished; nothing is kept", how)}
	}
	summary := results.Summarise(set, results.Options{Crew: l.world.Operation.Crew, CrewMean: l.world.Operation.Offered(), Unsure: unsure(l)})
	made.Replications = len(set.Replications)
	if err := made.write(folder, l, set, summary); err != nil {
		return err
	}
	if err := d.sum(summary, r.asJSON); err != nil {
		return err
	}
	if made.Partial != "" {
		return &status.Failed{Status: code, Err: fmt.Errorf("%s; PARTIAL result of %d of %d replications in %s",
			how, made.Replications, made.Asked, folder.Path())}
	}
	if err := d.out.Flush(); err != nil {
		return status.IO("standard output", err)
	}
	fmt.Fprintf(d.err, "halflight: result in %s\n", folder.Path())
	return nil
}

// replicate plays the replications and makes a set of those that were finished.
func (d *door) replicate(ctx context.Context, l *loaded, r *running, made *manifest, p *progress) (*results.Set, error) {
	w := l.world
	p.done(0, w.Replications)
	played, err := replication.Run(ctx, w, replication.Options{Workers: r.workers, Seed: w.Seed, Count: w.Replications, OnDone: p.done})
	p.end()
	var ours *replication.Fault
	switch {
	case errors.As(err, &ours):
		return nil, &status.Failed{Status: status.Ours, Err: err}
	case err != nil:
		return nil, status.Data("%s: %w", l.File, err)
	}
	study := results.Study{Scenario: w.Name, Digest: made.Digest, Seed: w.Seed, Asked: uint32(w.Replications), Program: made.Program,
		WarmUp: w.WarmUp, Horizon: w.Horizon}
	return &results.Set{Study: study, Part: study.Whole(), Header: played.Header, Replications: played.Replications}, nil
}

// sum prints a summary.
func (d *door) sum(s *results.Summary, asJSON bool) error {
	var text bytes.Buffer
	var err error
	if asJSON {
		err = s.WriteJSON(&text)
	} else {
		err = page.Text(&text, s)
	}
	if err != nil {
		return err
	}
	_, err = d.out.Write(text.Bytes())
	return err
}
