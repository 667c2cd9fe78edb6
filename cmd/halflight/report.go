package main

import (
	"github.com/spf13/cobra"

	"halflight/cmd/halflight/drawing"
	"halflight/cmd/halflight/status"
	"halflight/model"
	"halflight/scenarios"
)

// reportVerb draws results.
func (d *door) reportVerb() *cobra.Command {
	var out, plots string
	var with []string
	c := &cobra.Command{
		Use:   "report RESULT [RESULT]",
		Short: "a page with pictures of one result, or of two side by side",
		Long: `Draws the result in a folder that run left behind: one HTML page that needs
nothing else, to be opened from where it lies, printed or sent on. It says in
words what to conclude, and shows why: convergence in quiet and in noise, the
backlog of gray faults, where loss arose, every fault, the stories of the worst,
the assumptions, and how to make it again. Pictures whose data are not in the
folder are left out; the page names the command that makes them. Other verbs
leave folders of their own; --with draws those beside the (first) result.

The page is RESULT/report.html, or ./FIRST-SECOND.html for two, unless --out
says otherwise. --plots writes the pictures for memos too, as SVG and PNG.`,
		Example: `halflight run lull --replications 2 --horizon 2h --set warm_up=1h --out quiet
halflight run storm --replications 2 --horizon 2h --set warm_up=1h --out noisy
halflight report quiet
halflight report quiet noisy --out both.html --plots pictures`,
		Args: exactly(1, 2, "one result, or two"),
	}
	f := c.Flags()
	f.StringVar(&out, "out", "", "the `FILE` for the page")
	f.StringVar(&plots, "plots", "", "write the pictures as SVG and PNG into a `FOLDER`")
	f.StringArrayVar(&with, "with", nil, "also draw what compare, sweep, tune or weigh left in a\n`FOLDER`; may be repeated")
	c.RunE = func(c *cobra.Command, args []string) error {
		for _, name := range []string{"out", "plots"} {
			if c.Flags().Changed(name) && c.Flags().Lookup(name).Value.String() == "" {
				return status.CommandLine("--%s needs a name", name)
			}
		}
		drawn, err := drawing.Open(args, with, func(file string) (*scenarios.Scenario, *model.World, error) {
			l, err := d.load(file, nil)
			if err != nil {
				return nil, nil, err
			}
			return l.Scenario, l.world, nil
		}, out, plots)
		if err != nil {
			return err
		}
		return drawn.Write(d.out)
	}
	return c
}
