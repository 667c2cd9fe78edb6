package main

import (
	"strings"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/story"
	"halflight/sim"
)

// traceVerb tells the story of a script.
func (d *door) traceVerb() *cobra.Command {
	var asJSON, scriptOnly bool
	var set []string
	c := &cobra.Command{
		Use:   "trace SCENARIO",
		Short: "the story of a script or of one fault, an event a line",
		Long: `Plays the script of a scenario exactly, without chance: what begins and ends,
who sends LSPs and runs SPF, what part of all traffic is lost from then on, and
for each fault the lost seconds by phase. A script is part of the scenario:

  random: false
  horizon: 1min
  script:
    - {at: 10s, on: leaf-0-03~spine-0-02, kind: hard, for: 20s}`,
		Example: `halflight trace orchard --script-only
halflight trace orchard --script-only --json`,
		Args: exactly(1, 1, "one scenario"),
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print shares, runs and waits as JSON")
	c.Flags().BoolVar(&scriptOnly, "script-only", false, "play the script alone, as random: false does")
	setFlag(c, &set)
	c.RunE = func(_ *cobra.Command, args []string) error {
		if scriptOnly {
			set = append(set, "random=false")
		}
		l, err := d.load(args[0], set)
		if err != nil {
			return err
		}
		if l.world.Random {
			return status.CommandLine("%s draws its faults; --script-only plays its script alone", l.world.Name)
		}
		played := sim.Script(l.world)
		return d.print(asJSON, story.PlayedOf(played), func(b *strings.Builder) { story.Script(b, l.world, played) })
	}
	return c
}
