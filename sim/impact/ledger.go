// Package impact integrates what is lost and charges it to faults and phases.
//
// It sees tables, directions and databases; it does not decide what happens.
// The parts of a breakdown are whole numbers, so that they sum to the total
// without rounding. It is tested by scripted cases worked by hand and by the
// sums under random worlds.
package impact

import (
	"math"
	"math/bits"

	"halflight/model/fabric"
	"halflight/model/traffic"
	"halflight/sim/bands"
	"halflight/sim/converged"
	"halflight/sim/forwarding"
	"halflight/sim/linkstate"
	"halflight/sim/pairs"
)

// Fault is what the ledger keeps of one fault.
type Fault struct {
	Onset, End  int64 // End: math.MaxInt64 while it lasts
	Converges   bool  // a Full Convergence Time is measured
	Maintenance bool  // what it costs is maintenance
	Upgrade     bool  // maintenance that takes a box out: what it strands is stranded, as by any other fault
	Mistake     bool  // of a person: what it strands falls to it all the same
	Gray        bool
	Repeats     bool // it comes and goes, or sessions over it may
	Noticed     bool // a gray fault that has been sighted

	now       int64 // lost at present, in units
	cells     [6]cell
	turns     []turn          // its changes, in order
	ends      []end           // routers that noticed the last of them themselves
	phases    [Phases]float64 // lost so far: units x ns
	last      int64           // last instant at which what is charged to it changed, since Onset
	lastAfter int64           // the same since End
	before    int64           // now, at the beginning of the instant
	stamp     uint64
	struck    *pairs.Set   // ordered leaf pairs that lost traffic to it; nil: none, or none since it was closed
	closed    int          // how many there were when that was
	spells    pairs.Spells // when some flow of a pair was lost entirely; together, of what comes and goes: of a pod to a leaf, or out of one
	External  bool         // some of it was from or to outside
	RouteLoss int64        // longest time that some flow of one pair was lost entirely
}

// end is a router that noticed a change of a fault itself, and when.
type end struct {
	router int32
	at     int64
}

// turn is one change of a fault and what routers made of it: when the first of
// them noticed, and when the first LSP went out.
type turn struct{ at, detected, originated int64 }

type cell struct{ now, since int64 }

// The cells of a fault hold what is charged to a phase that depends on nothing
// else. What waits for an entry of a router's is owed by that instead.
const (
	cellGray = iota
	cellLoop
	cellStranded
	cellMaintenance
	cellOverlay
	cellFull
	transit // not a cell
)

type entry struct {
	fault  int32
	kind   uint8
	whole  bool // some flow is lost entirely
	first  int32
	amount int64
}

// debt is what is lost of traffic for a destination because a router's entry is not what
// it will be.
type debt struct {
	fault, router int32
	now, since    int64
}

// Ledger is the account of one replication.
type Ledger struct {
	Truth  *converged.Truth
	f      *fabric.Fabric
	field  *forwarding.Field // of the smallest packets, where bands are kept
	bands  *bands.Field
	ctl    *linkstate.Control
	Faults []Fault

	unit     float64 // units of one ordered leaf pair; of the mean one with a mix
	pairs    float64
	mix      *traffic.Mix
	lost     int64 // units lost at present
	lostOut  int64 // of them, of traffic from or to outside
	outside  float64
	carried  float64
	since    int64
	entries  pairLists
	owed     [][]debt // by destination
	had      []entry  // of a pair before
	stir     []int32  // faults whose charge may have changed at this instant
	stamp    uint64
	restless []int32 // destinations with losses that depend on tables
	inRest   []bool
	pending  []int32
	blames   []blame
	deadAt   []int32       // by leaf: fault to charge for what a dead leaf loses, -1 when alive
	routes   *pairs.Routes // where pairs are kept one by one
	entire   []int32       // faults that some flow of a pair is lost entirely to
	struck   []int32       // faults whose pairs are told apart
	nextOver int           // the place in it that was looked at last
	line     timeline
	least    int64 // a change of less than this is rounding and none
	cut      int32 // the oldest fault in force that takes something out, as of cutAt
	cutAt    uint64
	Apps     []App
	servers  *attached // nil: every server has one leaf

	// Passed, if given, is told what share was lost over [from, to), or that this
	// is taken back where to lies before from.
	Passed func(share float64, from, to int64)
	// With Listen, routers whose entries changed are noted in Wrote.
	Listen bool
	Wrote  []int32
	// Plainly has every write followed in the general way: the plain twin of what
	// is done for speed.
	Plainly bool

	forceful func() []int32 // faults in force
	culprit  func(source, d int32) int32
	chance   bool   // faults are drawn
	from     int64  // begin of the measured window
	asOf     int64  // the instant that is being settled
	asked    []bool // by router: it has been found blameless, and its runs are looked at
	last     int32  // the fault that began or ended last, -1 for none
	held     []linkstate.Snapshot
}

