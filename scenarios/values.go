package scenarios

import (
	"halflight/scenarios/control"
	"halflight/scenarios/law"
	"halflight/scenarios/operator"
	"halflight/scenarios/part"
	"halflight/scenarios/unit"
)

// Quantities, see package unit. Typed durations reach 292 y; laws of lives, which may be longer, hold float64 nanoseconds.
type (
	Duration = unit.Duration
	Rate     = unit.Rate
	Speed    = unit.Speed
)

// Laws, see package law.
type (
	Distribution = law.Distribution
	Family       = law.Family
	Bin          = law.Bin
)

// The families of laws.
const (
	Fixed       = law.Fixed
	Exponential = law.Exponential
	Weibull     = law.Weibull
	Lognormal   = law.Lognormal
	Loguniform  = law.Loguniform
	Uniform     = law.Uniform
	Geometric   = law.Geometric
	Table       = law.Table
)

// Names of parts, see package part.
type (
	Part      = part.Part
	PartClass = part.Class
	Router    = part.Router
	Tier      = part.Tier
	Numbers   = part.Numbers
)

// The classes of part and the tiers of routers.
const (
	RouterPart    = part.RouterPart
	LinkPart      = part.LinkPart
	DirectionPart = part.DirectionPart
	GroupPart     = part.GroupPart
	AccessPart    = part.AccessPart

	Leaf  = part.Leaf
	Spine = part.Spine
	Top   = part.Top
)

// Kind is what a fault does.
type Kind uint8

// The kinds. Drain is for scripts only.
const (
	NoKind Kind = iota
	Hard
	Lossy
	Silent
	Blackhole
	Oversize
	Flapping
	RestartKind
	Slow
	Unwritten
	Drain
)

// TargetClass is a kind of population, or of group.
type TargetClass uint8

// The classes of target. OnLink is every leaf-spine and spine-top link.
const (
	NoTarget TargetClass = iota
	OnLink
	OnRouter
	OnLeaf
	OnSpine
	OnTop
	OnLineCard
	OnPowerDomain
	OnBreakout
	OnBatch
	OnAccess // every link between servers and a leaf
	OnBorder // every router at which traffic from outside enters
	OnGroup
)

// Hashing is how routers choose among equal next hops.
type Hashing uint8

// The ways of hashing.
const (
	Independent Hashing = iota
	Polarised
)

// Plane is the part of a hung router that is dead.
type Plane uint8

// The planes. A router whose data plane hangs forwards nothing and sends nothing; one whose control plane hangs forwards with
// the tables it had.
const (
	DataPlane Plane = iota
	ControlPlane
)

// What watches, who acts and what it costs, see package operator.
type (
	Instrument = operator.Instrument
	Operations = operator.Operations
	Costs      = operator.Costs
)

// How routers are set, see package control.
type (
	Timers        = control.Timers
	SPF           = control.SPF
	RFC8405       = control.RFC8405
	TwoStep       = control.TwoStep
	LSPGeneration = control.LSPGeneration
	Detection     = control.Detection
	Hellos        = control.Hellos
	Flooding      = control.Flooding
	FIB           = control.FIB
	Overload      = control.Overload
	Restart       = control.Restart
)

// The families of prefixes.
const (
	IPv4         = control.IPv4
	BothFamilies = control.BothFamilies
)
