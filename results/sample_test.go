package results

import (
	"bytes"
	"errors"
	"math/rand/v2"

	"halflight/sim/record"
)

const (
	testDay = int64(86400e9)
	testMs  = int64(1e6)
)

// testStudy measures two months after one of warm-up.
func testStudy(asked uint32) Study {
	return Study{Scenario: "harbour", Digest: "0badc0de", Seed: 7, Asked: asked, Program: "test 1", WarmUp: 30 * testDay, Horizon: 60 * testDay}
}

func testHeader() record.Header {
	return record.Header{
		Modes: []record.Mode{{Name: "optic-dead", Kind: "hard"}, {Name: "optic-dirty", Kind: "lossy", Gray: true},
			{Name: "optic-old", Kind: "hard"}},
		Phases: []string{"unnoticed", "spf_wait", "stranded"},
		States: []string{"QUIET", "SHORT_WAIT", "LONG_WAIT"},
		Classes: []record.Class{{Name: "calls", Budget: 1e-3, Windows: []record.Window{{Name: "1h", Rate: 14.4}, {Name: "90d", Rate: 1}},
			Delays: []int64{200 * testMs, 600 * testMs}}, {Name: "copies"}},
		Routers: 10, Leaves: 5, Links: 24, Congestion: true,
		Instruments: []record.Instrument{{Name: "counters", Kind: "polling", YearlyCost: 100}}, Prices: record.Prices{Currency: "units", Visit: 300},
	}
}

// testReplication holds nothing that happened: ten routers at rest.
func testReplication(number uint32) record.Replication {
	router := float64(60 * testDay * 10)
	return record.Replication{
		Number: number, From: 30 * testDay, To: 90 * testDay,
		LostSeconds: [][]float64{{0, 0, 0}, {0, 0, 0}, {0, 0, 0}},
		Onsets:      []int64{0, 0, 0}, Present: []float64{0, 0, 0}, Unseen: []float64{0, 0, 0},
		RouterTime: router, StateTime: []float64{router, 0, 0},
		Waits: []record.Wait{{From: 50 * testMs, To: 50 * testMs, Total: router}}, WaitMean: 50e6,
		LeafWaits: []record.Wait{{From: 50 * testMs, To: 50 * testMs, Total: router / 2}}, LeafWaitMean: 50e6,
		RestWait: 50 * testMs, CapacityWorst: 1, Applications: []record.Application{testFelt(), {}}, Watched: []record.Watched{{}},
	}
}

// testFelt is nothing at all, over windows of which one is longer than what is measured.
func testFelt() record.Application {
	return record.Application{Burn: []record.Burn{{}, {Most: record.None, MostLeaf: record.None}}, Late: []float64{0, 0}}
}

func testSet(n uint32) *Set {
	s := &Set{Study: testStudy(n), Part: Range{0, n}, Header: testHeader()}
	for i := range n {
		s.Replications = append(s.Replications, testReplication(i))
	}
	return s
}

// testFault is a hard fault that converged at once and lost nothing.
func testFault(onset int64) record.Fault {
	return record.Fault{Onset: onset, End: onset + testDay, RepairConvergence: record.None, SPFWait: record.None, RouteLoss: record.None,
		Sighted: record.None, Mitigated: record.None}
}

// busySet is a set in which all kinds of things happen, by chance.
func busySet(n uint32, faults int) *Set {
	s := testSet(n)
	for i := range s.Replications {
		r, dice := &s.Replications[i], rand.New(rand.NewPCG(11, uint64(i)))
		for k := range faults {
			f := testFault(r.From + int64(dice.Float64()*float64(r.To-r.From)))
			f.Index, f.Mode, f.On = int32(k), int32(k%2), "leaf-0-1~spine-0-0"
			f.Background = record.Background(dice.IntN(3))
			f.FullConvergence = int64((0.2 + dice.ExpFloat64()*float64(1+3*f.Background)) * 1e9)
			f.SPFWait, f.RouteLoss = int64(dice.ExpFloat64()*3e8), int64(dice.ExpFloat64()*1e8)
			f.Pairs, f.Touched = int32(dice.IntN(20)), int32(dice.IntN(11))
			f.LostSeconds = dice.ExpFloat64()
			f.Phases = []float64{f.LostSeconds / 2, f.LostSeconds / 2, 0}
			if f.Mode == 1 && dice.IntN(4) > 0 {
				f.Sighted, f.SightedBy = int64(dice.ExpFloat64()*1e13), "counters"
				f.Mitigated = f.Sighted + 600e9
			}
			r.Faults = append(r.Faults, f)
			r.Onsets[f.Mode]++
			for p, v := range f.Phases {
				r.LostSeconds[f.Mode][p] += v
			}
			r.Applications[0].SlowShare += f.LostSeconds / 5e6
		}
		r.Present, r.Unseen = []float64{float64(faults) / 100, float64(faults) / 50, 0}, []float64{0, float64(faults) / 200, 0}
		a := &r.Applications[0]
		a.WorstLeaf, a.P99Leaf, a.DegradedLeafHours = 4*a.SlowShare, 3*a.SlowShare, 5*dice.Float64()
		r.Applications[1] = record.Application{SlowShare: a.SlowShare, WorstLeaf: a.WorstLeaf, P99Leaf: a.P99Leaf, DegradedLeafHours: a.DegradedLeafHours}
		long := r.RouterTime / float64(50+dice.IntN(50))
		r.StateTime = []float64{r.RouterTime - long, long / 10, long - long/10}
		ramps := int64(1000 + dice.IntN(1000))
		r.Waits = []record.Wait{{From: 50 * testMs, To: 50 * testMs, Total: r.RouterTime - long - float64(ramps*5000*testMs)},
			{From: 5000 * testMs, To: 5000 * testMs, Total: long}, {From: 5000 * testMs, To: 0, Count: ramps}}
		r.LeafWaits = r.Waits
		r.WaitMean, r.LeafWaitMean = 50e6+1e6*dice.Float64(), 51e6
		r.SPFRuns, r.BusyWorst10s, r.CapacityWorst = int64(1000+dice.IntN(100)), dice.Float64()/10, 0.5+dice.Float64()/2
		r.FalseDrains, r.HandsOn = int64(dice.IntN(3)), 0.3+dice.Float64()
	}
	return s
}

// memory is a Folder of maps; fail is what Create and Write say after some bytes.
type memory struct {
	files     map[string][]byte
	discarded int
	fail      error
	room      int
}

type memoryFile struct {
	bytes.Buffer
	m    *memory
	name string
}

func newMemory() *memory { return &memory{files: map[string][]byte{}} }

func (m *memory) Create(name string) (File, error) { return &memoryFile{m: m, name: name}, nil }

func (f *memoryFile) Write(b []byte) (int, error) {
	if f.m.fail != nil && f.Len()+len(b) > f.m.room {
		return 0, f.m.fail
	}
	return f.Buffer.Write(b)
}

func (f *memoryFile) Close() error {
	f.m.files[f.name] = bytes.Clone(f.Bytes())
	return nil
}

func (f *memoryFile) Discard() { f.m.discarded++ }

var errFull = errors.New("disk full")
