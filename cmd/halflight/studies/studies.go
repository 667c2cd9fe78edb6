// Package studies carries out what is asked of more than one setting at a time:
// it makes the variants of a scenario, has them played with common draws, and
// hands records to the rooms that judge them.
//
// It computes nothing about networks and prints nothing; scenarios are loaded by
// the function it is given. It is tested through the verbs.
package studies

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"

	"halflight/cmd/halflight/status"
	"halflight/model"
	"halflight/results"
	"halflight/scenarios"
	"halflight/sim"
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
	// Keep is the beginning of the names of files in which what is finished is kept
	// until Done; empty: nothing is. What the same program kept of the same study is
	// taken up.
	Keep string
	kept *journals // all that were opened
}

// KeepAt has a host keep what is finished under names that begin with path.
func (h *Host) KeepAt(path string) { h.Keep, h.kept = path, &journals{} }

// between is the host of a part of a study: so many replications came before it,
// of so many in all.
func (h *Host) between(before, all int) *Host {
	part := *h
	if h.Told != nil {
		part.Told = func(done, _ int) { h.Told(before+done, all) }
	}
	if h.Keep != "" && before > 0 {
		part.Keep = fmt.Sprintf("%s-%d", h.Keep, before)
	}
	return &part
}

// OursOf has a mistake of the program end as one.
func OursOf(err error) error {
	var ours *replication.Fault
	if errors.As(err, &ours) {
		return &status.Failed{Status: status.Ours, Err: err}
	}
	return err
}

// Set is an empty set for so many replications of a scenario.
func (h *Host) Set(s *Scenario, count int) *results.Set {
	w := s.World
	study := results.Study{Scenario: w.Name, Digest: s.Digest, Seed: w.Seed, Asked: uint32(count), Program: h.Program,
		WarmUp: w.WarmUp, Horizon: w.Horizon}
	return &results.Set{Study: study, Part: study.Whole(), Header: sim.HeaderOf(w)}
}

// blame has an error of settings name the flag that they were typed with.
func blame(err error, flag string) error {
	var problems *scenarios.Problems
	if !errors.As(err, &problems) {
		return err
	}
	return &status.Failed{Status: status.Wrong, Err: errors.New(strings.ReplaceAll(problems.Error(), "--set ", flag))}
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