type blame struct {
	serial, version uint64
	area            int
	fault           int32
}

// Setup is what a Ledger needs of its surroundings: the faults in force, oldest first, and the
// oldest of them without which a route from source to d would exist, -1 for none.
type Setup struct {
	Fabric  *fabric.Fabric
	Field   *bands.Field
	Control *linkstate.Control
	Truth   *converged.Truth
	Classes []traffic.Class
	Mix     *traffic.Mix // nil: all pairs are alike; else not Ahead
	InForce func() []int32
	Culprit func(source, d int32) int32
	// Ahead says that the field follows the core only and that writes are known
	// ahead.
	Ahead bool
	// Chance says that faults are drawn: what is stranded then, by several of them mostly,
	// says nothing about when the convergence of one ended.
	Chance bool
	From   int64 // losses before are not integrated
}

// New returns an empty account.
func New(s Setup) *Ledger {
	n := s.Fabric.Leaves
	pairs := n * (n - 1)
	l := &Ledger{Truth: s.Truth, f: s.Fabric, field: s.Field.Plain, bands: s.Field, ctl: s.Control, forceful: s.InForce, culprit: s.Culprit,
		unit: math.Ldexp(1, 62-bits.Len(uint(pairs))), pairs: float64(pairs), owed: make([][]debt, s.Fabric.Leaves),
		mix: s.Mix, inRest: make([]bool, n), deadAt: make([]int32, n), from: s.From, since: s.From, chance: s.Chance || s.Ahead}
	l.last = -1
	l.Truth.Roughly = s.Ahead
	l.least = int64(math.Ceil(l.unit * l.pairs * 1e-13))
	for i := range l.deadAt {
		l.deadAt[i] = -1
	}
	for range s.Classes {
		l.Apps = append(l.Apps, newApp(s.Fabric))
	}
	for i, c := range s.Classes {
		l.Apps[i].class = c
	}
	if s.Ahead {
		l.initTimeline()
		return l
	}
	l.field.Blameless, l.asked = l.blameless, make([]bool, len(l.f.Routers))
	l.entries.init(n)
	l.routes = l.newRoutes(n)
	for i := range l.Apps {
		l.Apps[i].hit = make([]float64, n*n)
	}
	return l
}

// Open adds a fault and returns its number.
func (l *Ledger) Open(f Fault) int32 {
	f.End = math.MaxInt64
	f.last, f.lastAfter = f.Onset, -1
	l.Faults = append(l.Faults, f)
	return int32(len(l.Faults) - 1)
}

// Close ends a fault.
func (l *Ledger) Close(fault int32, now int64) { l.Faults[fault].End, l.last = now, fault }

// LastEnded is the fault that ended last, -1 before the first.
func (l *Ledger) LastEnded() int32 { return l.last }

// Turn says that a fault changed.
func (l *Ledger) Turn(fault int32, now int64) {
	f := &l.Faults[fault]
	f.turns, f.ends = append(f.turns, turn{now, math.MaxInt64, math.MaxInt64}), f.ends[:0]
}

// Detected says that router x noticed a fault's last change; -1 for all whom it concerns.
func (l *Ledger) Detected(fault, x int32, now int64) {
	f := &l.Faults[fault]
	if n := len(f.turns); n > 0 {
		f.turns[n-1].detected = min(f.turns[n-1].detected, now)
		if x >= 0 && f.noticed(x) == math.MaxInt64 {
			f.ends = append(f.ends, end{x, now})
		}
	}
}

// noticed is when x noticed the fault's last change itself, math.MaxInt64 if it did not.
func (f *Fault) noticed(x int32) int64 {
	for _, e := range f.ends {
		if e.router == x {
			return e.at
		}
	}
	return math.MaxInt64
}

// Originated says that an LSP went out because of a fault's last change.
func (l *Ledger) Originated(fault int32, now int64) {
	if t := l.Faults[fault].turns; len(t) > 0 {
		t[len(t)-1].originated = min(t[len(t)-1].originated, now)
	}
}

// Older says whether fault a is older than b: by onset, then by number.
func (l *Ledger) Older(a, b int32) bool {
	if x, y := l.Faults[a].Onset, l.Faults[b].Onset; x != y {
		return x < y
	}
	return a < b
}

// Share returns the lost share of all demand at present.
func (l *Ledger) Share() float64 { return float64(l.lost) / l.unit / l.pairs }

// Total returns the lost seconds up to now.
func (l *Ledger) Total(now int64) float64 {
	l.carry(now)
	return l.carried / l.unit / l.pairs / 1e9
}

// ExternalShare returns the lost share of traffic from or to outside at present; 0
// if there is none.
func (l *Ledger) ExternalShare() float64 {
	if l.mix == nil || l.mix.External == 0 {
		return 0
	}
	return float64(l.lostOut) / l.unit / l.mix.External
}

