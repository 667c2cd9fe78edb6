// Package timer describes the timers of the control plane: back-off of SPF
// runs and of LSP generation, detection, flooding and table writes. All times
// are int64 nanoseconds.
//
// It holds values and their ranges, not behaviour, and knows no routers. It is
// tested by the ranges that the standards set.
package timer

import (
	"fmt"
	"math"
)

// Family names an SPF back-off machine.
type Family uint8

// The families: RFC 8405; doubling per run and doubling of the spacing of
// runs; two steps (words of RFC 8541, section 4).
const (
	RFC8405 Family = iota
	DoublingA
	DoublingB
	TwoStep
)

// String returns the key under which a scenario names the family.
func (f Family) String() string {
	return [...]string{"rfc8405", "doubling a", "doubling b", "two_step"}[f]
}

// States returns the names of the family's states, the first state first and
// the state of the longest wait last.
func (f Family) States() []string {
	switch f {
	case RFC8405:
		return []string{"QUIET", "SHORT_WAIT", "LONG_WAIT"}
	case TwoStep:
		return []string{"RAPID", "SLOW"}
	}
	return []string{"FAST", "BACK_OFF"}
}

// MixedStates are the states of an area in which families with states of their own
// are mixed: the first state of each, the one between of RFC 8405, the last of each.
var MixedStates = []string{"FIRST", "SHORT_WAIT", "LAST"}

// SameStates says whether two families have the same states.
func SameStates(a, b Family) bool { return a.States()[0] == b.States()[0] }

// SPF holds the parameters of the SPF back-off; those of other families than
// Family are not used.
type SPF struct {
	Family Family
	// RFC 8405, section 3.
	Initial, Short, Long, TimeToLearn, Holddown int64
	// Doubling (RFC 8541, section 4.2).
	First, Incremental, Maximum int64
	// Two-step (RFC 8541, section 4.1).
	Rapid, Slow int64
	RapidRuns   int
	// Wait is the quiet time of doubling and two-step.
	Wait int64
}

// Doubling holds the parameters of LSP generation, doubling form A.
type Doubling struct {
	First, Incremental, Maximum, Wait int64
}

// Check returns an error if a standard's rule on the values is broken.
func (s SPF) Check() error {
	if s.Family == RFC8405 && s.Holddown <= s.TimeToLearn {
		return fmt.Errorf("timer: holddown must exceed time_to_learn (RFC 8405, section 3)")
	}
	if s.Family == TwoStep && s.RapidRuns < 1 {
		return fmt.Errorf("timer: rapid_runs must be at least 1")
	}
	return nil
}

// Check returns an error if the delays cannot be those of a doubling back-off:
// the quiet time must be longer than the longest delay, or a delay that runs
// would be forgotten before it ends.
func (d Doubling) Check() error {
	if d.Maximum >= d.Wait {
		return fmt.Errorf("timer: maximum_delay must be below wait_time")
	}
	return nil
}

// Sends is how one end of a BFD session is set: it wants to send a packet every
// Transmit, wants none more often than every Receive, and is given up when
// Multiplier packets are missing (RFC 5880, section 6.8.1). Zero fields: as all.
type Sends struct {
	Transmit, Receive int64
	Multiplier        int
}

// BFDPace returns how often a router of one class sends to one of another, the
// greater of what the sender wants and what the receiver can take, and after how
// many missing packets the receiver gives up: the sender's multiplier (RFC 5880,
// sections 6.8.7 and 6.8.4).
func (s *Set) BFDPace(from, to uint8) (interval int64, multiplier int) {
	a, b := s.BFDAt[from], s.BFDAt[to]
	interval, multiplier = s.BFDInterval, s.BFDMultiplier
	if a.Transmit > 0 {
		interval = a.Transmit
	}
	if s.BFDReceive > 0 && b.Receive == 0 {
		b.Receive = s.BFDReceive
	}
	if a.Multiplier > 0 {
		multiplier = a.Multiplier
	}
	return max(interval, b.Receive), multiplier
}

// Window is how LSPs go out on one interface (RFC 9681): Burst of them at once, then
// one each Interval, and no more than Receive that are not acknowledged. The
// receiver acknowledges every PerAck LSPs, or AckDelay after the first that waits.
type Window struct {
	On              bool
	Burst           int
	Interval        int64
	Receive, PerAck int
	AckDelay        int64
}

