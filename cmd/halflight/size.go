package main

import (
	"strings"

	"github.com/spf13/cobra"

	"halflight/model/reliability"
)

// cover is the probability with which spares are to last for a lead time, and
// the level of the ranges that are printed.
const (
	cover = 0.99
	level = 0.95
)

// sizeVerb does arithmetic without simulation.
func (d *door) sizeVerb() *cobra.Command {
	var units fleet
	var parts groups
	var asJSON bool
	var set []string
	lead := span{ns: 30 * 86400e9}
	c := &cobra.Command{
		Use:   "size [SCENARIO]",
		Short: "arithmetic without simulation: inventory, gaps, what is broken now, spares",
		Long: `For a scenario: routers and links, paths, how often anything fails by mode and
in all, how much is broken at a random moment, what is left of a leaf's
uplinks, widths around the present one, and spares for a lead time.

Without one: the same arithmetic for populations and k-of-n groups as given.
MTBF is the mean time a unit is up; lives and repairs are exponential where a
law matters, and repair of a population waits for nobody.`,
		Example: `halflight size orchard --lead 60d
halflight size --population router=1800@20y,repair=4h --population optic=160000@100y
halflight size --group n=12,need=9,mtbf=700h,mttr=35h,crew=1 --json`,
		Args: exactly(0, 1, "one scenario"),
	}
	c.Flags().Var(&units, "population", "like units, a `POPULATION` each time it is given, as\nNAME=COUNT@MTBF or NAME=COUNT@MTBF,repair=TIME")
	c.Flags().Var(&parts, "group", "units of which some must be up, a `GROUP` each time, as\nn=UNITS,need=UNITS,mtbf=TIME,mttr=TIME, and with crew=N\nif no more than N are repaired at once")
	c.Flags().Var(&lead, "lead", "the `TIME` that spares must last for (30d)")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON: times in hours, shares of 1")
	setFlag(c, &set)
	c.RunE = func(c *cobra.Command, args []string) error {
		arithmetic := len(units) > 0 || len(parts) > 0
		switch {
		case arithmetic && len(args) > 0:
			return badLine("size takes a scenario or populations and groups, not both")
		case arithmetic && len(set) > 0:
			return badLine("--set changes a scenario, and none is named")
		case arithmetic:
			return d.print(asJSON, sizeUnits(units, parts, float64(lead.ns)/3600e9))
		case len(args) == 0:
			return badLine("size needs a scenario, a --population or a --group; halflight size -h shows examples")
		}
		l, err := d.load(args[0], set)
		if err != nil {
			return err
		}
		return d.print(asJSON, sizeFabric(l.world, float64(lead.ns)/3600e9))
	}
	return c
}

// printed is an answer that can be read by people; its fields are for programs.
type printed interface{ text(b *strings.Builder) }

// print writes an answer as text or as JSON.
func (d *door) print(asJSON bool, p printed) error {
	if asJSON {
		return d.printJSON(p)
	}
	var b strings.Builder
	p.text(&b)
	_, err := d.out.Write([]byte(b.String()))
	return err
}

// count is an expected number of failures in a span of time, with its range.
type count struct {
	Mean float64 `json:"mean"`
	Low  int     `json:"low"` // central 95 % range of a Poisson count
	High int     `json:"high"`
}

func counted(mean float64) count {
	low, high := reliability.PoissonRange(mean, level)
	return count{mean, low, high}
}

// broken is how many units are down at a random moment.
type broken struct {
	Mean float64 `json:"mean"`
	P99  int     `json:"p99"`
}

func brokenOf(fleet ...reliability.Population) broken {
	return broken{reliability.BrokenMean(fleet...), reliability.BrokenNow(fleet...).Quantile(cover)}
}