// External returns the lost seconds of traffic from or to outside up to now, in
// seconds of all of it; 0 if there is none.
func (l *Ledger) External(now int64) float64 {
	l.carry(now)
	if l.mix == nil || l.mix.External == 0 {
		return 0
	}
	return l.outside / l.unit / l.mix.External / 1e9
}

// carry books what is lost up to now, which may lie before the last call.
func (l *Ledger) carry(now int64) {
	if now != l.since && l.lost != 0 {
		l.carried += float64(float64(l.lost) * l.span(l.since, now))
		l.outside += float64(float64(l.lostOut) * l.span(l.since, now))
		if l.Passed != nil {
			l.Passed(l.Share(), l.since, now)
		}
	}
	l.since = now
}

// span is how much of [since, now) is measured; negative if now lies before.
func (l *Ledger) span(since, now int64) float64 {
	return float64(max(now, l.from) - max(since, l.from))
}

// Note says that a gray fault was sighted for the first time.
func (l *Ledger) Note(fault int32, now int64) {
	f := &l.Faults[fault]
	l.flushCell(f, cellGray, now)
	f.Noticed = true
}

func (l *Ledger) flushCell(f *Fault, k uint8, now int64) {
	c := &f.cells[k]
	if c.now != 0 {
		phase := [6]Phase{Unnoticed, Loop, Stranded, Maintenance, Overlay, Congestion}[k]
		if k == cellGray && f.Noticed {
			phase = Noticed
		}
		f.phases[phase] += float64(float64(c.now) * l.span(c.since, now))
	}
	c.since = now
}

// charge adds an amount of traffic for d, which may be negative, to what is lost at
// present.
func (l *Ledger) charge(e entry, d int32, sign, now int64) {
	f := &l.Faults[e.fault]
	amount := sign * e.amount
	l.lost += amount
	if !l.beside(e.kind) {
		if f.stamp != l.stamp {
			f.stamp, f.before = l.stamp, f.now
			l.stir = append(l.stir, e.fault)
		}
		f.now += amount
	}
	if e.first >= 0 && e.kind != cellGray {
		l.ctl.Owing[e.first] += int32(sign)
	}
	if e.kind != transit {
		l.flushCell(f, e.kind, now)
		f.cells[e.kind].now += amount
		return
	}
	list := l.owed[d]
	for i := range list {
		o := &list[i]
		if o.fault != e.fault || o.router != e.first {
			continue
		}
		l.flushDebt(d, o, now)
		if o.now += amount; o.now == 0 {
			list[i] = list[len(list)-1]
			l.owed[d] = list[:len(list)-1]
		}
		return
	}
	l.owed[d] = append(list, debt{e.fault, e.first, amount, now})
}

// Written says that an entry is another now. What it owed until now went through the
// run behind the write, of faults that this could know.
func (l *Ledger) Written(c *linkstate.Cell, now int64) {
	l.bands.EntryChanged(c.Router, c.Destination)
	list := l.owed[c.Destination]
	for i := range list {
		if o := &list[i]; o.router == c.Router {
			l.flushAs(behind{d: c.Destination, by: c.By, pruned: c.Pruned}, o, now)
		}
	}
}

// beside says whether a loss says nothing about whether its fault has converged: what has
// too little room, and in random runs what is stranded.
func (l *Ledger) beside(kind uint8) bool {
	return kind == cellFull || l.chance && kind == cellStranded
}

// flushDebt charges what a router's entry for d owed for a fault to the phases that it
// went through since.
func (l *Ledger) flushDebt(d int32, o *debt, now int64) { l.flushAs(behind{d: d}, o, now) }

func (l *Ledger) flushAs(w behind, o *debt, now int64) {
	from := max(o.since, l.from)
	o.since = now
	if now > from && o.now != 0 {
		l.split(o.fault, o.router, w, o.now, from, now)
	}
}

// Flush charges everything up to now.
func (l *Ledger) Flush(now int64) {
	if l.line.on {
		l.flushLine(now)
	}
	l.carry(now)
	for i := range l.Faults {
		for k := range l.Faults[i].cells {
			l.flushCell(&l.Faults[i], uint8(k), now)
		}
	}
	for d := range l.owed {
		for i := range l.owed[d] {
			l.flushDebt(int32(d), &l.owed[d][i], now)
		}
	}
	if !l.line.on {
		l.routes.Flush(now)
	}
	for i := range l.Apps {
		l.Apps[i].flush(l, now)
	}
}

// Lost returns the lost seconds of a fault by phase, as flushed.
func (l *Ledger) Lost(fault int32) (total float64, phases [Phases]float64) {
	for p, v := range l.Faults[fault].phases {
		phases[p] = v / l.unit / l.pairs / 1e9
		total += phases[p]
	}
	return total, phases
}
