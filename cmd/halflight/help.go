package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// help prints the page of a verb. Its examples are run by the tests.
func (d *door) help(c *cobra.Command, _ []string) {
	var b strings.Builder
	fmt.Fprintf(&b, "%s - %s\n\n  %s\n", c.CommandPath(), c.Short, c.Use)
	if c.HasParent() {
		b.Reset()
		fmt.Fprintf(&b, "%s - %s\n\n  %s %s\n", c.CommandPath(), c.Short, c.Root().Name(), c.Use)
	}
	if c.Long != "" {
		fmt.Fprintf(&b, "\n%s\n", c.Long)
	}
	if c.HasAvailableSubCommands() {
		b.WriteString("\nVerbs\n")
		for _, v := range c.Commands() {
			if v.IsAvailableCommand() {
				fmt.Fprintf(&b, "  %-8s %s\n", v.Name(), v.Short)
			}
		}
	}
	if flags := flagLines(c); flags != "" {
		fmt.Fprintf(&b, "\nFlags\n%s", flags)
	}
	if c.Example != "" {
		b.WriteString("\nExamples\n")
		for line := range strings.Lines(c.Example) {
			b.WriteString("  " + line)
		}
		b.WriteString("\n")
	}
	fmt.Fprint(d.out, b.String())
}

// flagLines lists the flags of a command, one a line.
func flagLines(c *cobra.Command) string {
	var names, texts []string
	width := 0
	c.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		name := "--" + f.Name
		if f.Shorthand != "" {
			name = "-" + f.Shorthand + ", " + name
		}
		value, text := pflag.UnquoteUsage(f)
		if value != "" {
			name += " " + value
		}
		names, texts = append(names, name), append(texts, text)
		width = max(width, len(name))
	})
	if help := c.InheritedFlags().Lookup("help"); help != nil {
		names, texts = append(names, "-h, --help"), append(texts, help.Usage)
	}
	var b strings.Builder
	for i, name := range names {
		fmt.Fprintf(&b, "  %-*s  %s\n", width, name, strings.ReplaceAll(texts[i], "\n", "\n"+strings.Repeat(" ", width+4)))
	}
	return b.String()
}

// helpVerb is "help VERB".
func (d *door) helpVerb(c *cobra.Command, args []string) error {
	found, rest, err := c.Root().Find(args)
	if err != nil || len(rest) > 0 {
		return d.noVerb(c.Root(), args)
	}
	return found.Help()
}
