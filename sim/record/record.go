// Package record is what a replication leaves behind and all that leaves the
// simulation: plain data that can be written to a file and read back.
//
// It knows nothing of how the numbers came about and computes nothing. It is
// tested by writing and reading back.
package record

// None marks a time or an index that does not exist.
const None = -1

// Background is how busy the routers were when a fault began.
type Background uint8

// Quiet: every live router was in its first back-off state. Noise: at least
// one was not, and not because of the same part in the last 10 minutes.
// Same: the wound timers are the same part's own doing.
const (
	Quiet Background = iota
	Noise
	Same
)

// Mode names a kind of failure of a scenario, as the faults refer to it.
type Mode struct {
	Name string `json:"name"`
	Kind string `json:"kind"` // hard, lossy, silent, blackhole, oversize, flapping, restart, drain
	Gray bool   `json:"gray"` // packets can be dropped without the routers noticing
}

// Cut says whether a fault of the mode changes the topology at one moment: a
// hard fault or a restart. An episode of flapping is many changes, a drain is
// planned.
func (m Mode) Cut() bool { return m.Kind == "hard" || m.Kind == "restart" }

// Header says what the numbers of a replication refer to. All replications of
// a study have the same header.
type Header struct {
	Modes       []Mode       `json:"modes"`
	Phases      []string     `json:"phases"` // what lost seconds are charged to
	States      []string     `json:"states"` // of the SPF back-off, first to last
	Classes     []Class      `json:"classes"`
	Instruments []Instrument `json:"instruments"`
	Prices      Prices       `json:"prices"`
	Routers     int          `json:"routers"`
	Leaves      int          `json:"leaves"`
	Outside     int          `json:"outside,omitempty"` // routers outside, which are none of these
	Links       int          `json:"links"`
	// BusiestUse is how full the fullest link is in the busiest hour, with all links
	// in use and tables at rest.
	BusiestUse float64 `json:"busiest_use"`
	// BusiestAccess is the same of the fullest access link.
	BusiestAccess float64 `json:"busiest_access,omitempty"`
	// External is the share of all demand that comes from outside or goes there, and
	// Hottest the share of it that the busiest router carries at rest; 0 where all
	// pairs of leaves are alike.
	External   float64 `json:"external,omitempty"`
	Hottest    float64 `json:"hottest_box,omitempty"`
	Congestion bool    `json:"congestion,omitempty"` // loads were followed, and what is lost for want of room

	Servers *ServersOf `json:"servers,omitempty"` // nil: they were not followed
}

// ServersOf is how servers are attached.
type ServersOf struct {
	Groups      int     `json:"groups"`      // of servers, in all
	Attachments int     `json:"attachments"` // of each
	Access      int     `json:"access"`      // links between servers and leaves
	MovesShare  float64 `json:"moves_share"` // of what a group that is cut off does, taken over by others
	MovesWithin int64   `json:"moves_within"`
}

// Class is an application class as the measures need it.
type Class struct {
	Name     string  `json:"name"`
	Budget   float64 `json:"budget"`    // share of units that may be slow
	LeafHour float64 `json:"leaf_hour"` // price of an hour over budget at one leaf

	Windows []Window `json:"windows,omitempty"` // in which the burn of the budget is looked at
	Delays  []int64  `json:"delays,omitempty"`  // ns by which units are late that need one time-out, two ...; none: not followed
}

// Window is a stretch of time over which the burn of an error budget is looked at.
type Window struct {
	Name string  `json:"name"` // its length
	Rate float64 `json:"rate"` // burn rate that is too much
}

// Instrument is an instrument as the measures need it.
type Instrument struct {
	Name       string  `json:"name"`
	Kind       string  `json:"kind"` // polling, probes, hosts, drops, optics, complaints
	YearlyCost float64 `json:"yearly_cost"`
}

// Prices are in a currency that is a label and nothing else.
type Prices struct {
	Currency       string  `json:"currency"`
	TechnicianHour float64 `json:"technician_hour"`
	Visit          float64 `json:"visit"`
	Optic          float64 `json:"optic"`
	Port           float64 `json:"port"` // a year, of each end of each link
	Leaf           float64 `json:"leaf"` // a year
}

// Watched is what one instrument did.
type Watched struct {
	Sightings   int64 `json:"sightings"`    // of faults, rightly named or not
	FalseAlarms int64 `json:"false_alarms"` // about nothing
}

