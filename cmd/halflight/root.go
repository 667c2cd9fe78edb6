package main

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"halflight/cmd/halflight/status"
	"halflight/scenarios/wording"
)

// open reads the command line and does what it asks for.
func (d *door) open(args []string) error {
	root := d.root()
	root.SetArgs(args)
	return root.Execute()
}

// root is the program without a verb.
func (d *door) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "halflight VERB",
		Short: "what failures, above all gray ones, cost a Clos fabric",
		Long: `Simulates months of failures in a Clos fabric with a link-state underlay: what
broke, who noticed and when, what applications felt, and how long routers took
to converge in quiet and in noise.

A SCENARIO is a file (YAML or JSON), the name of one that comes with the
program, or - for standard input. A file wins over a name.`,
		Example: `halflight run --replications 2 --horizon 1d orchard --out first
halflight check orchard
halflight size orchard`,
		SilenceUsage: true, SilenceErrors: true,
		Args:                       cobra.ArbitraryArgs,
		SuggestionsMinimumDistance: 2,
		CompletionOptions:          cobra.CompletionOptions{DisableDefaultCmd: true},
		RunE:                       d.noVerb,
	}
	root.SetIn(d.in)
	root.SetOut(d.out)
	root.SetErr(d.err)
	root.SetFlagErrorFunc(flagError)
	root.SetHelpFunc(d.help)
	root.SetHelpCommand(&cobra.Command{Use: "help [VERB]", Short: "this page, or that of a verb", RunE: d.helpVerb})
	root.PersistentFlags().BoolP("help", "h", false, "print this page")
	root.Flags().Bool("version", false, "print the version of the program")
	root.AddCommand(d.runVerb(), d.compareVerb(), d.sweepVerb(), d.tuneVerb(), d.reportVerb(), d.sizeVerb(), d.checkVerb(), d.traceVerb(), d.missingVerb(), d.mergeVerb(), d.batchVerb(), d.weighVerb())
	return root
}

// noVerb is called when no verb was recognised.
func (d *door) noVerb(c *cobra.Command, args []string) error {
	if asked, err := c.Flags().GetBool("version"); err == nil && asked && len(args) == 0 {
		_, err := io.WriteString(d.out, about())
		return err
	}
	if len(args) > 0 {
		text := fmt.Sprintf("there is no verb %q", args[0])
		if near := c.SuggestionsFor(args[0]); len(near) > 0 {
			text += "; did you mean " + strings.Join(near, " or ") + "?"
		} else {
			text += "; halflight -h lists them"
		}
		return status.CommandLine("%s", text)
	}
	return c.Help()
}

// flagError makes an error of a flag one of the command line, with the nearest
// right spelling.
func flagError(c *cobra.Command, err error) error {
	text := err.Error()
	var unknown *pflag.NotExistError
	var invalid *pflag.InvalidValueError
	var bare *pflag.ValueRequiredError
	switch {
	case errors.As(err, &invalid):
		text = fmt.Sprintf("--%s %s: %s", invalid.GetFlag().Name, clip(invalid.GetValue()), plain(invalid.Unwrap()))
	case errors.As(err, &bare):
		value, _ := pflag.UnquoteUsage(bare.GetFlag())
		text = fmt.Sprintf("--%s needs a value: %s", bare.GetFlag().Name, value)
	case errors.As(err, &unknown):
		text = fmt.Sprintf("there is no flag %s", dashed(unknown.GetSpecifiedName()))
		if near := nearestFlag(c, unknown.GetSpecifiedName()); near != "" {
			text += "; did you mean --" + near + "?"
		} else {
			text += fmt.Sprintf("; %s -h lists them", c.CommandPath())
		}
	}
	return status.CommandLine("%s", text)
}

// plain is the text of an error without the words that the library of flags or
// of numbers puts before it.
func plain(err error) string {
	var number *strconv.NumError
	if errors.As(err, &number) {
		if errors.Is(err, strconv.ErrRange) {
			return "is out of range"
		}
		return "is not a whole number"
	}
	return err.Error()
}

// clip shortens what a user typed to what fits a message.
func clip(s string) string {
	if s == "" {
		return `""`
	}
	return wording.Clip(s)
}

func dashed(name string) string {
	if len(name) == 1 {
		return "-" + name
	}
	return "--" + name
}

// nearestFlag returns the flag of a command that is spelled most like a name,
// empty when none is near.
func nearestFlag(c *cobra.Command, name string) string {
	var known []string
	c.Flags().VisitAll(func(f *pflag.Flag) {
		if !f.Hidden {
			known = append(known, f.Name)
		}
	})
	return wording.Nearest(name, known)
}

// exactly is a check of the number of arguments, with a message of ours.
func exactly(least, most int, what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) < least:
			return status.CommandLine("%s needs %s: %s", c.CommandPath(), what, c.UseLine())
		case len(args) > most:
			return status.CommandLine("%s takes %s only; what is %q?", c.CommandPath(), what, args[most])
		}
		return nil
	}
}
