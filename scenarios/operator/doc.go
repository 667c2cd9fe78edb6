// Package operator reads what a scenario says of instruments, people and money.
//
// It knows the words, not what becomes of them. It is tested through package
// scenarios, by every key of the language and by broken scenarios.
package operator

import (
	"halflight/scenarios/law"
	"halflight/scenarios/unit"
)

// Instrument is one kind of telemetry; exactly one of the pointers is not nil.
type Instrument struct {
	Name       string
	From       *unit.Duration // after the warm-up; nil: always there
	YearlyCost *float64
	Polling    *Polling
	Probes     *Probes
	Hosts      *Hosts
	Drops      *Drops
	Optics     *Optics
	Complaints *Complaints
}

// Polling reads loss counters.
type Polling struct {
	Every       *unit.Duration
	Threshold   *float64   // loss share from which a poll is bad
	InARow      *int       // bad polls in a row that are a sighting
	WrongLink   *float64   // share of sightings that name another link
	FalseAlarms *unit.Rate // how many there are
}

// Probes are active probes sent over every direction, or between leaves.
type Probes struct {
	Rate        *unit.Rate // per direction, or per ordered pair of leaves
	Sizes       []int64    // bytes, nil when not given; each as likely
	PortsVaried *bool      // ports: varied or fixed
	Pairs       *bool      // between: routers or leaves
	Flows       *int       // of each pair of leaves, with ports fixed
	TimeOut     *unit.Duration
	InARow      *int       // probes lost in a row that are a sighting
	FalseAlarms *unit.Rate // budget over all tests of the fabric; not together with InARow
	Window      *int       // probes that one test looks at
	WrongLink   *float64
}

// Hosts are statistics that servers keep of their own traffic.
type Hosts struct {
	Every       *unit.Duration
	Sample      *float64 // share of packets
	FalseAlarms *unit.Rate
	Missed      *float64 // share of directions with a fault on which they stay blind
	WrongLink   *float64
}

// Drops are reports of single drops.
type Drops struct {
	Every         *unit.Duration
	FalseAlarms   *unit.Rate
	Silent, Holes *float64 // shares of silent losses and of holes in parts that report
	Missed        *float64
	WrongLink     *float64
}

// Optics are receivers that tell their bit error ratio before correction.
type Optics struct {
	Every       *unit.Duration
	Threshold   *float64 // bit error ratio
	InARow      *int
	FalseAlarms *unit.Rate
	WrongLink   *float64
}

// Complaints of users: hazard = Rate x slow share / Threshold, at most AtMost, nothing below Threshold.
type Complaints struct {
	Off       bool // complaints: false
	Rate      *unit.Rate
	Threshold *float64
	AtMost    *unit.Rate
}

// Operations says what people do.
type Operations struct {
	Reaction    *Reaction
	Floor       *float64 // least share of a leaf's uplinks that a drain may leave
	Soak        *unit.Duration
	Crew        *Crew
	Shifts      []Shift
	FirstRepair *FirstRepair
	Replace     *Replace
	Upgrades    *Upgrades
	Changes     *Changes
}

// Reaction is the delay from a sighting to a drain: a name (human, automatic) or a law.
type Reaction struct {
	Who   Who
	Delay *law.Distribution // durations; not nil exactly when Who is Measured
}

// Who acts on a sighting.
type Who uint8

// The reactions.
const (
	Human Who = iota
	Automatic
	Measured // by the law given
)

var whoNames = [...]string{"human", "automatic", "measured"}

// String returns the word for who acts.
func (w Who) String() string { return whoNames[w] }

// Crew is a number of technicians.
type Crew struct {
	Unlimited bool
	Size      int // at least 1 when not Unlimited
}

// Shift is a crew that is there for a part of each day, in ns from its beginning.
type Shift struct {
	From, To unit.Duration
	Crew     int
}

// FirstRepair holds the shares of repairs that work at the first attempt, without and with a sighting that names the part.
type FirstRepair struct{ Blind, Guided *float64 }

// Replace says when a part is given up: with that many tickets within a time.
type Replace struct {
	Tickets *int
	Within  *unit.Duration
}

// Costs are prices. The currency is a label.
type Costs struct {
	Currency         string
	DegradedLeafHour []ClassPrice
	TechnicianHour   *float64
	Visit            *float64
	Optic            *float64
	Port, Leaf       *float64 // a year
}

// ClassPrice is the price of an hour over budget of one class at one leaf.
type ClassPrice struct {
	Class string
	Price float64
}
