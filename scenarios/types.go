package scenarios

import (
	"halflight/scenarios/objective"
	"halflight/scenarios/outline"
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

	ApplicationsGiven bool // an empty list was meant: no application
	Applications      []Application
	TelemetryGiven    bool // replaces the default instruments; complaints stay on unless switched off by name
	Telemetry         []Instrument
	Operations        Operations
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
	LSPGeneration *LSPGeneration
	SPFRun        *Duration
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
}

// Hellos are periodic packets whose absence for Interval x Multiplier is a failure.
type Hellos struct {
	Off        bool
	Interval   *Duration
	Multiplier *int
	Jitter     *float64 // largest share by which a gap is shortened, 0 to 0.25
}

// Flooding says how LSPs travel.
type Flooding struct {
	PerHop, Exchange *Duration
	Pacing           *Pacing
	SecondLSPCounts  *bool
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
}

// Overload says who carries the overload bit.
type Overload struct{ Leaves, UntilReady *bool }

// Restart holds for how long neighbours keep an adjacency with a restarting router.
type Restart struct{ Grace *Duration }

// Traffic: shares of access capacity offered, on average and in the busiest hour.
type Traffic struct{ Load, Busiest *float64 }

// Application is a class of work.
type Application struct {
	Name    string
	Request *Request
}

// Request is a request/response class: Packets each way, Bytes the law of a packet's size.
type Request struct {
	Packets *int
	Bytes   *Distribution // plain numbers, bytes
	FanOut  *int
	TimeOut *Duration
	Budget  *float64 // share of requests that may be slow
}

// Instrument is one kind of telemetry; exactly one of the pointers is not nil.
type Instrument struct {
	Name       string
	Polling    *Polling
	Probes     *Probes
	Complaints *Complaints
}

// Polling reads loss counters.
type Polling struct {
	Every     *Duration
	Threshold *float64 // loss share from which a poll is bad
	InARow    *int     // bad polls in a row that are a sighting
	WrongLink *float64 // share of sightings that name another link
}

// Probes are active probes sent over every direction.
type Probes struct {
	Rate        *Rate   // per direction
	Sizes       []int64 // bytes, nil when not given; each as likely
	PortsVaried *bool   // ports: varied or fixed
	TimeOut     *Duration
	InARow      *int     // probes lost in a row that are a sighting
	FalseAlarms *Rate    // budget over all tests of the fabric; not together with InARow
	WrongLink   *float64 // share of sightings that name another link
}

// Complaints of users: hazard = Rate x slow share / Threshold, at most AtMost, nothing below Threshold.
type Complaints struct {
	Off       bool // complaints: false
	Rate      *Rate
	Threshold *float64
	AtMost    *Rate
}

// Operations says what people do.
type Operations struct {
	Reaction    *Reaction
	Floor       *float64 // least share of a leaf's uplinks that a drain may leave
	Soak        *Duration
	Crew        *Crew
	FirstRepair *FirstRepair
}

// Reaction is the delay from a sighting to a drain: a name (human, automatic) or a law.
type Reaction struct {
	Who   Who
	Delay *Distribution // durations; not nil exactly when Who is Measured
}

// Crew is a number of technicians.
type Crew struct {
	Unlimited bool
	Size      int // at least 1 when not Unlimited
}

// FirstRepair holds the shares of repairs that work at the first attempt, without and with a sighting that names the part.
type FirstRepair struct{ Blind, Guided *float64 }
