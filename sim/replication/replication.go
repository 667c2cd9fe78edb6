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
	// Skip reports whether a number is not to be played, since it is there
	// already. It counts as done. nil: none is.
	Skip func(number uint32) bool
	// Keep is called, never twice at a time, with each replication that was
	// played. Its error stops the run, and is returned with what was played.
	Keep func(r *record.Replication) error
	// Enough is asked before each replication but the first; once it says yes no
	// more are begun, and those under way are finished. So what is played are the
	// lowest numbers, without a hole, whatever they take. nil: never.
	Enough func() bool
}

// Result is what was played, in order of number, without what was skipped. Partial
// says that not all were done: the context ended, in which case those under way
// were dropped, or there was enough.
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
	p := &plays{jobs: make([]Job, o.Count), skipped: make([]bool, o.Count), onDone: o.OnDone, enough: o.Enough}
	if o.Keep != nil {
		p.keep = func(_ int, r *record.Replication) error { return o.Keep(r) }
	}
	for i := range p.jobs {
		p.jobs[i] = Job{World: w, Seed: o.Seed, Number: uint32(o.First + i)}
		if p.skipped[i] = o.Skip != nil && o.Skip(p.jobs[i].Number); p.skipped[i] {
			p.done++
		}
	}
	slots, err := p.play(ctx, o.Workers)
	out := &Result{Header: sim.HeaderOf(w)}
	for i, r := range slots {
		switch {
		case r != nil:
			out.Replications = append(out.Replications, *r)
		case !p.skipped[i]:
			out.Partial = true
		}
	}
	if err != nil && p.kept == nil {
		return nil, err
	}
	return out, err
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

func play(ctx context.Context, j *Job) (r *record.Replication, err error) {
	defer func() {
		if cause := recover(); cause != nil {
			err = &Fault{j.World.Name, j.Seed, j.Number, cause, debug.Stack()}
		}
	}()
	one := sim.PlayUntil
	if j.Sketch {
		one = sim.Sketch
	}
	out, finished := one(ctx.Done(), j.World, j.Seed, j.Number)
	if !finished {
		return nil, nil
	}
	return &out, nil
}
