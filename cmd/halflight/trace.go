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
		Args:  exactly(1, 1, "one scenario"),
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
