package scenarios

import (
	"halflight/scenarios/homing"
	"halflight/scenarios/objective"
	"halflight/scenarios/outline"
	"halflight/scenarios/transport"
)

// Scenario is a scenario as typed: what the user wrote and nothing else. A nil pointer, a nil map or a Given flag that is
// false means "not given"; the model fills in defaults. Values have been checked one by one and against one another as far as
// both sides were typed; what depends on a default is for the model to refuse, by key path (see Problems.Add).
type Scenario struct {
	File  string // what Parse was told, for messages
	Name  string // letters, digits, - _ and . ; the file's base name when not given
	About string

	Seed         *uint64
	Replications *int      // at least 1
	WarmUp       *Duration // simulated and discarded
	Horizon      *Duration // above 0, after the warm-up
	Random       *bool     // false: the script alone
	Start        *Start
	Hashing      *Hashing

	Fabric    Fabric
	Routers   Routers
	Timers    Timers
	Detection Detection
	Flooding  Flooding
	FIB       FIB
	Overload  Overload
	Restart   Restart
	Groups    Groups
	Traffic   Traffic
	Transport *transport.Transport
	Homing    *homing.Homing
	Overlay   *homing.Overlay

	ApplicationsGiven bool // an empty list was meant: no application
	Applications      []Application
	TelemetryGiven    bool // replaces the default instruments; complaints stay on unless switched off by name
	Telemetry         []Instrument
	Operations        Operations
	Costs             Costs
	FailuresGiven     bool // replaces the default set; an entry {use: default} keeps it
	Failures          []Failure
	Script            []Event
	Objectives        []objective.Objective

	outline *outline.Outline // the text as it is after --set
}

// Start says how control planes begin. The only other state than rest is the last one of their back-off.
type Start struct{ BackoffLast bool }

// Fabric is the wiring asked for.
type Fabric struct {
	Clos    *Clos // nil: the default fabric
	Metrics []LinkMetric
	Speed   Speeds
}

// Clos holds the numbers of a folded Clos as typed; Fabric.Numbers resolves them.
type Clos struct{ Pods, Leaves, Spines, Tops, Parallel *int }

// LinkMetric sets the metric of both directions of one link, or of one direction when Link.Class is DirectionPart.
type LinkMetric struct {
	Link   Part
	Metric int // 1 to 2^24-2
}

// Speeds of the three kinds of link.
type Speeds struct{ Access, LeafSpine, SpineTop *Speed }

// Routers holds how far routers differ: Spread is the sigma of a lognormal factor, 0 for equal routers.
type Routers struct{ Spread *float64 }

// Timers of the control plane.
type Timers struct {
	SPF           *SPF
	Mixed         []MixedSPF // routers with another SPF back-off; of two entries for one router the later counts
	LSPGeneration *LSPGeneration
	SPFRun        *Duration
}

// MixedSPF is another SPF back-off of some routers: of a tier (OnLeaf, OnSpine or OnTop), or of a part, a router or a group of
// routers, when Tier is NoTarget.
type MixedSPF struct {
	Tier TargetClass
	Part Part
	SPF  *SPF // nil when wrong
}

// SPF is one back-off family; exactly one field is not nil.
type SPF struct {
	RFC8405  *RFC8405
	Doubling *Doubling
	TwoStep  *TwoStep
}

// RFC8405 holds the five parameters of RFC 8405.
type RFC8405 struct{ InitialDelay, ShortDelay, LongDelay, TimeToLearn, Holddown *Duration }

// Doubling holds the parameters of the doubling back-off of RFC 8541, form A (FormB false) or B.
type Doubling struct {
	FormB                                                *bool
	FirstDelay, IncrementalDelay, MaximumDelay, WaitTime *Duration
}

// TwoStep holds the parameters of the two-step back-off of RFC 8541.
type TwoStep struct {
	RapidDelay *Duration
	RapidRuns  *int
	SlowDelay  *Duration
	WaitTime   *Duration
}

// LSPGeneration is the doubling back-off, form A, before a router originates its LSP.
type LSPGeneration struct{ FirstDelay, IncrementalDelay, MaximumDelay, WaitTime *Duration }

// Detection says how routers notice.
type Detection struct {
	Signal, Settle *Duration
	BFD            *Hellos // Off: no BFD
	Hello          *Hellos // Off: no hellos; Jitter is never given
	Damping        *Damping
}

// Hellos are periodic packets whose absence for Interval x Multiplier is a failure.
type Hellos struct {
	Off        bool
	Interval   *Duration
	Multiplier *int
	Receive    *Duration // BFD: no packet more often is wanted
	At         [3]*Ends  // BFD: by tier, what differs
	ThreeWay   *bool     // hellos: an end that hears nothing says so
	Jitter     *float64  // largest share by which a gap is shortened, 0 to 0.25
}

// Ends is how the BFD of one tier differs.
type Ends struct {
	Interval, Receive *Duration
	Multiplier        *int
}

// Damping keeps links out of use that go down again and again.
type Damping struct {
	Off                      bool
	Increment, CutOff, Reuse *float64
	HalfLife, Hold           *Duration
}

// Flooding says how LSPs travel.
type Flooding struct {
	PerHop, Exchange *Duration
	Pacing           *Pacing
	SecondLSPCounts  *bool
	Window           *Window
	Lossy            *bool // LSPs are lost on lossy links
}

// Window is how LSPs go out on one interface and are acknowledged.
type Window struct {
	Off             bool
	Burst           *int
	Interval        *Duration
	Receive, PerAck *int
	AckDelay        *Duration
}

// Pacing is one token bucket for the area: Burst tokens, one more each Interval.
type Pacing struct {
	Off      bool
	Burst    *int
	Interval *Duration
}

// FIB says how tables are written.
type FIB struct {
	Base, PerPrefix *Duration
	LocalPrune      *bool
	PruneDelay      *Duration
	Families        *Families
	Labels          *int  // label entries of each prefix
	SharedGroups    *bool // one write moves all entries that share their next hops, if all change alike
	LocalDelay      *Duration
	RepairTunnel    *bool
	Ordered         *Ordered
}

// Ordered has routers write in turn: Hold after the first event, Step apart.
type Ordered struct {
	Off        bool
	Hold, Step *Duration
}

// Overload says who carries the overload bit.
type Overload struct{ Leaves, UntilReady *bool }

// Restart holds for how long neighbours keep an adjacency with a restarting router.
type Restart struct{ Grace *Duration }

// Traffic: shares of access capacity offered, on average and in the busiest hour, and the access links of a leaf.
type Traffic struct {
	Load, Busiest *float64
	Servers       *int
}

// Application is a class of work.
type Application struct {
	Name       string
	Request    *Request
	Bulk       *LongFlow
	Collective *LongFlow
}

// LongFlow is a class of flows of which rate matters; one makes a unit of bulk transfer, Flows a step of a collective.
type LongFlow struct {
	Law       *int // 0 rfc5348, 1 square_root, 2 go_back_n
	RoundTrip *Duration
	Segment   *int64
	Rate      *Speed
	Least     *float64 // share of the rate that a flow needs
	TimeOut   *Duration
	Flows     *int
	Budget    *float64
}

// Request is a request/response class: Packets each way, Bytes the law of a packet's size.
type Request struct {
	Packets *int
	Bytes   *Distribution // plain numbers, bytes
	FanOut  *int
	TimeOut *Duration
	Budget  *float64 // share of requests that may be slow

	Deadline *Duration // nil: any loss makes a request slow
	Repath   *bool     // each retransmission takes another way
}
