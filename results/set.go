package results

import (
	"fmt"
	"reflect"
	"slices"

	"halflight/sim/record"
)

// Study says which simulation the replications of a set belong to. All of it is
// a function of the inputs.
type Study struct {
	Scenario string `json:"scenario"` // its name
	Digest   string `json:"digest"`   // of the resolved scenario
	Seed     uint64 `json:"seed"`
	First    uint32 `json:"first"`           // number of the first replication of the whole study
	Asked    uint32 `json:"asked"`           // replications of the whole study
	Program  string `json:"program"`         // version of the program that simulated
	WarmUp   int64  `json:"warm_up"`         // ns, simulated and discarded
	Horizon  int64  `json:"horizon"`         // ns measured after it
	Quick    bool   `json:"quick,omitempty"` // a quick look, not a study
}

// Whole is the range of replication numbers that the study asks for.
func (s Study) Whole() Range { return Range{s.First, s.First + s.Asked} }

// Range is the replication numbers From, From+1, ... up to but without To.
type Range struct {
	From uint32 `json:"from"`
	To   uint32 `json:"to"`
}

// Len is how many numbers lie in the range.
func (r Range) Len() int {
	if r.To <= r.From {
		return 0
	}
	return int(r.To - r.From)
}

// Holds reports whether a number lies in the range.
func (r Range) Holds(n uint32) bool { return n >= r.From && n < r.To }

// String writes the first and the last number, as people count.
func (r Range) String() string {
	switch r.Len() {
	case 0:
		return "none"
	case 1:
		return fmt.Sprint(r.From)
	}
	return fmt.Sprintf("%d to %d", r.From, r.To-1)
}

// Set is replications of one study: all of it, one shard, or what was done when
// it was stopped.
type Set struct {
	Study        Study
	Part         Range // the numbers that this set is to hold
	Header       record.Header
	Replications []record.Replication // by number, each at most once
	Shards       int                  // of a shard: how many the study was cut into; else 0
	Scenario     string               // of a shard: the scenario as typed; else empty
	File         string               // that it was read from, for messages

	lean  bool    // the lost share by slot was left out
	lines *copied // where the lines of a lean set are
}

// Missing lists the numbers of Part that the set does not hold; none when it is
// complete.
func (s *Set) Missing() []Range {
	var holes []Range
	next := s.Part.From
	for i := range s.Replications {
		n := s.Replications[i].Number
		if n > next {
			holes = append(holes, Range{next, n})
		}
		next = n + 1
	}
	if next < s.Part.To {
		holes = append(holes, Range{next, s.Part.To})
	}
	return holes
}

// Check returns what is wrong with the set, or nil: an empty or overlong range,
// numbers outside Part or out of order, windows other than the study's, lists of
// another length than the header calls for.
func (s *Set) Check() error {
	if err := s.checkStudy(); err != nil {
		return err
	}
	for i := range s.Replications {
		r := &s.Replications[i]
		if i > 0 && r.Number <= s.Replications[i-1].Number {
			return fmt.Errorf("replication %d follows replication %d; they must come in order, each once", r.Number, s.Replications[i-1].Number)
		}
		if err := s.CheckOne(r); err != nil {
			return fmt.Errorf("replication %d: %w", r.Number, err)
		}
	}
	return nil
}

func (s *Set) checkStudy() error {
	whole := uint64(s.Study.First) + uint64(s.Study.Asked)
	switch {
	case s.Study.Asked == 0:
		return fmt.Errorf("the study asks for no replication")
	case whole > 1<<32-1:
		return fmt.Errorf("the study's replications %d and %d more pass the largest number, %d", s.Study.First, s.Study.Asked, uint32(1<<32-1))
	case s.Study.Horizon <= 0 || s.Study.WarmUp < 0:
		return fmt.Errorf("warm-up %d ns and horizon %d ns leave nothing to measure", s.Study.WarmUp, s.Study.Horizon)
	case s.Part.From > s.Part.To || s.Part.From < s.Study.First || uint64(s.Part.To) > whole:
		return fmt.Errorf("the part from %d up to %d is not within the study's replications %v", s.Part.From, s.Part.To, s.Study.Whole())
	}
	return nil
}

