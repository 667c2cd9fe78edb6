package main

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/store"
	"halflight/cmd/halflight/studies"
	"halflight/results/page"
	"halflight/scenarios"
)

// weighVerb says which telemetry pays.
func (d *door) weighVerb() *cobra.Command {
	var r running
	var a studies.Weighing
	level := usualLevel
	c := &cobra.Command{
		Use:   "weigh [SCENARIO]",
		Short: "which telemetry pays",
		Long: fmt.Sprintf(`Plays a scenario (%s when none is named) with each instrument alone, with
all, with all but each and with the bundles you name, with the same draws: the
same faults at the same instants, so that what differs is what the instruments
do. Prints from which mean time to a complaint each pays, what it sees, what it
saves, and in which order one would buy. Leaves a folder with weigh.json,
./weigh-NAME-SEED unless --out says otherwise.

A scenario that says nothing of telemetry is offered one instrument of each
kind. Prices are those under costs.

Gray faults, instruments and people are played as by run, routers are not,
unless --whole asks for them: what gray faults do to applications is taken to
first order. An interrupt keeps what is finished.`, scenarios.Default()),
		Example: `halflight weigh orchard --replications 2 --horizon 90d
halflight weigh orchard --only probes,drops --bundle b=probes+drops --out two`,
		Args: exactly(0, 1, "one scenario"),
	}
	r.flags(c)
	f := c.Flags()
	f.StringArrayVar(&a.Bundles, "bundle", nil, "also weigh a `SET`, as in both=probes+drops")
	var only string
	f.StringVar(&only, "only", "", "weigh these `NAMES` alone, with commas between")
	f.Var(&level, "level", "of all intervals together: a `SHARE` (95%)")
	f.BoolVar(&a.Whole, "whole", false, "play routers too; takes as long as a run for each set")
	c.RunE = func(c *cobra.Command, args []string) error {
		a.Name = scenarios.Default()
		if len(args) > 0 {
			a.Name = args[0]
		}
		if only != "" {
			a.Only = strings.Split(only, ",")
		}
		if err := r.check(c.Flags().Changed); err != nil {
			return err
		}
		if err := checkLevel(level); err != nil {
			return err
		}
		a.Set, a.Level = r.set, float64(level)
		return d.weigh(&a, &r)
	}
	return c
}

func (d *door) weigh(a *studies.Weighing, r *running) error {
	told := newProgress(d.err, "weigh")
	h := d.host(r.workers, told.done)
	name, seed, digest, err := a.Open(h)
	if err != nil {
		return err
	}
	count, jobs := a.Count()
	var extra []string
	for _, b := range a.Bundles {
		extra = append(extra, "--bundle "+quoted(b))
	}
	if len(a.Only) > 0 {
		extra = append(extra, "--only "+quoted(strings.Join(a.Only, ",")))
	}
	if a.Level != float64(usualLevel) {
		extra = append(extra, fmt.Sprintf("--level %v", a.Level))
	}
	if a.Whole {
		extra = append(extra, "--whole")
	}
	s, err := d.begin(r, name, told, store.Manifest{Scenario: "weigh", Seed: seed, Digest: digest, Asked: count, Replications: count,
		Reproduce: again("weigh", []string{a.Name}, nil, r.set, extra...)})
	if err != nil {
		return err
	}
	defer s.end()
	told.done(0, jobs)
	answer, partial, err := a.Run(s.stop, h)
	told.end()
	if code, how := s.stop.status(); partial && err != nil {
		return &status.Failed{Status: code, Err: fmt.Errorf("%s before every set had a replication; nothing is kept", how)}
	}
	if err != nil {
		return err
	}
	s.manifest.Replications = answer.Replications
	var text bytes.Buffer
	if err := answer.WriteJSON(&text); err != nil {
		return err
	}
	return s.finish(partial, r.asJSON, store.WeighName, text.Bytes(), func(b *bytes.Buffer) error { return page.Weighing(b, answer) })
}
