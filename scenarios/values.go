package scenarios

// Duration is a time in nanoseconds. Typed durations reach 292 y; laws of lives, which may be longer, hold float64 nanoseconds.
type Duration int64

// Rate is a number per second.
type Rate float64

// Speed is in bits per second.
type Speed float64

// Family is the family of a law.
type Family uint8

// The families. In a file a law is a map of one key, its family; a plain value is Fixed.
const (
	Fixed       Family = iota // Low = High = the value
	Exponential               // Mean
	Weibull                   // Shape and Mean or Scale
	Lognormal                 // Sigma and Median or Mean
	Loguniform                // Low < High
	Uniform                   // Low < High
	Geometric                 // Mean, at least 1, of 1, 2, 3 ...
	Table                     // Bins
)

// Distribution is a law of durations (numbers are nanoseconds), shares, bytes or counts. A parameter that was not given is 0;
// all that can be given are above 0, except the value of a Fixed law, Low of a Uniform one, and Low and High of a bin.
type Distribution struct {
	Family              Family
	Mean, Median, Scale float64
	Shape, Sigma        float64
	Low, High           float64
	Bins                []Bin
}

// Bin is one row of a table: with probability Share (shares sum to 1 within 0.001) a value between Low and High, log-uniform
// when Low is above 0, uniform when it is 0, the value itself when they are equal.
type Bin struct{ Share, Low, High float64 }

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
	OnGroup
)

// PartClass tells what a Part is.
type PartClass uint8

// The classes of part.
const (
	RouterPart PartClass = iota
	LinkPart
	DirectionPart
	GroupPart
)

// Tier is a class of router.
type Tier uint8

// The tiers, in the order of routers.
const (
	Leaf Tier = iota
	Spine
	Top
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

// DataPlane forwards nothing and sends nothing.
const DataPlane Plane = 0

// Who acts on a sighting.
type Who uint8

// The reactions.
const (
	Human Who = iota
	Automatic
	Measured // by the law given
)
