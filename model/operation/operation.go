// Package operation is the operator on paper: the instruments that watch the
// fabric, how fast people or programs act on what they see, and who repairs.
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
	Complaints
)

// String returns the kind as a scenario writes it.
func (k Kind) String() string { return [...]string{"polling", "probes", "complaints"}[k] }

// Instrument is one way of noticing faults. Fields that its kind does not use
// are zero.
type Instrument struct {
	Name string
	Kind Kind

	// Polling: error counters are read every Every; a poll is bad when the share
	// lost since the poll before is at least Threshold; InARow bad polls in a row
	// are a sighting.
	Every     int64
	Threshold float64
	InARow    int

	// Probes: Rate a second over every direction, of each of Sizes equally often,
	// lost when not back after TimeOut. A sighting is InARow losses in a row or,
	// when InARow is 0, a decision rule whose false alarms over all tests of the
	// fabric stay below FalseAlarms a second.
	Rate        float64
	Sizes       []float64 // bytes
	PortsVaried bool      // each probe is another flow
	TimeOut     int64
	FalseAlarms float64

	// Complaints: hazard = Rate x slow share / Threshold a second, at most
	// RateMax, none below Threshold.
	RateMax float64

	WrongLink float64 // share of sightings that name another link
}

// Plan is what the operator does.
type Plan struct {
	Instruments []Instrument

	Automatic bool       // who reacts, for display
	Reaction  chance.Law // sighting to drain
	Floor     float64    // least share of a leaf's uplinks that a drain may leave
	SoakTime  int64      // repaired to back in use
	Crew      int        // technicians; 0: unlimited

	// Shares of repairs that work at the first attempt: without, and with a
	// sighting that names the part.
	FirstBlind, FirstGuided float64
}