// Day is one day of the measured window.
type Day struct {
	Sightings int64 `json:"sightings"`
	Drains    int64 `json:"drains"`  // parts taken out of use
	Tickets   int64 `json:"tickets"` // open at its end
	Unseen    int64 `json:"unseen"`  // gray faults there at its end and not yet sighted
}

// Fault is one failure of one component, onset to repair. Times are ns since
// the start of the replication, warm-up included; durations are ns; None where
// there is none.
type Fault struct {
	Index      int32      `json:"index"` // number of the fault in its replication
	Mode       int32      `json:"mode"`
	On         string     `json:"on"`
	Onset      int64      `json:"onset"`
	End        int64      `json:"end"` // None: still there at the horizon
	Background Background `json:"background"`

	FullConvergence   int64 `json:"full_convergence"`   // RFC 6412, 3.6.1
	RepairConvergence int64 `json:"repair_convergence"` // the same from the end of the fault
	SPFWait           int64 `json:"spf_wait"`           // longest wait from the fault's first IGP event at a router to that router's run
	RouteLoss         int64 `json:"route_loss"`         // longest total time some flow of one leaf pair was lost entirely (RFC 6412, 3.6.5)

	Pairs    int32 `json:"pairs"`              // ordered leaf pairs that lost traffic to it, each once
	External bool  `json:"external,omitempty"` // some of it from or to outside
	Touched  int32 `json:"touched"`            // routers that ran SPF because of it, each once

	Sighted   int64  `json:"sighted"` // onset to first sighting
	SightedBy string `json:"sighted_by,omitempty"`
	Mitigated int64  `json:"mitigated"` // onset to out of use

	LostSeconds float64   `json:"lost_seconds"`
	Phases      []float64 `json:"phases,omitempty"` // lost seconds by phase, as Header.Phases
}

// Wait is a part of the distribution, over routers and time, of the wait that
// an IGP event arriving at that moment would meet before its SPF run. From ==
// To: the wait stood at that value for Total ns of router time. From > To: Count
// timers ran down from From to To, all in full.
type Wait struct {
	From  int64   `json:"from"`
	To    int64   `json:"to"`
	Total float64 `json:"total,omitempty"`
	Count int64   `json:"count,omitempty"`
}

// Planned is what planned work did in the measured window.
type Planned struct {
	Boxes         int64   `json:"boxes"`          // upgraded
	Campaigns     int64   `json:"campaigns"`      // begun
	Nights        int64   `json:"nights"`         // days, or windows over midnight, in which a box was begun, summed over campaigns
	Left          int64   `json:"left"`           // boxes of an unfinished campaign still to be upgraded
	Skipped       int64   `json:"skipped"`        // campaigns due while another was under way
	Exposed       int64   `json:"exposed"`        // ns with at least one box out for an upgrade
	CapacityWorst float64 `json:"capacity_worst"` // least uplink share left at any leaf meanwhile
	Changes       int64   `json:"changes"`        // of configuration, right or wrong
}

// Application is what one application class felt in the measured window.
type Application struct {
	SlowShare         float64 `json:"slow_share"`          // of all units of work
	WorstLeaf         float64 `json:"worst_leaf"`          // slow share at the worst leaf
	P99Leaf           float64 `json:"p99_leaf"`            // at the leaf that 99 % do better than
	DegradedLeafHours float64 `json:"degraded_leaf_hours"` // hours over budget, summed over leaves

	Burn []Burn    `json:"burn,omitempty"` // by window of the class
	Late []float64 `json:"late,omitempty"` // by delay of the class: share of units that are late by so much, or more
}

// Burn is how fast the error budget went in windows of one length: the mean slow
// share of a window over the budget. Rates are None where the measured window is
// shorter.
type Burn struct {
	Most      float64 `json:"most"`       // largest rate, of all units
	MostLeaf  float64 `json:"most_leaf"`  // largest rate at any leaf
	Above     int64   `json:"above"`      // ns for which the rate of all units was too much
	LeafAbove int64   `json:"leaf_above"` // the same of leaves, summed over them
}

// Servers is what became of servers and their attachments in the measured window.
type Servers struct {
	Lost    float64  `json:"lost"`    // mean number of access links that did not work
	Resets  int64    `json:"resets"`  // overlay sessions that dropped
	Cutoffs []Cutoff `json:"cutoffs"` // by end
}

