package main

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
	statusDone        = 0
	statusWrong       = 1   // scenario or data wrong, folder not writable
	statusLine        = 2   // command line wrong
	statusMissed      = 3   // an objective missed
	statusUndecided   = 4   // an objective undecided
	statusHoles       = 5   // shards missing
	statusConflict    = 6   // shards in conflict or corrupt
	statusTrouble     = 75  // input/output trouble that may pass (EX_TEMPFAIL of sysexits.h, from memory)
	statusInterrupted = 130 // 128 + SIGINT
	statusTerminated  = 143 // 128 + SIGTERM
)

// failed is an error with its exit status. An empty text prints nothing.
type failed struct {
	status int
	err    error
}

// Error returns the text for the user.
func (f *failed) Error() string { return f.err.Error() }

// Unwrap returns the cause.
func (f *failed) Unwrap() error { return f.err }

// wrong is an error of the scenario or the data.
func wrong(format string, args ...any) error {
	return &failed{statusWrong, fmt.Errorf(format, args...)}
}

// badLine is an error of the command line.
func badLine(format string, args ...any) error {
	return &failed{statusLine, fmt.Errorf(format, args...)}
}

// trouble turns an error of reading or writing into one with the right status:
// what may pass by itself is worth trying again.
func trouble(what string, err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	status := statusWrong
	for _, passing := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.ESTALE, syscall.EIO, syscall.EAGAIN,
		syscall.ETIMEDOUT, syscall.EMFILE, syscall.ENFILE, syscall.ENOMEM} {
		if errors.Is(err, passing) {
			status = statusTrouble
		}
	}
	return &failed{status, fmt.Errorf("%s: %w", what, err)}
}

// message makes a text a message of the program, ended by one newline. The
// problems of a scenario begin with their place and stay as they are.
func message(text string) string {
	text = strings.TrimRight(text, "\n") + "\n"
	if strings.Contains(strings.TrimSuffix(text, "\n"), "\n") {
		return text
	}
	return "halflight: " + text
}
