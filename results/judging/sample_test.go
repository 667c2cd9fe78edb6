package judging

import (
	"math/rand/v2"

	"halflight/results"
	"halflight/sim/record"
)

const day = int64(86400e9)

// The measures that samples are about: spf_runs is SPFRuns over 2,400
// router-hours, technicians.offered is HandsOn.
const routerHours = 2400

// sample is a study of replications whose figures are given by number. Nothing
// else happens in them.
func sample(n int, spfRuns func(i int) int64) *results.Set {
	study := results.Study{Scenario: "quay", Digest: "d", Seed: 1, Asked: uint32(n), Program: "test", Horizon: 10 * day}
	s := &results.Set{Study: study, Part: study.Whole(), Header: record.Header{
		Modes: []record.Mode{{Name: "cut", Kind: "hard"}}, Phases: []string{"spf_wait", "stranded"}, States: []string{"QUIET"},
		Classes: []record.Class{{Name: "calls", Budget: 1e-3}}, Routers: 10, Leaves: 4, Links: 8,
	}}
	for i := range n {
		router := float64(routerHours) * 3600e9
		s.Replications = append(s.Replications, record.Replication{
			Number: uint32(i), To: 10 * day, LostSeconds: [][]float64{{0, 0}}, Onsets: []int64{0}, Present: []float64{0}, Unseen: []float64{0},
			RouterTime: router, StateTime: []float64{router}, Waits: []record.Wait{{From: 50e6, To: 50e6, Total: router}}, WaitMean: 50e6,
			LeafWaits: []record.Wait{{From: 50e6, To: 50e6, Total: router / 2}}, LeafWaitMean: 50e6, RestWait: 50e6,
			SPFRuns: spfRuns(i), BusyWorst10s: 0.2, CapacityWorst: 0.75, Applications: []record.Application{{}},
		})
	}
	return s
}

// normals is a study whose spf_runs follow a normal law with a mean and a spread,
// per router-hour.
func normals(n int, mean, spread float64, dice *rand.Rand) *results.Set {
	return sample(n, func(int) int64 { return int64(routerHours * (mean + spread*dice.NormFloat64())) })
}