// CheckOne holds one replication against the study and the header.
func (s *Set) CheckOne(r *record.Replication) error {
	h, modes := &s.Header, len(s.Header.Modes)
	from, to := s.Study.WarmUp, s.Study.WarmUp+s.Study.Horizon
	switch {
	case !s.Part.Holds(r.Number):
		return fmt.Errorf("its number is not of this part, %v", s.Part)
	case r.From != from || r.To != to:
		return fmt.Errorf("measured from %d to %d ns, the study from %d to %d", r.From, r.To, from, to)
	case len(r.LostSeconds) != modes || len(r.Onsets) != modes || len(r.Present) != modes || len(r.Unseen) != modes:
		return fmt.Errorf("its lists are not by the %d modes of the header", modes)
	case len(r.StateTime) != len(h.States):
		return fmt.Errorf("it has times of %d back-off states, the header names %d", len(r.StateTime), len(h.States))
	case len(r.Applications) != len(h.Classes):
		return fmt.Errorf("it has %d application classes, the header names %d", len(r.Applications), len(h.Classes))
	case !slices.EqualFunc(r.Applications, h.Classes, followed):
		return fmt.Errorf("its windows of error budgets or its delays are not those of the header")
	case !fits(&r.Series, to-from, len(h.States), s.lean):
		return fmt.Errorf("its series is not of slots that fill the window")
	case len(r.Watched) != len(h.Instruments):
		return fmt.Errorf("it counts for %d instruments, the header names %d", len(r.Watched), len(h.Instruments))
	case (r.Servers == nil) != (h.Servers == nil):
		return fmt.Errorf("it follows servers and the header does not, or the other way round")
	case r.RouterTime < 0 || sumOf(r.StateTime) > r.RouterTime*(1+1e-9):
		return fmt.Errorf("its back-off states last %.6g ns, its routers %.6g", sumOf(r.StateTime), r.RouterTime)
	}
	for _, row := range r.LostSeconds {
		if len(row) != len(h.Phases) {
			return fmt.Errorf("it charges lost seconds to %d phases, the header names %d", len(row), len(h.Phases))
		}
	}
	for i := range r.Older {
		if m := r.Older[i].Mode; m < 0 || int(m) >= modes {
			return fmt.Errorf("an older fault is of mode %d, the header names %d", m, modes)
		}
	}
	return checkFaults(r.Faults, modes)
}

// followed reports whether an application has as many delays as its class, and
// windows, unless these were not kept.
func followed(a record.Application, c record.Class) bool {
	return len(a.Late) == len(c.Delays) && (len(a.Burn) == 0 || len(a.Burn) == len(c.Windows))
}

// fits reports whether a series, if there is one, fills a window of so many ns.
func fits(s *record.Series, window int64, states int, lean bool) bool {
	if s.Slot == 0 {
		return len(s.Lost)+len(s.Gray)+len(s.Unseen)+len(s.States) == 0
	}
	if s.Slot < 0 || s.Wide < 1 || len(s.States) != states {
		return false
	}
	slots := int((window-1)/s.Slot + 1)
	if len(s.Lost) != slots && !lean {
		return false
	}
	wide := (slots + s.Wide - 1) / s.Wide
	for _, row := range s.States {
		if len(row) != wide {
			return false
		}
	}
	return len(s.Gray) == wide && len(s.Unseen) == wide
}

func checkFaults(faults []record.Fault, modes int) error {
	for i := range faults {
		if m := faults[i].Mode; m < 0 || int(m) >= modes {
			return fmt.Errorf("fault %d is of mode %d, the header names %d", faults[i].Index, m, modes)
		}
	}
	return nil
}

// sumOf adds router times: of many routers and months they pass what int64 holds.
func sumOf[T int64 | float64](list []T) (sum float64) {
	for _, v := range list {
		sum += float64(v)
	}
	return sum
}

// sameHeader reports whether two headers say the same.
func sameHeader(a, b *record.Header) bool {
	return slices.Equal(a.Modes, b.Modes) && slices.Equal(a.Phases, b.Phases) && slices.Equal(a.States, b.States) &&
		reflect.DeepEqual(a.Classes, b.Classes) && slices.Equal(a.Instruments, b.Instruments) && a.Prices == b.Prices && a.BusiestUse == b.BusiestUse && a.BusiestAccess == b.BusiestAccess && a.External == b.External && a.Hottest == b.Hottest && a.Congestion == b.Congestion && a.Routers == b.Routers && a.Leaves == b.Leaves && a.Outside == b.Outside && a.Links == b.Links &&
		(a.Servers == nil) == (b.Servers == nil) && (a.Servers == nil || *a.Servers == *b.Servers)
}
