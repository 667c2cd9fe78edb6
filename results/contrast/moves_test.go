package contrast

import (
	"math"
	"strings"
	"testing"

	"halflight/results"
	"halflight/sim/record"
)

// side makes a set of eight groups of servers, each replication with one time cut
// off of four of them, and what else it lost.
func movesSide(name string, attachments int, cuts []float64, other []float64) Side {
	s := results.Set{Study: results.Study{Scenario: name, Seed: 1, Asked: uint32(len(cuts)), Horizon: 30 * 86400e9}}
	s.Header = record.Header{Phases: []string{"stranded"}, Modes: []record.Mode{{Name: "cut", Kind: "hard"}},
		Servers: &record.ServersOf{Groups: 8, Attachments: attachments, Access: 8 * attachments}}
	for i, cut := range cuts {
		r := record.Replication{Number: uint32(i), To: 30 * 86400e9, LostSeconds: [][]float64{{cut*2*4/8 + other[i]}}, Servers: &record.Servers{}}
		if cut > 0 {
			r.Servers.Cutoffs = []record.Cutoff{{From: 0, To: int64(cut * 1e9), Groups: 4}}
		}
		s.Replications = append(s.Replications, r)
	}
	s.Part = s.Study.Whole()
	return Side{name, &s}
}

// By hand: half of the groups, at one end of all pairs, are cut off for 100 s in
// each of three replications; two attachments lose 30, 40 and 50 s. If all moves
// within X, one attachment loses X: 40 s breaks even, and the interval is that of a
// mean of 3 with standard error 10/sqrt(3): t(2, 0.975) = 4.302653 (any table), so
// 40 -+ 24.841, for common draws, without spread on the first side, as unrelated.
func TestBreakEvenByHand(t *testing.T) {
	c := &Contrast{Level: 0.95, Common: true, Sides: []Side{movesSide("one", 1, []float64{100, 100, 100}, []float64{0, 0, 0}),
		movesSide("two", 2, []float64{0, 0, 0}, []float64{30, 40, 50})}}
	b, ok := c.BreakEven(1)
	half := 4.302653 * 10 / math.Sqrt(3)
	if !ok || math.Abs(b.Within-40) > 1e-6 || !b.Known || math.Abs(b.Low-(40-half)) > 1e-4 || math.Abs(b.High-(40+half)) > 1e-4 {
		t.Errorf("%+v, want 40 s -+ %v", b, half)
	}
	if says := b.Sentence(0.95); !strings.Contains(says, "within 40.0 s") {
		t.Error(says)
	}
	// The other way round it is the same question.
	c.Sides[0], c.Sides[1] = c.Sides[1], c.Sides[0]
	if o, _ := c.BreakEven(1); o.Within != b.Within || o.One != "one" {
		t.Errorf("%+v", o)
	}
	// If only half moves, 50 s are left at best.
	c.Sides[1].Set.Header.Servers.MovesShare, c.Sides[1].Set.Header.Servers.MovesWithin = 0.5, int64(math.MaxInt32)*1e9
	if o, _ := c.BreakEven(1); o.Within != 0 {
		t.Errorf("%+v", o)
	}
	c.Sides = []Side{movesSide("one", 1, []float64{10, 10}, []float64{0, 0}), movesSide("two", 2, []float64{0, 0}, []float64{30, 40})}
	if o, _ := c.BreakEven(1); !math.IsInf(o.Within, 1) || !strings.Contains(o.Sentence(0.95), "even if nothing") {
		t.Errorf("%+v", o)
	}
	c.Sides[1].Set.Header.Servers.Attachments = 1
	if _, ok := c.BreakEven(1); ok {
		t.Error("two sides with one attachment break even with nobody")
	}
}
