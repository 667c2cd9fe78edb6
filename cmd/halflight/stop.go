package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"halflight/cmd/halflight/status"
)

// stopped listens for signals that ask to stop. The context ends with the first;
// a second one ends the program at once.
type stopped struct {
	context.Context
	interrupted context.Context
	release     func()
}

// listen begins to listen. notice is called, from another goroutine, when the
// first signal has come.
func listen(notice func()) *stopped {
	interrupted, first := signal.NotifyContext(context.Background(), os.Interrupt)
	either, second := signal.NotifyContext(interrupted, syscall.SIGTERM)
	forget := context.AfterFunc(either, func() {
		signal.Reset(os.Interrupt, syscall.SIGTERM)
		notice()
	})
	return &stopped{either, interrupted, func() { forget(); second(); first() }}
}

// status is the exit status of the signal that came, and its name; 0 without.
func (s *stopped) status() (int, string) {
	switch {
	case s.interrupted.Err() != nil:
		return status.Interrupted, "interrupted"
	case s.Err() != nil:
		return status.Terminated, "terminated"
	}
	return 0, ""
}
