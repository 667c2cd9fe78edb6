package studies

import (
	"context"
	"fmt"

	"halflight/cmd/halflight/player"
	"halflight/cmd/halflight/status"
	"halflight/results"
	"halflight/sim"
	"halflight/sim/record"
	"halflight/sim/replication"
)

// journals keep what is finished of a study of many scenarios, a file each, from the
// moment it is finished until the result is whole.
type journals struct {
	list []*player.Journal
	shut bool // each file is closed after every line: there are too many to hold open
}

// heldOpen is how many journals are held open at a time.
const heldOpen = 100

// openJournals returns what earlier attempts left, by scenario and number.
func (h *Host) openJournals(list []*Scenario, sets []*results.Set) (*journals, []map[uint32]*record.Replication, error) {
	held := make([]map[uint32]*record.Replication, len(list))
	if h.Keep == "" {
		return nil, held, nil
	}
	out := &journals{shut: len(list) > heldOpen}
	for i := range list {
		j, found, err := player.Open(fmt.Sprintf("%s-%d", h.Keep, i), sets[i].Study, sets[i].Header)
		if err != nil {
			return nil, nil, err
		}
		held[i] = map[uint32]*record.Replication{}
		for k := range found {
			held[i][found[k].Number] = &found[k]
		}
		out.list = append(out.list, j)
	}
	h.kept.list = append(h.kept.list, out.list...)
	return out, held, nil
}

// keep adds a replication of scenario i.
func (j *journals) keep(i int, r *record.Replication) error {
	if j == nil {
		return nil
	}
	if err := j.list[i].Keep(r); err != nil {
		return err
	}
	if j.shut {
		return j.list[i].Close()
	}
	return nil
}

func (j *journals) close() error {
	if j == nil {
		return nil
	}
	for _, one := range j.list {
		if err := one.Close(); err != nil {
			return err
		}
	}
	return nil
}

// Done drops what was kept: all of it is in the result.
func (h *Host) Done() error {
	if h.kept == nil {
		return nil
	}
	for _, j := range h.kept.list {
		if err := j.Remove(); err != nil {
			return err
		}
	}
	h.kept.list = nil
	return nil
}

// Play plays replications 0, 1, ... count-1 of every scenario; see PlayFrom.
func (h *Host) Play(ctx context.Context, list []*Scenario, count int) ([]*results.Set, error) {
	return h.PlayFrom(ctx, list, 0, count)
}

// PlayFrom plays so many replications of every scenario, from the number first on,
// with the draws of its own seed, number by number, so that an interrupt leaves the
// same numbers of all. It returns a set for each, which may lack replications. What
// an earlier attempt kept is not played again.
func (h *Host) PlayFrom(ctx context.Context, list []*Scenario, first uint32, count int) ([]*results.Set, error) {
	sets := make([]*results.Set, len(list))
	for i, s := range list {
		sets[i] = h.Set(s, count)
		sets[i].Study.First = first
		sets[i].Part = sets[i].Study.Whole()
	}
	kept, held, err := h.openJournals(list, sets)
	if err != nil {
		return nil, err
	}
	var jobs []replication.Job
	var side []int
	for n := first; n < first+uint32(count); n++ {
		for i, s := range list {
			if held[i][n] == nil {
				jobs, side = append(jobs, replication.Job{World: s.World, Seed: s.World.Seed, Number: n}), append(side, i)
			}
		}
	}
	part := h.after(count*len(list) - len(jobs))
	played, err := part.each(ctx, list, jobs, func(k int, r *record.Replication) error { return kept.keep(side[k], r) })
	if closed := kept.close(); err == nil {
		err = closed
	}
	if err != nil {
		return nil, err
	}
	for k, r := range played {
		if r != nil {
			if held[side[k]] == nil {
				held[side[k]] = map[uint32]*record.Replication{}
			}
			held[side[k]][r.Number] = r
		}
	}
	for i := range list {
		for n := first; n < first+uint32(count); n++ {
			if r := held[i][n]; r != nil {
				sets[i].Replications = append(sets[i].Replications, *r)
			}
		}
	}
	return sets, nil
}

// after is the host of what is left to play once so many are there.
func (h *Host) after(there int) *Host {
	part := *h
	if h.Told != nil && there > 0 {
		part.Told = func(done, total int) { h.Told(there+done, there+total) }
		h.Told(there, there)
	}
	return &part
}

// each plays jobs of scenarios that can be played.
func (h *Host) each(ctx context.Context, list []*Scenario, jobs []replication.Job, keep func(i int, r *record.Replication) error) ([]*record.Replication, error) {
	for _, s := range list {
		if err := sim.Check(s.World); err != nil {
			return nil, status.Data("%s: %w", s.File, err)
		}
	}
	played, err := replication.Each(ctx, jobs, h.Workers, keep, h.Told)
	return played, OursOf(err)
}
