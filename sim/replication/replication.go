// Package replication plays many replications: in parallel, kept in order. It
// holds the only goroutines of the project.
//
// It knows nothing of what a replication is made of. It is tested by comparing
// the bytes of one worker with those of several.
package replication

import (
	"context"
	"fmt"
	"runtime/debug"

	"halflight/model"
	"halflight/sim"
	"halflight/sim/record"
)

// Options say what to play.
type Options struct {
	Workers int    // at least 1
	Seed    uint64 // of the study
	First   int    // number of the first replication
	Count   int
	// OnDone is called, never twice at a time, after each replication.
	OnDone func(done, total int)
}

// Result is what was played, in order of number. Partial says that the context
// ended before all were done; those that were are kept, those under way dropped.
type Result struct {
	Header       record.Header
	Replications []record.Replication
	Partial      bool
}

// Run plays the replications. It returns an error for a world that cannot be
// played, and panics with the replication that brings the failure back if the
// program is at fault.
func Run(ctx context.Context, w *model.World, o Options) (*Result, error) {
	if err := sim.Check(w); err != nil {
		return nil, err
	}
	jobs := make([]Job, o.Count)
	for i := range jobs {
		jobs[i] = Job{World: w, Seed: o.Seed, Number: uint32(o.First + i)}
	}
	slots, err := Each(ctx, jobs, o.Workers, o.OnDone)
	if err != nil {
		return nil, err
	}
	out := &Result{Header: sim.HeaderOf(w)}
	for _, r := range slots {
		if r == nil {
			out.Partial = true
			continue
		}
		out.Replications = append(out.Replications, *r)
	}
	return out, nil
}

// Fault is our own mistake, with what brings it back.
type Fault struct {
	Scenario    string
	Seed        uint64
	Replication uint32
	Cause       any
	Stack       []byte
}

// Error says how to see it again.
func (f *Fault) Error() string {
	return fmt.Sprintf("the program failed: %v\nto see it again: halflight trace %s --seed %d --replication %d --worst\n%s",
		f.Cause, f.Scenario, f.Seed, f.Replication, f.Stack)
}

func play(ctx context.Context, w *model.World, seed uint64, number uint32) (r *record.Replication, err error) {
	defer func() {
		if cause := recover(); cause != nil {
			err = &Fault{w.Name, seed, number, cause, debug.Stack()}
		}
	}()
	out, finished := sim.PlayUntil(ctx.Done(), w, seed, number)
	if !finished {
		return nil, nil
	}
	return &out, nil
}
