package main

import "github.com/spf13/cobra"

// setFlag adds --set.
func setFlag(c *cobra.Command, to *[]string) {
	c.Flags().StringArrayVar(to, "set", nil, "change any key of the scenario by `KEY=VALUE`, as in\ntimers.spf.rfc8405.long_delay=2s; may be repeated")
}
