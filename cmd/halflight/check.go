package main

import (
	"errors"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/answers"
	"halflight/cmd/halflight/status"
	"halflight/model"
	"halflight/model/setting"
	"halflight/scenarios"
)

// checkVerb says what is wrong with a scenario, or what it amounts to.
func (d *door) checkVerb() *cobra.Command {
	var asJSON, asFile bool
	var set []string
	c := &cobra.Command{
		Use:   "check SCENARIO",
		Short: "every problem of a scenario, or all settings and their sources",
		Long: `Prints every problem with its line and column and exits with status 1. Without
a problem prints every setting in force: first the defaults that rest on nothing
but an assumption, those with the widest range before the others, then all other
defaults with grade and source, then what the scenario says itself.`,
		Example: `halflight check orchard
halflight check orchard --set timers.spf.rfc8405.long_delay=2s --json
halflight check orchard --resolved`,
		Args: exactly(1, 1, "one scenario"),
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print problems or settings as JSON")
	c.Flags().BoolVar(&asFile, "resolved", false, "print a scenario with every setting written out")
	setFlag(c, &set)
	c.RunE = func(_ *cobra.Command, args []string) error {
		if asJSON && asFile {
			return status.CommandLine("--json and --resolved exclude one another")
		}
		l, err := d.load(args[0], set)
		var problems *scenarios.Problems
		switch {
		case errors.As(err, &problems) && asJSON:
			if err := d.printJSON(answers.ProblemsOf(problems)); err != nil {
				return err
			}
			return &status.Failed{Status: status.Wrong, Err: errSaid}
		case err != nil:
			return err
		case asFile:
			_, err := d.out.Write(setting.YAML(model.Resolve(l.Scenario)))
			return err
		}
		a := answers.SettingsOf(l.world.Name, l.world, model.Resolve(l.Scenario))
		return d.print(asJSON, a, a.Text)
	}
	return c
}

// errSaid is the error of what was said already.
var errSaid = errors.New("")
