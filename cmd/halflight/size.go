package main

import (
	"strings"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/answers"
	"halflight/cmd/halflight/quantity"
	"halflight/cmd/halflight/status"
	"halflight/cmd/halflight/words"
	"halflight/model/sizing"
)

// sizeVerb does arithmetic without simulation.
func (d *door) sizeVerb() *cobra.Command {
	var units quantity.Fleet
	var parts quantity.Groups
	var asJSON bool
	var set []string
	lead := quantity.Span{NS: 30 * 86400e9}
	c := &cobra.Command{
		Use:   "size [SCENARIO]",
		Short: "arithmetic alone: inventory, gaps, what is broken now, spares",
		Long: `For a scenario: routers and links, paths, how often anything fails by mode and
in all, how much is broken at a random moment, what is left of a leaf's
uplinks, widths around the present one, and spares for a lead time.

Without one: the same arithmetic for populations and k-of-n groups as given.
MTBF is the mean time a unit is up; lives and repairs are exponential where a
law matters, and repair of a population waits for nobody.`,
		Example: `halflight size orchard --lead 60d
halflight size --population router=1800@20y --population optic=160000@100y
halflight size --group n=12,need=9,mtbf=700h,mttr=35h,crew=1 --json`,
		Args: exactly(0, 1, "one scenario"),
	}
	c.Flags().Var(&units, "population", "like units, one `POPULATION` each time, as\nNAME=COUNT@MTBF, with ,repair=TIME if it matters")
	c.Flags().Var(&parts, "group", "units of which some are needed, one `GROUP` each\ntime, as n=UNITS,need=UNITS,mtbf=TIME,mttr=TIME,\nwith ,crew=N if only N are repaired at a time")
	c.Flags().Var(&lead, "lead", "the `TIME` that spares must last for (30d)")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON: times in hours, shares of 1")
	setFlag(c, &set)
	c.RunE = func(c *cobra.Command, args []string) error {
		arithmetic := len(units) > 0 || len(parts) > 0
		switch {
		case arithmetic && len(args) > 0:
			return status.CommandLine("size takes a scenario or populations and groups, not both")
		case arithmetic && len(set) > 0:
			return status.CommandLine("--set changes a scenario, and none is named")
		case arithmetic:
			if err := countable(sizing.UnitsExpect(units, lead.Hours())); err != nil {
				return err
			}
			a := sizing.OfUnits(units, parts, lead.Hours())
			return d.print(asJSON, a, func(b *strings.Builder) { answers.UnitsText(b, a) })
		case len(args) == 0:
			return status.CommandLine("size needs a scenario, a --population or a --group; halflight size -h shows examples")
		}
		l, err := d.load(args[0], set)
		if err != nil {
			return err
		}
		if err := countable(sizing.WorldExpects(l.world, lead.Hours())); err != nil {
			return err
		}
		a := sizing.OfWorld(l.world, lead.Hours())
		return d.print(asJSON, a, func(b *strings.Builder) { answers.FabricText(b, a) })
	}
	return c
}

// countable refuses to size what fails too often for its range to be worked out.
func countable(mean float64) error {
	if mean > sizing.CountMost {
		return status.CommandLine("size counts up to 1e15 failures in a year or the lead time, and %s are to be expected", words.Figure(mean, 3))
	}
	return nil
}
