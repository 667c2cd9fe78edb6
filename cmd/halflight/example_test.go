package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// Every example on a page of help is run, in the order of the page, and ends
// well.
func TestExamplesOfHelp(t *testing.T) {
	inFolder(t)
	ran := 0
	root := (&door{}).root()
	for _, c := range append([]*cobra.Command{root}, root.Commands()...) {
		for line := range strings.Lines(c.Example) {
			fields := strings.Fields(line)
			if len(fields) == 0 {
				continue
			}
			if fields[0] != "halflight" {
				t.Errorf("%s: the example %q is not of this program", c.Name(), line)
				continue
			}
			var out, errOut bytes.Buffer
			if code := run(fields[1:], strings.NewReader(""), &out, &errOut); code != 0 || out.Len()+errOut.Len() == 0 {
				t.Errorf("%s: %s ends with %d and %d bytes: %s", c.Name(), strings.TrimSpace(line), code, out.Len(), errOut.String())
			}
			ran++
		}
		if c.Example == "" && c.Name() != "help" {
			t.Errorf("%s has no example", c.Name())
		}
	}
	if ran < 10 {
		t.Errorf("only %d examples", ran)
	}
}
