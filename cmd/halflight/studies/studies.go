// Package studies carries out what is asked of more than one setting at a time:
// it makes the variants of a scenario, has them played with common draws, and
// hands records to the rooms that judge them.
//
// It computes nothing about networks and prints nothing; scenarios are loaded by
// the function it is given. It is tested through the verbs.
package studies

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"

	"halflight/cmd/halflight/status"
	"halflight/model"
	"halflight/results"
	"halflight/scenarios"
	"halflight/sim"
	"halflight/sim/record"
	"halflight/sim/replication"
)

// Scenario is one that may be played, with the digest of all its settings.
type Scenario struct {
	*scenarios.Scenario
	World  *model.World
	Digest string
}

// Host is what a study needs of the door.
type Host struct {
	Load    func(name string, set []string) (*Scenario, error)
	Program string // version
	Workers int
	Told    func(done, total int) // progress in replications; may be nil
}

// between is the host of a part of a study: so many replications came before it,
// of so many in all.
func (h *Host) between(before, all int) *Host {
	part := *h
	if h.Told != nil {
		part.Told = func(done, _ int) { h.Told(before+done, all) }
	}
	return &part
}

// Play plays replications 0, 1, ... count-1 of every scenario with the draws of
// its own seed, number by number, so that an interrupt leaves the same numbers of
// all. It returns a set for each, which may lack replications.
func (h *Host) Play(ctx context.Context, list []*Scenario, count int) ([]*results.Set, error) {
	jobs := make([]replication.Job, 0, count*len(list))
	for n := range count {
		for _, s := range list {
			jobs = append(jobs, replication.Job{World: s.World, Seed: s.World.Seed, Number: uint32(n)})
		}
	}
	played, err := h.Each(ctx, list, jobs)
	if err != nil {
		return nil, err
	}
	sets := make([]*results.Set, len(list))
	for i, s := range list {
		sets[i] = h.Set(s, count)
		for n := range count {
			if r := played[n*len(list)+i]; r != nil {
				sets[i].Replications = append(sets[i].Replications, *r)
			}
		}
	}
	return sets, nil
}

// Each plays jobs of scenarios that can be played.
func (h *Host) Each(ctx context.Context, list []*Scenario, jobs []replication.Job) ([]*record.Replication, error) {
	for _, s := range list {
		if err := sim.Check(s.World); err != nil {
			return nil, status.Data("%s: %w", s.File, err)
		}
	}
	played, err := replication.Each(ctx, jobs, h.Workers, nil, h.Told)
	var ours *replication.Fault
	if errors.As(err, &ours) {
		return nil, &status.Failed{Status: status.Ours, Err: err}
	}
	return played, err
}

// Set is an empty set for so many replications of a scenario.
func (h *Host) Set(s *Scenario, count int) *results.Set {
	w := s.World
	study := results.Study{Scenario: w.Name, Digest: s.Digest, Seed: w.Seed, Asked: uint32(count), Program: h.Program,
		WarmUp: w.WarmUp, Horizon: w.Horizon}
	return &results.Set{Study: study, Part: study.Whole(), Header: sim.HeaderOf(w)}
}

// Digest is the SHA-256 of a study: of the digests of its scenarios and of what
// else decides it.
func Digest(parts ...any) string {
	sum := sha256.Sum256([]byte(fmt.Sprintf("%q", fmt.Sprint(parts...))))
	return hex.EncodeToString(sum[:])
}

// distinct makes names that are given twice tell apart.
func distinct(names []string) []string {
	out := slices.Clone(names)
	for i := range out {
		for n := 2; slices.Contains(out[:i], out[i]); n++ {
			out[i] = fmt.Sprintf("%s.%d", names[i], n)
		}
	}
	return out
}
