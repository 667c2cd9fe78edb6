package failure

import "halflight/model/chance"

// Class says which parts a mode strikes.
type Class uint8

// The classes. OnLink is every link between routers, OnRouter every router;
// OnLineCard to OnBatch, and OnGroup, are groups.
const (
	OnLink Class = iota
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
	OnGroup  // the groups named Mode.Group
)

// String returns the class as a scenario writes it.
func (c Class) String() string {
	return [...]string{"link", "router", "leaf", "spine", "top", "line_card", "power_domain", "breakout", "batch", "access", "border", "group"}[c]
}

// Mode is one way in which the parts of one class fail. Laws of time are in
// ns; a law that the kind does not use is zero.
type Mode struct {
	Name  string
	Kind  Kind
	On    Class
	Group string // OnGroup: the name

	// Life is the law of the time from coming into use, or the end of the fault
	// before, to the next onset. The onsets of a flapping mode are episodes.
	Life           chance.Law
	EpisodesPerDay float64 // flapping: a day over the mean life
	// Aged: parts have been in use for long when time begins, so that the first
	// onset follows Residual. It is nil when that is Life itself.
	Aged     bool
	Residual *chance.Residual
	// Frailty and BatchFrailty are laws of factors of mean 1 on the rate of a
	// unit, and of all links of one optics batch (those in none keep 1); Fixed 1
	// without. A time drawn from Life or Residual is divided by them.
	Frailty, BatchFrailty chance.Law

	// Repair: a lead time that needs nobody, then hands-on time of one
	// technician, none when HandsOn is zero. A restart ends after Down.
	Lead, HandsOn chance.Law

	Light     float64    // hard: share of faults with the light left on
	Loss      chance.Law // lossy, silent: share of packets
	Burst     float64    // lossy, silent: mean packets of a bad stretch; 0: losses independent
	BurstLoss float64    // loss within a bad stretch
	// Drift: a share of the faults of a link, lossy or hard with the light out,
	// announces itself: the receiver's bit error ratio before correction rises for
	// DriftOver before the onset.
	Drift     float64
	DriftOver chance.Law
	OneWay    float64    // share of faults on a link that hit one direction only
	Share     chance.Law // blackhole: share of flows; unwritten: share of destinations
	Above     float64    // oversize: bytes

	Flaps chance.Law // flapping: flaps of an episode
	Down  chance.Law // flapping: dark time of a flap; restart: time of the reload
	Gap   chance.Law // flapping: light between two flaps

	Control, Kept bool       // hard: hung in the control plane only; restart: tables kept
	Factor        chance.Law // slow: how many times slower
	Lasts         chance.Law // slow, unwritten: until somebody sees to it

	Ports int // groups: members hit by a fault; 0: all

	Source, Grade, Note, Range string
	Wide                       float64 // how many times the range's high end is its low end; 0: not known
}
