// Package status is how this program ends: exit statuses, and errors that carry
// one.
//
// It knows no verb. It is tested by running whole commands.
package status

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"
)

// Exit statuses. They are part of the interface: build servers and batch
// systems act on them.
const (
	Done        = 0
	Wrong       = 1   // scenario or data wrong, folder not writable
	Line        = 2   // command line wrong
	Missed      = 3   // an objective missed
	Undecided   = 4   // an objective undecided
	Holes       = 5   // shards missing
	Conflict    = 6   // shards in conflict or corrupt
	Ours        = 70  // our own mistake (EX_SOFTWARE of sysexits.h, from memory)
	Trouble     = 75  // input/output trouble that may pass (EX_TEMPFAIL of sysexits.h, from memory)
	Interrupted = 130 // 128 + SIGINT
	Terminated  = 143 // 128 + SIGTERM
)

// Failed is an error with its exit status. An empty text prints nothing.
type Failed struct {
	Status int
	Err    error
}

// Error returns the text for the user.
func (f *Failed) Error() string { return f.Err.Error() }

// Unwrap returns the cause.
func (f *Failed) Unwrap() error { return f.Err }

// Data is an error of the scenario or the data.
func Data(format string, args ...any) error {
	return &Failed{Wrong, fmt.Errorf(format, args...)}
}

// CommandLine is an error of the command line.
func CommandLine(format string, args ...any) error {
	return &Failed{Line, fmt.Errorf(format, args...)}
}

// IO turns an error of reading or writing into one with the right status:
// what may pass by itself is worth trying again.
func IO(what string, err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	status := Wrong
	for _, passing := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.ESTALE, syscall.EIO, syscall.EAGAIN,
		syscall.ETIMEDOUT, syscall.EMFILE, syscall.ENFILE, syscall.ENOMEM} {
		if errors.Is(err, passing) {
			status = Trouble
		}
	}
	return &Failed{status, fmt.Errorf("%s: %w", what, err)}
}

// Message makes a text a message of the program, ended by one newline. The
// problems of a scenario begin with their place and stay as they are.
func Message(text string) string {
	text = strings.TrimRight(text, "\n") + "\n"
	if strings.Contains(strings.TrimSuffix(text, "\n"), "\n") {
		return text
	}
	return "halflight: " + text
}
