package scenarios

// Failure is one mode of a population of components, or the default set (Use is "default", all else empty).
type Failure struct {
	Use  string // "" or "default"
	Name string // unique; names the draws, so that renaming a failure changes its faults
	On   Target
	Kind Kind

	Life     *Distribution // durations, per component
	Episodes *Rate         // flapping: instead of Life, episodes per component
	Frailty  *Frailty
	New      *bool // start: new or aged
	Repair   *Repair

	Light   *bool         // hard: true is hung, not seen by loss of signal
	Plane   *Plane        // hard on routers, together with Light true
	Loss    *Distribution // lossy, silent: shares
	Burst   *Burst        // lossy, silent: loss comes in bursts
	Drift   *Drift        // lossy, hard, on links: how some announce themselves
	OneWay  *float64      // share of faults that hit one direction only
	Share   *Distribution // blackhole: share of flows; unwritten: share of destinations
	Above   *int64        // oversize: bytes
	Flaps   *Distribution // flapping: flaps of an episode, at least 1
	Down    *Distribution // flapping: dark time of a flap; restart: the time of the reload (durations)
	Gap     *Distribution // flapping: light between two flaps (durations)
	Kept    *bool         // restart: forwarding goes on with the tables it had
	Factor  *Distribution // slow: how many times slower, at least 1
	Lasts   *Distribution // slow, unwritten: until somebody sees to it (durations)
	Members *int          // on a group: how many of its members are hit, all when not given

	Note, Grade string // where the numbers come from, and how good that is
}

// Repair has a part that needs nobody and a part that needs a technician.
type Repair struct{ Lead, HandsOn *Distribution }

// Drift is the error ratio before correction that rises, for a share of the faults, over a time before they begin.
type Drift struct {
	Share *float64
	Over  *Distribution // durations
}

// Burst makes loss two-state: Length is the mean number of packets in a bad spell, Bad the loss within it; outside it
// nothing is lost, and the failure's loss is the mean over both.
type Burst struct {
	Length float64  // at least 1
	Bad    *float64 // above 0, at most 1
}

// Frailty holds sigmas of lognormal factors of mean 1 on the rate of failing, one per unit and one per optics batch.
type Frailty struct{ Unit, Batch *float64 }

// Target is the population that a failure strikes.
type Target struct {
	Class TargetClass
	Group string // the name, when Class is OnGroup
}

// Event is one entry of the script. Times count from the end of the warm-up.
type Event struct {
	At    Duration
	On    Part
	Kind  Kind
	For   *Duration // nil: to the horizon
	Light *bool     // hard
	Plane *Plane    // hard on a router, together with Light true
	Loss  *float64  // lossy, silent
	Share *float64  // blackhole, unwritten
	Above *int64    // oversize, bytes
	// Changes are the offsets from At of off, on, off, ... of flapping, rising; else Period and Off are given: off first, for Off
	// of every Period. Either way on for good after For.
	Changes     []Duration
	Period, Off *Duration
	Kept        *bool    // restart: forwarding goes on with the tables it had
	Factor      *float64 // slow: at least 1
}

// Groups are shared-risk groups: by rule over the whole fabric, and by name.
type Groups struct {
	PowerDomainLeaves *int     // leaves of a pod, in order, that share power
	LineCardPorts     *int     // ports of a router, in order, that share a card
	BreakoutPorts     *int     // ports of a router, in order, that share a breakout bundle
	BatchShare        *float64 // share of links with an optic of one batch
	Named             []Group
}

// Group is a group by name. Members are routers in a power domain, links in a line card, breakout bundle or batch, and anything
// but groups in a group for the script.
type Group struct {
	Name    string
	Of      TargetClass // NoTarget when not given; a group for the script and for group:NAME alone
	Members []Part
}
