// Command halflight simulates failures in Clos fabrics with a link-state
// underlay, above all those that are neither up nor down.
//
// This package is the door: one verb, one file. It reads arguments and files,
// hands them to the rooms behind it and writes what comes back; it computes
// nothing about networks. It alone may see the clock, the environment, signals
// and the file system. It is tested by scripts that run whole commands
// (testdata/script) and holds the house rules as a test (house_test.go).
package main

import (
	"bufio"
	"errors"
	"io"
	"os"

	"halflight/cmd/halflight/status"
)

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

// run is the whole program. args are those after the program's name; the result
// is the exit status (see exit.go).
func run(args []string, in io.Reader, out, errOut io.Writer) int {
	buffered := bufio.NewWriter(out)
	d := &door{in: in, out: buffered, err: errOut, colour: colours(isTerminal(out), os.Getenv)}
	err := d.open(args)
	if flushed := buffered.Flush(); flushed != nil && (err == nil || errors.Is(err, flushed)) {
		err = status.IO("standard output", flushed)
	}
	return d.leave(err)
}

// door is one call of the program.
type door struct {
	in  io.Reader
	out *bufio.Writer // its first error comes back at the end
	err io.Writer

	typed  []byte // what came on standard input, once it was read
	colour bool   // out shows colours, and the user wants them
}

// leave prints what went wrong, if anything, and returns the exit status.
func (d *door) leave(err error) int {
	if err == nil {
		return status.Done
	}
	var e *status.Failed
	if !errors.As(err, &e) {
		e = &status.Failed{Status: status.Line, Err: err} // cobra's own errors are about the command line
	}
	if text := e.Error(); text != "" {
		io.WriteString(d.err, status.Message(text))
	}
	return e.Status
}
