package replication

import (
	"context"
	"sync"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"halflight/model"
	"halflight/sim/record"
)

// Job is one replication to be played of one of several worlds. The world has
// passed sim.Check.
type Job struct {
	World  *model.World
	Seed   uint64
	Number uint32
}

// Each plays jobs, begun in their order, and returns what came of them in the
// same order; nil for those that were not finished when the context ended. The
// error is a *Fault. onDone, if any, is called after each job, never twice at a
// time.
func Each(ctx context.Context, jobs []Job, workers int, onDone func(done, total int)) ([]*record.Replication, error) {
	slots := make([]*record.Replication, len(jobs))
	var next atomic.Int64
	var done int
	var lock sync.Mutex
	g, inner := errgroup.WithContext(ctx)
	for range min(max(workers, 1), max(len(jobs), 1)) {
		g.Go(func() error {
			for {
				i := int(next.Add(1)) - 1
				if i >= len(jobs) || inner.Err() != nil {
					return nil
				}
				r, err := play(inner, jobs[i].World, jobs[i].Seed, jobs[i].Number)
				if r == nil {
					return err
				}
				lock.Lock()
				slots[i] = r
				done++
				if onDone != nil {
					onDone(done, len(jobs))
				}
				lock.Unlock()
			}
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	return slots, nil
}
