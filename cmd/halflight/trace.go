package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/story"
	"halflight/sim"
)

// tracing is what the flags of trace say.
type tracing struct {
	seed               uint64
	replication        int
	fault              int32
	worst              bool
	asJSON, scriptOnly bool
	set                []string
}

// traceVerb tells the story of a script or of one fault.
func (d *door) traceVerb() *cobra.Command {
	var r tracing
	c := &cobra.Command{
		Use:   "trace SCENARIO",
		Short: "the story of a script or of one fault, an event a line",
		Long: `Plays one replication again and tells of one of its faults: the one that cost
most, or the one with a number. What happens from its onset on is told an event
a line, with the part of all traffic that is lost from then on; its figures and
its lost seconds by phase follow.

With --script-only, or where nothing is random, plays the script of a scenario
exactly, without chance: what begins and ends, who sends LSPs and runs SPF, and
for each fault the lost seconds by phase. A script is part of the scenario:

  random: false
  horizon: 1min
  script:
    - {at: 10s, on: leaf-0-03~spine-0-02, kind: hard, for: 20s}`,
		Example: `halflight trace lull --worst
halflight trace lull --seed 2 --replication 3 --worst --json
halflight trace orchard --script-only`,
		Args: exactly(1, 1, "one scenario"),
	}
	f := c.Flags()
	f.BoolVar(&r.worst, "worst", false, "tell of the fault that cost most lost seconds")
	f.Int32Var(&r.fault, "fault", 0, "tell of the fault with this `NUMBER` in its replication")
	f.IntVar(&r.replication, "replication", 0, "the `NUMBER` of the replication, from 0")
	f.Uint64Var(&r.seed, "seed", 0, "the `NUMBER` all chance is drawn from (the scenario's)")
	f.BoolVar(&r.scriptOnly, "script-only", false, "play the script alone, as random: false does")
	f.BoolVar(&r.asJSON, "json", false, "print the story as JSON")
	setFlag(c, &r.set)
	c.RunE = func(c *cobra.Command, args []string) error {
		given := c.Flags().Changed
		if err := r.check(given); err != nil {
			return err
		}
		l, err := d.load(args[0], r.set)
		if err != nil {
			return err
		}
		if r.worst || given("fault") {
			return d.tale(l, &r)
		}
		if l.world.Random {
			return status.CommandLine("%s draws its faults: --worst or --fault NUMBER says which to tell of; --script-only plays its script alone",
				l.world.Name)
		}
		played := sim.Script(l.world)
		return d.print(r.asJSON, story.PlayedOf(played), func(b *strings.Builder) { story.Script(b, l.world, played) })
	}
	return c
}

// check holds the flags against one another and their ranges, and turns those
// that change the scenario into settings.
func (r *tracing) check(given func(string) bool) error {
	if r.worst && given("fault") {
		return status.CommandLine("--worst and --fault exclude one another")
	}
	for _, flag := range []string{"worst", "fault", "replication", "seed"} {
		if r.scriptOnly && given(flag) {
			return status.CommandLine("--script-only and --%s exclude one another", flag)
		}
	}
	for _, flag := range []string{"replication", "seed"} {
		if given(flag) && !r.worst && !given("fault") {
			return status.CommandLine("--%s needs --worst or --fault NUMBER", flag)
		}
	}
	if r.replication < 0 || r.replication >= replicationsMost {
		return status.CommandLine("--replication %d: is not between 0 and %d", r.replication, replicationsMost-1)
	}
	if given("fault") && r.fault < 0 {
		return status.CommandLine("--fault %d: is below 0", r.fault)
	}
	if given("seed") {
		r.set = append(r.set, fmt.Sprintf("seed=%d", r.seed))
	}
	if r.scriptOnly {
		r.set = append(r.set, "random=false")
	}
	return nil
}

// tale tells of one fault of a random replication.
func (d *door) tale(l *loaded, r *tracing) error {
	w, number := l.world, uint32(r.replication)
	if !w.Random {
		return status.CommandLine("%s draws no faults: without --worst and --fault its script is told", w.Name)
	}
	if err := sim.Check(w); err != nil {
		return status.Data("%s: %w", l.File, err)
	}
	t, err := sim.Story(w, w.Seed, number, sim.Want{Fault: r.fault, Worst: r.worst})
	if err != nil {
		return status.Data("%s: %w", l.File, err)
	}
	return d.print(r.asJSON, story.ToldOf(w.Name, w.Seed, number, t), func(b *strings.Builder) { story.Tale(b, w.Name, w.Seed, number, t) })
}
