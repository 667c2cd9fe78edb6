// Package weighing says which telemetry pays: from replications that were played
// with the same draws and different sets of instruments, what each instrument
// saves alone, beside all others, and in the order in which one would buy them.
//
// It works from records alone and draws nothing. It is tested by records worked by
// hand.
package weighing

import (
	"math/bits"

	"halflight/sim/record"
)

// Most is how many instruments are weighed at most: sets of them are bits.
const Most = 16

// Subset is what is played: the instruments in force, as bits of their numbers,
// and the time that users bear a fault, as an index of Question.Complaints.
type Subset struct {
	Bits      uint32
	Complaint int
}

// Bundle is a set of instruments by name.
type Bundle struct {
	Name string
	Bits uint32
}

// Question is what is weighed.
type Question struct {
	Scenario    string
	Seed        uint64
	Asked       int      // replications
	Horizon     int64    // ns measured
	WarmUp      int64    // ns
	Instruments []string // at most Most
	Bundles     []Bundle
	// Complaints are mean times, s, to a complaint about a fault at the threshold:
	// the scenario's first, then others to either side; empty when nobody complains.
	Complaints []float64
	Level      float64 // of all intervals of a table together, and of each alone
	Whole      bool    // routers were played too
}

// all is every instrument.
func (q *Question) all() uint32 { return 1<<len(q.Instruments) - 1 }

// First lists what must be played to begin with, each set once: none, each alone,
// all, all but each, the bundles; and at other complaint times none and each
// alone.
func (q *Question) First() []Subset {
	var list []Subset
	seen := map[Subset]bool{}
	add := func(s Subset) {
		if !seen[s] {
			seen[s] = true
			list = append(list, s)
		}
	}
	add(Subset{})
	for i := range q.Instruments {
		add(Subset{Bits: 1 << i})
	}
	add(Subset{Bits: q.all()})
	for i := range q.Instruments {
		add(Subset{Bits: q.all() &^ (1 << i)})
	}
	for _, b := range q.Bundles {
		add(Subset{Bits: b.Bits})
	}
	for k := 1; k < len(q.Complaints); k++ {
		add(Subset{0, k})
		for i := range q.Instruments {
			add(Subset{1 << i, k})
		}
	}
	return list
}

// Played is what came of one set: a replication for each number, in order, the
// same numbers for all sets.
type Played struct {
	Header       record.Header
	Replications []*record.Replication
}

// Evidence is all that was played.
type Evidence map[Subset]*Played

// Next lists what is still to be played for the order of purchase: every
// instrument on top of those bought so far. It is empty when the order is known:
// when the best further one does not save anything on average, or all are bought.
func (q *Question) Next(e Evidence) []Subset {
	_, missing := q.order(e)
	return missing
}

// order buys, one after another, the instrument that saves most on average beside
// those bought before, as long as one saves something.
func (q *Question) order(e Evidence) (bought []int, missing []Subset) {
	have := uint32(0)
	for bits.OnesCount32(have) < len(q.Instruments) {
		best, most := -1, 0.0
		for i := range q.Instruments {
			if have&(1<<i) != 0 {
				continue
			}
			with := Subset{Bits: have | 1<<i}
			if e[with] == nil {
				missing = append(missing, with)
				continue
			}
			if s := meanOf(savings(e[Subset{Bits: have}], e[with])); s > most {
				best, most = i, s
			}
		}
		if missing != nil || best < 0 {
			return bought, missing
		}
		bought = append(bought, best)
		have |= 1 << best
	}
	return bought, nil
}

func meanOf(list []float64) float64 {
	sum := 0.0
	for _, v := range list {
		sum += v / float64(len(list))
	}
	return sum
}
