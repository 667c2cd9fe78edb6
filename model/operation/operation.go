// Package operation is the operator on paper: the instruments that watch the
// fabric, how fast people or programs act on what they see, who repairs, and
// what things cost.
//
// It knows nothing of routers or of what is really broken. Times are int64 ns,
// laws of times in ns. It is tested against the sources of its defaults.
package operation

import "halflight/model/chance"

// Kind is a kind of instrument.
type Kind uint8

// The kinds.
const (
	Polling Kind = iota
	Probes
	Hosts
	Drops
	Optics
	Complaints
)

// String returns the kind as a scenario writes it.
func (k Kind) String() string {
	return [...]string{"polling", "probes", "hosts", "drops", "optics", "complaints"}[k]
}

// Instrument is one way of noticing faults. Fields that its kind does not use
// are zero.
type Instrument struct {
	Name string
	Kind Kind

	From       int64   // since the end of the warm-up; before it is not there. Below 0: always there
	YearlyCost float64 // of all of it
	WrongLink  float64 // share of sightings that name another link
	Missed     float64 // hosts, drops: share of directions with a fault on which it stays blind

	// FalseAlarms a second over the whole fabric. Probes, hosts, drops: what
	// their rule may make at most; the rule then follows from it. Polling,
	// optics: how many there are.
	FalseAlarms float64

	// Polling: error counters are read every Every; a poll is bad when the share
	// lost since the poll before is at least Threshold; InARow bad polls in a row
	// are a sighting. Optics: the same of the bit error ratio before correction.
	// Hosts, drops: Every is what one test looks at.
	Every     int64
	Threshold float64
	InARow    int

	// Probes: Rate a second over every direction or, with Pairs, from every leaf
	// to every other and back, of each of Sizes equally often, lost when not back
	// after TimeOut. A sighting is InARow losses in a row or, when InARow is 0, so
	// many losses among Window probes that false alarms stay below FalseAlarms.
	Rate        float64
	Sizes       []float64 // bytes
	PortsVaried bool      // each probe is another flow
	Pairs       bool
	Flows       int // Pairs with ports fixed: flows of each pair
	TimeOut     int64
	Window      int

	// Hosts: share of packets whose loss and path they know.
	Sample float64

	// Drops: share of silent losses, and of holes, in a part of the router that
	// does report.
	Silent, Holes float64

	// Complaints: hazard = Rate x slow share / Threshold a second, at most
	// RateMax, none below Threshold.
	RateMax float64
}

// Shift is a crew that is there from From to To, of each day of 24 h; a day
// begins with the replication.
type Shift struct {
	From, To int64
	Crew     int // at least 1
}

// Plan is what the operator does.
type Plan struct {
	Instruments []Instrument

	Automatic bool       // who reacts, for display
	Reaction  chance.Law // sighting to drain
	Floor     float64    // least share of a leaf's uplinks that a drain may leave
	SoakTime  int64      // repaired to back in use
	Crew      int        // technicians; 0: unlimited, or as the shifts say
	Shifts    []Shift    // by From, without overlap; outside nobody begins work

	// Shares of repairs that work at the first attempt: without, and with a
	// sighting that names the part.
	FirstBlind, FirstGuided float64

	// A part that has had Replace.Tickets tickets within Replace.Within is
	// replaced whole at the last of them: the repair works at once and the part is
	// as good as any other from then on. 0: never.
	Replace Replacement

	Upgrades *Upgrades // nil: none
	Changes  *Changes  // nil: none
}

// Replacement is when a part is given up.
type Replacement struct {
	Tickets int
	Within  int64
}

// MostVisits is how many visits mend any fault: the last of them works.
const MostVisits = 16

// Visits is the mean number of visits of which each works with a probability.
func Visits(works float64) float64 {
	mean, left := 0.0, 1.0
	for range MostVisits {
		mean += left
		left = float64(left * (1 - works))
	}
	return mean
}

// Offered is the crew's mean size over a day, 0 when unlimited.
func (p *Plan) Offered() float64 {
	if len(p.Shifts) == 0 {
		return float64(p.Crew)
	}
	sum := 0.0
	for _, s := range p.Shifts {
		sum += float64(s.Crew) * float64(s.To-s.From) / 86400e9
	}
	return sum
}

// Prices are in a currency that is a label and nothing else.
type Prices struct {
	Currency string
	// DegradedLeafHour is the price of an hour in which a class's slow share at a
	// leaf is over its budget, by class.
	DegradedLeafHour []float64
	TechnicianHour   float64 // hands on
	Visit            float64 // of a technician, whatever it brings
	Optic            float64 // a transceiver, one of which a repair uses
	Port             float64 // a year, of each end of each link
	Leaf             float64 // a year, of each leaf
}
