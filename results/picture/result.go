package picture

import (
	"halflight/results"
)

// Result is what a folder holds, and what its scenario says about it.
type Result struct {
	Name        string // what the reader calls it: the folder
	Setting     string // the timers, in a few words
	Set         *results.Set
	Summary     *results.Summary
	Assumptions []Assumption
	Groups      map[string][]string // routers by name of a group, links as "a~b"
	Made        Made
	Studies     Studies
}

// Assumption is one setting in force.
type Assumption struct {
	Key, Value string
	Given      bool // by the scenario; else a default
	Grade      string
	Source     string
	Range      string // to vary it in
	Unsourced  bool   // rests on nothing but an assumption, and decides something
}

// Made says how a result came about.
type Made struct {
	Program, Go, Platform, Digest string
	Reproduce                     string // the command
	Partial                       string // why replications are missing
	Scenario                      string // the scenario as typed
}

// varied reports whether the unsure inputs were varied: one at a time, or all
// together.
func (r *Result) varied() (alone, together bool) {
	s := r.Studies.Sweep
	return s != nil && len(s.Inputs) > 0, s != nil && s.Worlds != nil
}

// perMonth is what turns an amount of all replications into one per 30 days.
func (r *Result) perMonth() float64 {
	window := float64(r.Set.Study.Horizon) * float64(len(r.Set.Replications))
	if window == 0 {
		return 0
	}
	return 30 * 86400e9 / window
}
