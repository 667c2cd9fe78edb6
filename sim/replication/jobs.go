package replication

import (
	"context"
	"runtime/debug"
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
	Sketch bool // without routers: see sim.Sketch
	// Trim, if any, drops from the record what is not needed.
	Trim func(r *record.Replication)
}

// Each plays jobs, begun in their order, and returns what came of them in the
// same order; nil for those that were not finished when the context ended. The
// error is a *Fault, or what keep returned, which ends it. keep, if any, is called
// with each job that was played, then onDone, if any; neither twice at a time.
func Each(ctx context.Context, jobs []Job, workers int, keep func(i int, r *record.Replication) error,
	onDone func(done, total int)) ([]*record.Replication, error) {
	p := &plays{jobs: jobs, skipped: make([]bool, len(jobs)), keep: keep, onDone: onDone}
	slots, err := p.play(ctx, workers)
	if err != nil {
		return nil, err
	}
	return slots, nil
}

// plays is jobs under way. Of its functions any may be nil.
type plays struct {
	jobs    []Job
	skipped []bool
	onDone  func(done, total int)
	keep    func(i int, r *record.Replication) error
	enough  func() bool

	next  atomic.Int64
	lock  sync.Mutex
	slots []*record.Replication
	done  int
	kept  error // of keep
}

// play plays all jobs by so many workers.
func (p *plays) play(ctx context.Context, workers int) ([]*record.Replication, error) {
	defer debug.SetGCPercent(debug.SetGCPercent(growth(p.jobs, workers)))
	p.slots = make([]*record.Replication, len(p.jobs))
	g, inner := errgroup.WithContext(ctx)
	for range min(max(workers, 1), max(len(p.jobs), 1)) {
		g.Go(func() error { return p.work(inner) })
	}
	err := g.Wait()
	return p.slots, err
}

// Few workers on small worlds, whose tables have so many entries at most, may let
// memory grow by so many percent before what is not needed is given back: with two
// workers on two processors none is left for that. tidewater, of 275,200 entries, then
// takes 0.5 GB. Larger worlds give little back in a long time, and may grow less than the
// usual 100.
const fewWorkers, small, smallGrowth, growthOfLarge = 4, 1_000_000, 400, 25

// So large are worlds whose tables take gigabytes, which may grow by less.
const huge, growthOfHuge = 20_000_000, 5

// growth is by how many percent memory may grow.
func growth(jobs []Job, workers int) int {
	most := 0
	for i := range jobs {
		f := jobs[i].World.Fabric
		most = max(most, len(f.Routers)*f.Leaves)
	}
	switch {
	case most > huge:
		return growthOfHuge
	case most > small:
		return growthOfLarge
	}
	if workers > fewWorkers {
		return 100
	}
	return smallGrowth
}

// work plays one job after the other.
func (p *plays) work(ctx context.Context) error {
	for {
		i := int(p.next.Add(1)) - 1
		if i < len(p.jobs) && p.skipped[i] {
			continue
		}
		if i >= len(p.jobs) || ctx.Err() != nil || i > 0 && p.enough != nil && p.enough() {
			return nil
		}
		r, err := play(ctx, &p.jobs[i])
		if r == nil {
			return err
		}
		if trim := p.jobs[i].Trim; trim != nil {
			trim(r)
		}
		if err := p.put(i, r); err != nil {
			return err
		}
	}
}

// put keeps what was played.
func (p *plays) put(i int, r *record.Replication) error {
	p.lock.Lock()
	defer p.lock.Unlock()
	p.slots[i] = r
	p.done++
	if p.keep != nil && p.kept == nil {
		p.kept = p.keep(i, r)
	}
	if p.onDone != nil {
		p.onDone(p.done, len(p.jobs))
	}
	return p.kept
}
