package web

import (
	"fmt"
	"math/rand/v2"

	"halflight/results"
	"halflight/results/credibility"
	"halflight/results/picture"
	"halflight/sim/record"
)

const day = int64(86400e9)

// sample is a result in which things happen by chance, the same each time: so
// many faults in eight replications of ninety days.
func sample(name string, seed uint64, faults int) *picture.Result {
	dice := rand.New(rand.NewPCG(seed, 1))
	h := record.Header{
		Modes: []record.Mode{{Name: "optic-dead", Kind: "hard"}, {Name: "optic-dirty", Kind: "lossy", Gray: true},
			{Name: "optic-flap", Kind: "flapping"}, {Name: "silent", Kind: "silent", Gray: true}, {Name: "power", Kind: "hard"}},
		Phases: []string{"unnoticed", "noticed", "detection", "lsp_wait", "flooding", "spf_wait", "penalty", "spf_run", "loop", "stranded"},
		States: []string{"QUIET", "SHORT_WAIT", "LONG_WAIT"}, Classes: []record.Class{{Name: "calls", Budget: 1e-4}},
		Routers: 688, Leaves: 400, Links: 7680,
	}
	const n = 8
	study := results.Study{Scenario: name, Digest: "3f1c9a52", Seed: seed, Asked: n, Program: "0.1 3f1c9a52aa01", WarmUp: 90 * day, Horizon: 90 * day}
	set := &results.Set{Study: study, Part: study.Whole(), Header: h}
	for i := range n {
		set.Replications = append(set.Replications, replication(dice, &h, uint32(i), (faults+n-1-i)/n))
	}
	r := &picture.Result{Name: name, Setting: "RFC 8405: 50 ms, 200 ms, 5 s", Set: set, Groups: map[string][]string{"power-leaf-1-2": {"leaf-1-04", "leaf-1-05"}},
		Summary: results.Summarise(set, results.Options{}),
		Made: picture.Made{Program: study.Program, Go: "go1.26", Platform: "linux/amd64", Digest: "3f1c9a52", Reproduce: "halflight run as-typed.yaml --out again",
			Scenario: name + "/as-typed.yaml"}}
	for i := range 120 {
		a := credibility.Assumption{Key: fmt.Sprintf("failures.mode-%d.life.exponential.mean", i), Value: "20y", Grade: string("ABCD"[i%4]), Source: "a paper, from memory", Range: "x 0.1 to x 10"}
		a.Unsourced, a.Given = a.Grade == "D", i%7 == 0
		r.Assumptions = append(r.Assumptions, a)
	}
	return r
}

func replication(dice *rand.Rand, h *record.Header, number uint32, faults int) record.Replication {
	router := float64(90 * day * 500)
	long := router / float64(60+dice.IntN(30))
	modes := len(h.Modes)
	r := record.Replication{
		Number: number, From: 90 * day, To: 180 * day, Onsets: make([]int64, modes), Present: []float64{0.2, 4 + dice.Float64(), 0, 2, 0},
		Unseen: []float64{0, 2 + dice.Float64(), 0, 2, 0}, RouterTime: router, StateTime: []float64{router - long - long/20, long / 20, long},
		Waits:    []record.Wait{{From: 50e6, To: 50e6, Total: router - long}, {From: 5000e6, To: 5000e6, Total: long}},
		WaitMean: 115e6 + 5e6*dice.Float64(), LeafWaitMean: 110e6, RestWait: 50e6, SPFRuns: 900000, BusyWorst10s: 0.03, CapacityWorst: 0.75,
		HandsOn: 0.2, Older: []record.Older{{Mode: 1, On: "leaf-2-07>spine-2-03", LostSeconds: 3}},
		Series: record.Series{Slot: 3600e9, Wide: 24},
	}
	r.LeafWaits = r.Waits
	for range modes {
		r.LostSeconds = append(r.LostSeconds, make([]float64, len(h.Phases)))
	}
	r.LostSeconds[1][0] += 3
	for range 2160 {
		r.Series.Lost = append(r.Series.Lost, float32(1e-6*dice.ExpFloat64()))
	}
	r.Series.Lost[700+int(number)] = 0.02
	r.Series.States = make([][]float32, 3)
	for range 90 {
		away := float32(0.02 * dice.Float64())
		r.Series.Gray, r.Series.Unseen = append(r.Series.Gray, float32(6+dice.Float64())), append(r.Series.Unseen, float32(4+dice.Float64()))
		for s, v := range []float32{1 - away, away / 20, away} {
			r.Series.States[s] = append(r.Series.States[s], v)
		}
	}
	a := record.Application{DegradedLeafHours: 3 * dice.Float64()}
	for k := range faults {
		f := fault(dice, r.From, int32(k), len(h.Phases))
		r.Onsets[f.Mode]++
		for p, v := range f.Phases {
			r.LostSeconds[f.Mode][p] += v
		}
		a.SlowShare += f.LostSeconds / 8e6
		r.Faults = append(r.Faults, f)
	}
	a.WorstLeaf, a.P99Leaf = 9*a.SlowShare, 6*a.SlowShare
	r.Applications = []record.Application{a}
	return r
}

func fault(dice *rand.Rand, from int64, number int32, phases int) record.Fault {
	pod, leaf, spine := dice.IntN(10), dice.IntN(40), dice.IntN(16)
	f := record.Fault{Index: number, Mode: int32(dice.IntN(4)), Onset: from + dice.Int64N(90*day), On: fmt.Sprintf("leaf-%d-%02d~spine-%d-%02d", pod, leaf, pod, spine),
		RepairConvergence: record.None, FullConvergence: record.None, RouteLoss: record.None, SPFWait: record.None, Sighted: record.None,
		Mitigated: record.None, LostSeconds: 2 * dice.ExpFloat64(), Phases: make([]float64, phases), Pairs: int32(dice.IntN(800)), Touched: int32(dice.IntN(689))}
	f.End = f.Onset + int64(dice.ExpFloat64()*float64(day))
	f.Background = record.Background(dice.IntN(10) / 7)
	switch dice.IntN(12) {
	case 0:
		f.On = fmt.Sprintf("spine-%d-%02d>top-%02d-%d", pod, spine, spine, dice.IntN(8))
	case 1:
		f.On, f.Mode = "group:power-leaf-1-2", 4
	case 2:
		f.End = record.None
	}
	if f.Mode == 1 || f.Mode == 3 {
		f.Phases[0], f.Phases[1] = 0.8*f.LostSeconds, 0.2*f.LostSeconds
		if dice.IntN(3) > 0 {
			f.Sighted, f.SightedBy = int64(700e9*dice.ExpFloat64()), []string{"counters", "probes"}[dice.IntN(2)]
			f.Mitigated = f.Sighted + 300e9
		}
		return f
	}
	f.LostSeconds /= 20
	f.Phases[2], f.Phases[5], f.Phases[6] = 0.2*f.LostSeconds, 0.3*f.LostSeconds, 0.5*f.LostSeconds
	f.FullConvergence = int64((0.15 + 0.1*dice.ExpFloat64() + 3*float64(f.Background)*dice.Float64()) * 1e9)
	f.RouteLoss, f.SPFWait = int64(1e8*dice.ExpFloat64()), 50e6
	return f
}
