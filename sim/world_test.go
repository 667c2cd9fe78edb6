package sim

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"halflight/model"
	"halflight/sim/record"
)

// What follows in occupancy_test.go, queue_test.go, renewal_test.go,
// interplay_test.go, storm_test.go and swarm_test.go holds whole replications, as Play gives
// them, against published and closed-form values. Fabrics are small and
// everything happens faster than it would, so that a second of computing holds
// thousands of faults.

// atLeast is how many replications an exact value is held against.
const atLeast = 30

// farOff is how many standard errors a mean may be from the exact value: for
// some fifty checks about 2 % of families have one beyond.
const farOff = 3.5

// sure is a world without instruments, in which what stops is seen at once and
// the first repair always succeeds.
const sure = `
name: %s
telemetry: [{name: nobody, complaints: false}]
applications: []
detection: {signal: 0s, settle: 0s, bfd: false, hello: false}
operations: {first_repair: 1, crew: %s}
`

// prompt are routers that originate, flood and compute in no time.
const prompt = `
timers: {spf_run: 0s, lsp_generation: {first_delay: 0s, incremental_delay: 0s, maximum_delay: 0s, wait_time: 1ns}}
flooding: {per_hop: 0s, exchange: 0s}
`

// playAll plays replications from 0 on.
func playAll(w *model.World, seed uint64, n int) []record.Replication {
	out := make([]record.Replication, n)
	for i := range out {
		out[i] = Play(w, seed, uint32(i))
	}
	return out
}

// each takes one number from every replication.
func each(all []record.Replication, number func(r *record.Replication) float64) []float64 {
	out := make([]float64, len(all))
	for i := range all {
		out[i] = number(&all[i])
	}
	return out
}

// meanAndError returns the mean over replications and its standard error.
func meanAndError(values []float64) (mean, se float64) {
	n := float64(len(values))
	for _, v := range values {
		mean += v / n
	}
	for _, v := range values {
		se += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(se / (n - 1) / n)
}

// agrees holds the mean over replications against an exact value.
func agrees(t *testing.T, what string, values []float64, exact float64) {
	t.Helper()
	agreesWithin(t, what, values, exact, 0)
}

// agreesWithin is agrees for a value that has a standard error of its own.
func agreesWithin(t *testing.T, what string, values []float64, value, ownError float64) {
	t.Helper()
	if len(values) < atLeast {
		t.Fatalf("%s: %d replications are too few", what, len(values))
	}
	mean, se := meanAndError(values)
	if !(se > 0) {
		t.Errorf("%s: %v in every replication says nothing", what, mean)
		return
	}
	z := (mean - value) / math.Hypot(se, ownError)
	t.Logf("%-34s %12.6g +- %-9.3g want %12.6g  z %5.2f", what, mean, se, value, z)
	if !(math.Abs(z) <= farOff) {
		t.Errorf("%s: %v +- %v, want %v: z = %.2f", what, mean, se, value, z)
	}
}

// Counts that should be Poisson: the sum of squares about the mean, over the
// mean, is chi-square with n-1 degrees of freedom; by the cube root (Wilson and
// Hilferty 1931, from memory) it is nearly normal.
func dispersed(counts []float64) (z float64) {
	mean, _ := meanAndError(counts)
	sum := 0.0
	for _, c := range counts {
		sum += (c - mean) * (c - mean) / mean
	}
	df := float64(len(counts) - 1)
	return (math.Cbrt(sum/df) - 1 + 2/(9*df)) / math.Sqrt(2/(9*df))
}

// spell is a time during which something was broken.
type spell struct{ from, to int64 }

// spells returns the faults of a replication of which keep says yes.
func spells(r *record.Replication, keep func(f *record.Fault) bool) []spell {
	var out []spell
	for i := range r.Faults {
		f := &r.Faults[i]
		if !keep(f) {
			continue
		}
		to := f.End
		if to == record.None {
			to = r.To
		}
		out = append(out, spell{f.Onset, to})
	}
	return out
}

func every(*record.Fault) bool { return true }

// levels is how many spells overlap, over time.
type levels struct {
	share   []float64 // of [from, to) with exactly so many
	reached []float64 // times that so many were reached from one less
}

// overlap sweeps over spells. What began before the replication's own window is
// not among them, so from must be later than that by several repair times.
func overlap(list []spell, most int, from, to int64) levels {
	type edge struct {
		at int64
		by int
	}
	var edges []edge
	for _, s := range list {
		edges = append(edges, edge{s.from, 1}, edge{s.to, -1})
	}
	slices.SortFunc(edges, func(a, b edge) int {
		if a.at != b.at {
			return int(a.at - b.at)
		}
		return a.by - b.by
	})
	out := levels{make([]float64, most+1), make([]float64, most+1)}
	now, at := 0, from
	for _, e := range append(edges, edge{to, 0}) {
		if span := min(e.at, to) - at; span > 0 {
			out.share[now] += float64(span) / float64(to-from)
			at += span
		}
		now += e.by
		if e.by > 0 && e.at >= from && e.at < to {
			out.reached[now]++
		}
	}
	return out
}

// atLeastDown is the share of time in which m or more were down.
func (l *levels) atLeastDown(m int) float64 {
	sum := 0.0
	for _, s := range l.share[m:] {
		sum += s
	}
	return sum
}

// oneByOne names every link of a leaf as a group of its own, and a failure that
// strikes it: the rest of the fabric stays sound.
func oneByOne(uplinks int, failure string) string {
	var groups, failures []string
	for j := range uplinks {
		groups = append(groups, fmt.Sprintf("  - {name: uplink-%d, members: [leaf-0-0~spine-0-%d]}", j, j))
		failures = append(failures, fmt.Sprintf("  - {name: cut-%d, on: group:uplink-%d, %s}", j, j, failure))
	}
	return "groups:\n" + strings.Join(groups, "\n") + "\nfailures:\n" + strings.Join(failures, "\n") + "\n"
}

const hour = int64(3600e9)
