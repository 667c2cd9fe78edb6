// Package control reads what a scenario says of the control plane of routers: timers,
// detection, flooding, tables, overload and restart.
//
// It knows the words, not what becomes of them. It is tested through package
// scenarios, by every key of the language and by broken scenarios.
package control

import (
	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
)

// Duration is a typed duration.
type Duration = unit.Duration

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
	Hello          *Hellos // Off: no hellos
	Damping        *Damping
}

// Hellos are periodic packets whose absence for Interval x Multiplier is a failure.
type Hellos struct {
	Off        bool
	Interval   *Duration
	Multiplier *int
	Receive    *Duration // BFD: no packet more often is wanted
	At         [3]*Ends  // BFD: by tier, what differs
	ThreeWay   *bool     // hellos: an end that hears nothing says so
	Jitter     *float64  // largest share by which a gap is shortened, 0 to 0.25
}

// Ends is how the BFD of one tier differs.
type Ends struct {
	Interval, Receive *Duration
	Multiplier        *int
}

// Damping keeps links out of use that go down again and again.
type Damping struct {
	Off                      bool
	Increment, CutOff, Reuse *float64
	HalfLife, Hold           *Duration
}

// Flooding says how LSPs travel.
type Flooding struct {
	PerHop, Exchange *Duration
	Pacing           *Pacing
	SecondLSPCounts  *bool
	Window           *Window
	Reduced          *Reduced
	Lossy            *bool // LSPs are lost on lossy links
}

// Reduced has LSPs cross the links of a flooding topology only.
type Reduced struct {
	Off    bool
	Degree *int      // links of a router to the next tier that are in it
	Redraw *Duration // from a change of an adjacency to the area leader's next one
}

// Window is how LSPs go out on one interface and are acknowledged.
type Window struct {
	Off             bool
	Burst           *int
	Interval        *Duration
	Receive, PerAck *int
	AckDelay        *Duration
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
	Families        *Families
	Prefixes        *int  // of each leaf, in each family
	Labels          *int  // label entries of each prefix
	SharedGroups    *bool // one write moves all entries that share their next hops, if all change alike
	LocalDelay      *Duration
	RepairTunnel    *bool
	Ordered         *Ordered
}

// Ordered has routers write in turn: Hold after the first event, Step apart.
type Ordered struct {
	Off        bool
	Hold, Step *Duration
}

// Overload says who carries the overload bit.
type Overload struct{ Leaves, UntilReady *bool }

// Restart holds for how long neighbours keep an adjacency with a restarting router.
type Restart struct{ Grace *Duration }

// Families are the families of prefixes that tables hold.
type Families uint8

// The families.
const (
	IPv4 Families = iota
	IPv6
	BothFamilies
)

var familyNames = [...]string{"ipv4", "ipv6", "both"}

// String returns the word for the families.
func (f Families) String() string { return familyNames[f] }

// ReadTimers reads the timers of the control plane.
func ReadTimers(o *outline.Object, t *Timers) { (&object{o}).timers(t) }

// ReadSPF reads one SPF back-off; nil when it is none.
func ReadSPF(o *outline.Object) *SPF { return (&object{o}).family8541() }

// ReadDetection reads how routers notice.
func ReadDetection(o *outline.Object, d *Detection) { (&object{o}).detection(d) }

// ReadFlooding reads how LSPs travel.
func ReadFlooding(o *outline.Object, f *Flooding) { (&object{o}).flooding(f) }

// ReadTables reads what belongs to tables and start-up; o is the whole scenario.
func ReadTables(o *outline.Object, f *FIB, v *Overload, r *Restart) { (&object{o}).tables(f, v, r) }

// object is a map being read.
type object struct{ *outline.Object }

// open opens the map at a key; nil when not given or none.
func (o *object) open(key string) *object {
	if m := o.Open(key); m != nil {
		return &object{m}
	}
	return nil
}

// switchable opens what is either a map or a switch: off is true for false, the map nil for true. given is false when neither.
func (o *object) switchable(key string) (m *object, off, given bool) {
	inner, off, given := o.Switchable(key)
	if inner != nil {
		m = &object{inner}
	}
	return m, off, given
}
