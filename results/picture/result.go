package picture

import (
	"fmt"
	"strings"

	"halflight/results"
	"halflight/results/answers"
	"halflight/results/credibility"
)

// Result is what a folder holds, and what its scenario says about it.
type Result struct {
	Name        string // what the reader calls it: the folder
	Setting     string // the timers, in a few words
	Set         *results.Set
	Summary     *results.Summary
	Assumptions []credibility.Assumption
	Groups      map[string][]string // routers by name of a group, links as "a~b"
	Made        Made
	Answers     answers.All // of other verbs
}

// Made says how a result came about.
type Made struct {
	Program, Go, Platform, Digest string
	Reproduce                     string // the command
	Partial                       string // why replications are missing
	Scenario                      string // the scenario as typed
}

// Credibility is the statement on a result.
func (r *Result) Credibility() []credibility.Factor { return credibility.Statement(r.evidence()) }

func (r *Result) evidence() *credibility.Evidence {
	s := r.Answers.Sweep
	return &credibility.Evidence{Assumptions: r.Assumptions, Program: r.Made.Program, Digest: r.Made.Digest, Partial: r.Made.Partial,
		Replications: len(r.Set.Replications), Alone: s != nil && len(s.Inputs) > 0, Together: r.Summary.Varied != nil || s != nil && s.Worlds != nil}
}

// perMonth is what turns an amount of all replications into one per 30 days.
func (r *Result) perMonth() float64 {
	window := float64(r.Set.Study.Horizon) * float64(len(r.Set.Replications))
	if window == 0 {
		return 0
	}
	return 30 * 86400e9 / window
}

// again is a command that makes an answer and draws it.
func (r *Result) again(verb, more string) string {
	folder := strings.TrimSuffix(r.Made.Scenario, "/as-typed.yaml")
	return fmt.Sprintf("halflight %s %s%s --out %s-of-it && halflight report %s --with %s-of-it", verb, r.Made.Scenario, more, verb, folder, verb)
}