// Last returns how long after the first of n LSPs the last one leaves, each being
// there delay after it left and acknowledgements coming back as fast.
func (w Window) Last(n int, delay int64) int64 {
	if n < 1 {
		return 0
	}
	arrived, known := make([]int64, n), make([]int64, n) // known: acknowledged at the sender
	waiting, sent := 0, int64(0)                         // waiting: first not acknowledged yet
	acknowledge := func(upTo int, at int64) {
		for k := waiting; k < upTo; k++ {
			known[k] = at + delay
		}
		waiting = upTo
	}
	for i := range n {
		sent = max(sent, int64(max(0, i+1-w.Burst))*w.Interval)
		if k := i - w.Receive; k >= 0 {
			if waiting <= k { // nothing more comes until the receiver's patience ends
				acknowledge(i, arrived[waiting]+w.AckDelay)
			}
			sent = max(sent, known[k])
		}
		arrived[i] = sent + delay
		if waiting < i && arrived[waiting]+w.AckDelay < arrived[i] {
			acknowledge(i, arrived[waiting]+w.AckDelay)
		}
		if i+1-waiting >= w.PerAck {
			acknowledge(i+1, arrived[i])
		}
	}
	return sent
}

// Damping keeps a link out of use that goes down again and again (RFC 2439). The
// penalty of an end grows by Increment each time it goes down and halves in
// HalfLife; above CutOff the end is not used until it has fallen to Reuse. It never
// exceeds Reuse x 2^(Hold/HalfLife), so that nothing is kept out for longer than
// Hold after it was last down.
type Damping struct {
	On                       bool
	Increment, CutOff, Reuse float64
	HalfLife, Hold           int64
}

// Ceiling returns the largest penalty. A cut-off at or above it is never
// exceeded.
func (d Damping) Ceiling() float64 {
	return float64(d.Reuse * math.Exp2(float64(d.Hold)/float64(d.HalfLife)))
}

// Set is everything that times the control plane.
type Set struct {
	SPF           SPF
	LSPGeneration Doubling
	SPFRun        int64 // how long an SPF run lasts

	Signal int64 // loss of light to its detection
	Settle int64 // light again to the adjacency up; not below Signal

	BFD           bool
	BFDInterval   int64
	BFDReceive    int64 // no packet more often than this is wanted; 0: any
	BFDMultiplier int
	// BFDAt is how routers of each class (leaf, spine, top) are set where they differ
	// from the above; zero where they do not.
	BFDAt           [4]Sends
	BFDJitter       float64 // share by which a gap may be shortened; 0 without jitter
	HelloJitter     float64 // the same of hellos
	Hello           bool
	HelloInterval   int64
	HelloMultiplier int
	// ThreeWay: an end that hears nothing says so in its hellos, and the other end
	// goes down with it (RFC 5303).
	ThreeWay bool

	Damping Damping

	PerHop, Exchange      int64
	FloodingDegree        int   // reduced flooding: links of a router to the next tier in the flooding topology; 0 without
	Redraw                int64 // from a change of an adjacency to the area leader's new flooding topology
	Hosts                 int   // routers of the area on servers, of each leaf: each an LSP more in every database
	Pacing                bool
	PacingBurst           int
	PacingInterval        int64
	Window                Window
	Lossy                 bool // LSPs are lost on lossy links, and sent again
	SecondLSPCounts       bool
	FIBBase, FIBPerPrefix int64
	// Prefixes is how many prefixes a leaf has in each family. Entries is how many table
	// entries a destination has: prefixes in each family, and label entries of each. SharedGroups: one write moves all entries
	// of a router that share their next hops, if all change alike.
	Prefixes     int64
	Entries      int64
	SharedGroups bool
	// LocalDelay is how long a router waits before it writes what the loss of one
	// link of its own changes (RFC 8333); 0 for no time. Ordered: routers write in
	// turn (RFC 6976), OrderHold after the first event, OrderStep apart.
	LocalDelay           int64
	Ordered              bool
	OrderHold, OrderStep int64
	LocalPrune           bool
	// RepairTunnel: once pruned, a router sends what still has its next hop over a
	// dead link of its own around that link to the router at its far end.
	RepairTunnel               bool
	PruneDelay                 int64
	OverloadLeaves, UntilReady bool
	// Grace is how long neighbours keep the adjacency with a router that restarts
	// with its tables kept.
	Grace     int64
	LastState bool // SPF machines begin in their last state
}