// Cutoff is a time in which groups of servers had no way at all: none of their
// attachments was in use, worked and had an uplink. It may have begun before the
// window; what lasts beyond it ends with it.
type Cutoff struct {
	From   int64 `json:"from"`
	To     int64 `json:"to"`
	Groups int32 `json:"groups"` // that shared it
}

// Older is what a fault from before the measured window cost in it.
type Older struct {
	Mode        int32   `json:"mode"`
	On          string  `json:"on"`
	LostSeconds float64 `json:"lost_seconds"`
}

// Series is how the measured window went, in slots of equal width from its
// begin on; the last may be cut short by its end. No slots: it was not kept.
type Series struct {
	Slot   int64       `json:"slot"`   // ns
	Lost   []float32   `json:"lost"`   // mean lost share of all traffic in each slot
	Wide   int         `json:"wide"`   // how many slots make one of the wide ones below
	Gray   []float32   `json:"gray"`   // mean number of gray faults present, those of the script too
	Unseen []float32   `json:"unseen"` // of them not yet sighted
	States [][]float32 `json:"states"` // by back-off state: share of router time
}

// CapacityLeft is the least uplink share left at any leaf that was not out.
func (r *Replication) CapacityLeft() float64 {
	if r.CutOff {
		return 0
	}
	return r.CapacityWorst
}

// Replication is one replication. Integrals are over the measured window only.
type Replication struct {
	Number uint32  `json:"number"`
	From   int64   `json:"from"` // measured window, ns
	To     int64   `json:"to"`
	Faults []Fault `json:"faults"` // with onset in the window, by onset
	Older  []Older `json:"older"`  // that began before it and cost something in it

	LostSeconds  [][]float64 `json:"lost_seconds"`            // by mode and phase
	LostExternal float64     `json:"lost_external,omitempty"` // of traffic from or to outside, in seconds of all of that
	Onsets       []int64     `json:"onsets"`                  // by mode
	Present      []float64   `json:"present"`                 // by mode: mean number present
	Unseen       []float64   `json:"unseen"`                  // by mode: mean number not yet sighted

	RouterTime   float64   `json:"router_time"` // ns that routers were alive, summed
	StateTime    []float64 `json:"state_time"`  // of it in each back-off state
	Waits        []Wait    `json:"waits"`       // over all routers
	LeafWaits    []Wait    `json:"leaf_waits"`  // over leaves only
	WaitMean     float64   `json:"wait_mean"`   // exact means of the two, ns
	LeafWaitMean float64   `json:"leaf_wait_mean"`
	RestWait     int64     `json:"rest_wait"` // the wait of timers at rest

	SPFRuns      int64   `json:"spf_runs"`
	Originations int64   `json:"originations"`
	BusyWorst10s float64 `json:"busy_worst_10s"` // worst share of 10 s that one router computed or wrote

	Sightings     int64   `json:"sightings"`
	FalseDrains   int64   `json:"false_drains"`
	Drains        int64   `json:"drains"`
	Refused       int64   `json:"refused"`           // drains that the floor or the last path forbade
	HandsOn       float64 `json:"hands_on"`          // mean number of technicians at work
	CapacityWorst float64 `json:"capacity_worst"`    // least uplink share left at any leaf that had any
	CutOff        bool    `json:"cut_off,omitempty"` // a leaf that was not out had none

	LoadWorst float64 `json:"load_worst,omitempty"` // how full the fullest direction was, if loads were followed
	LoadOver  float64 `json:"load_over,omitempty"`  // share of time in which one was asked for more than it carries

	Stalls     int64 `json:"stalls"`      // leaves dark for more than 9 s
	StallsLost int64 `json:"stalls_lost"` // of them, for more than 2 min

	Watched  []Watched `json:"watched"` // as Header.Instruments
	Visits   int64     `json:"visits"`  // of technicians, to whatever effect
	Repairs  int64     `json:"repairs"` // that mended something
	Tickets  int64     `json:"tickets"` // about faults, come or coming
	Repeats  int64     `json:"repeats"` // of them, of a part that had one in the 90 d before
	Replaced int64     `json:"replaced"`
	Averted  int64     `json:"averted"`        // faults repaired before they came
	Days     []Day     `json:"days,omitempty"` // if an instrument is switched on late

	Servers *Servers `json:"servers,omitempty"` // nil: they were not followed

	Applications []Application `json:"applications"` // as Header.Classes

	Planned *Planned `json:"planned,omitempty"` // if there is planned work

	Series Series `json:"series"`
}
