// Package failure is the truth about what is broken: the kinds of failure, the
// laws of lives and repairs, and the condition that a fault puts a part in.
//
// Routers and operators never import it, not even at second hand: a gray
// failure is gray because truth and belief differ. It draws nothing itself; it
// gives laws, and the simulation draws from them. It is tested against the
// moments and survival functions of gonum's distuv.
package failure

// Kind is what a fault does to packets.
type Kind uint8

// The kinds. Drain is no failure but is timed like one in a script.
const (
	Hard Kind = iota
	Lossy
	Silent
	Blackhole
	Oversize
	Flapping
	Restart
	Slow      // a control plane that computes, writes and sends slowly
	Unwritten // a table of which some entries are never written
	Drain
)

// String returns the kind as a scenario writes it.
func (k Kind) String() string {
	return [...]string{"hard", "lossy", "silent", "blackhole", "oversize", "flapping", "restart", "slow", "unwritten", "drain"}[k]
}

// Gray says whether packets can be lost without a router noticing.
func (k Kind) Gray() bool { return k >= Lossy && k <= Oversize }

// Counted says whether a router's own error counters see the loss.
func (k Kind) Counted() bool { return k == Lossy }

// Converges says whether a Full Convergence Time is measured for the kind.
func (k Kind) Converges() bool {
	return k == Hard || k == Flapping || k == Restart || k == Drain
}

// Condition is what a fault does to the parts it is on, from its onset to its
// end. Fields that the kind does not use are zero.
type Condition struct {
	Kind  Kind
	Light bool    // hard: the light stays on, so that only BFD or hellos see it
	Loss  float64 // lossy, silent: share of packets dropped, above 0, at most 1
	Share float64 // blackhole: share of flows held; unwritten: share of destinations; above 0, at most 1
	Above float64 // oversize: packets above this many bytes are dropped
	// Control: hard, the router hangs in its control plane only and forwards with
	// the tables it had; Kept: restart, the same.
	Control, Kept bool
	Factor        float64 // slow: at least 1

	// Two-state loss: BurstMean is the mean number of packets that a bad
	// stretch lasts, 0 for independent losses; within it a share of BurstLoss is
	// lost, outside it nothing. Loss stays the mean.
	BurstMean, BurstLoss float64

	// Flapping: offsets from the onset at which the carrier changes, off first.
	Changes []int64
}

// Silences says whether a router with the condition goes on forwarding without
// a control plane.
func (c *Condition) Silences() bool {
	return c.Kind == Hard && c.Control || c.Kind == Restart && c.Kept
}

// Scripted is one timed fault of a script, resolved: At and End are ns from
// the start, End -1 without one. Of Routers, Links and Directions only one is
// used, except for groups. On is the part as the script names it, with numbers
// padded.
type Scripted struct {
	Condition
	At, End    int64
	On         string
	Routers    []int32
	Links      []int32
	Directions []int32
	Access     []int32 // links between servers and leaves, as the homing plan numbers them
}

// Stretches is the share of packets that are sent in a bad stretch of two-state loss and
// the chances to enter one and to leave it before the next packet (Gilbert 1960, Elliott
// 1963, from memory): 1 for ever where losses are independent. Only there are packets lost.
func (c *Condition) Stretches() (share, enter, leave float64) {
	if c.BurstMean <= 0 || c.Loss <= 0 || c.Loss >= c.BurstLoss {
		return 1, 0, 0
	}
	share = c.Loss / c.BurstLoss
	leave = min(1/c.BurstMean, (1-share)/share)
	return share, float64(share*leave) / (1 - share), leave
}
