package scenarios

import (
	"halflight/scenarios/control"
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
	Mixed     []MixedSPF // routers with another SPF back-off; of two entries for one router the later counts
	Detection Detection
	Flooding  Flooding
	FIB       FIB
	Overload  Overload
	Restart   Restart
	Underlay  *control.Underlay
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
type Clos struct{ Pods, Leaves, Spines, Tops, Parallel, Fabrics *int }

// LinkMetric sets the metric of both directions of one link, or of one direction when Link.Class is DirectionPart.
type LinkMetric struct {
	Link   Part
	Metric int // 1 to 2^24-2
}

// Speeds of the three kinds of link.
type Speeds struct{ Access, LeafSpine, SpineTop *Speed }

// Routers holds how far routers differ: Spread is the sigma of a lognormal factor, 0 for equal routers.
type Routers struct{ Spread *float64 }

// MixedSPF is another SPF back-off of some routers: of a tier (OnLeaf, OnSpine or OnTop), or of a part, a router or a group of
// routers, when Tier is NoTarget.
type MixedSPF struct {
	Tier TargetClass
	Part Part
	SPF  *SPF // nil when wrong
}

// Traffic: shares of access capacity offered, on average and in the busiest hour, and the access links of a leaf.
type Traffic struct {
	Load, Busiest *float64
	Servers       *int
	External      *External
	Congestion    *bool // what links are asked for beyond what they carry is lost
}

// External is traffic with what lies outside the fabric.
type External struct {
	Off   bool
	Share *float64 // of all demand
	At    int      // place in ExternalPlaces
	Boxes *int     // leaves with servers at which it enters
}

// ExternalPlaces are the words of External.At.
var ExternalPlaces = []string{"pod", "leaves", "spines", "tops"}

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
	Burn      []objective.Burn // nil: not given
}

// Request is a request/response class: Packets each way, Bytes the law of a packet's size.
type Request struct {
	Packets *int
	Bytes   *Distribution // plain numbers, bytes
	FanOut  *int
	TimeOut *Duration
	Budget  *float64 // share of requests that may be slow

	Deadline *Duration        // nil: any loss makes a request slow
	Repath   *bool            // each retransmission takes another way
	TimeOuts *int             // how many time-outs a request's delay is followed through; nil: it is not
	Burn     []objective.Burn // nil: not given
}
