package main

import (
	"io"
	"strings"

	"github.com/spf13/cobra"

	"halflight/cmd/halflight/batch"
	"halflight/cmd/halflight/status"
)

// batchVerb prints templates for batch systems.
func (d *door) batchVerb() *cobra.Command {
	var names []string
	for _, t := range batch.Templates() {
		names = append(names, t.Name)
	}
	return &cobra.Command{
		Use:   "batch " + strings.Join(names, "|"),
		Short: "templates that play a study on many machines",
		Long: `Prints a file to start from: an array job of Slurm, an indexed job of
Kubernetes, or a line for GNU parallel. All call run --shard I/N, so that other
batch systems and matrix jobs of a build server serve as well: anything that
starts the same command with another number, into one folder, and starts it
again if it fails.`,
		Example: `halflight batch slurm
halflight batch kubernetes
halflight batch parallel`,
		Args: exactly(1, 1, "one of "+strings.Join(names, ", ")),
		RunE: func(_ *cobra.Command, args []string) error {
			for _, t := range batch.Templates() {
				if t.Name == args[0] {
					_, err := io.WriteString(d.out, t.Text)
					return err
				}
			}
			return status.CommandLine("there is no template %s; there are %s", clip(args[0]), strings.Join(names, ", "))
		},
	}
}
