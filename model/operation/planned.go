package operation

import "halflight/model/chance"

// Tier is which boxes are upgraded.
type Tier uint8

// The tiers.
const (
	AllTiers Tier = iota
	Leaves
	Spines
	Tops
)

// String returns the tier as a scenario writes it.
func (t Tier) String() string { return [...]string{"all", "leaves", "spines", "tops"}[t] }

// Drain is how a box is taken out of use.
type Drain uint8

// The drains. ByMetric: its links are given the highest metric at both ends, so
// that whoever has no other way keeps this one until those before it have moved.
const (
	ByMetric Drain = iota
	ByBit          // the overload bit
	NoDrain        // it restarts with traffic on it
)

// String returns the drain as a scenario writes it.
func (d Drain) String() string { return [...]string{"metric", "overload", "false"}[d] }

// Upgrades are campaigns: planned work on all boxes of a tier, one after the
// other. A box is drained Ahead of the work, restarts for as long as the work
// takes, and is put back after the plan's soak time.
type Upgrades struct {
	Tier   Tier
	First  int64 // begin of the first campaign, from the end of the warm-up
	Every  int64 // from one campaign's begin to the next; one that is still under way is not begun anew
	AtOnce int   // boxes out at once, at least 1

	// A box is begun at an hour of the day in [From, To) that leaves it time enough;
	// a day begins with the replication. To may be on the next day, at From at the latest.
	// Equal: at any hour.
	From, To int64

	// Mates: leaves are mates two by two, in order, and of two at most one is out: they
	// have servers in common.
	Mates bool

	Ahead int64
	Work  chance.Law
	Drain Drain
	Kept  bool // it forwards by the tables it had meanwhile (RFC 8706)

	// Shares of boxes on which a mistake is made: the drain is forgotten; it is put
	// back as it boots, with the tables not yet written; it does not boot, and is
	// out for as long as the repair of a router takes.
	Undrained, Early, Dead float64
}

// Length is how long a box is planned to be out, in ns: the mean of the work, and
// what lies before and after it.
func (u *Upgrades) Length(soak int64) int64 { return u.Ahead + int64(u.Work.Mean()) + soak }

// PerNight is how many boxes one after the other fit into a window, 0 without one.
func (u *Upgrades) PerNight(soak int64) int64 {
	if u.From == u.To {
		return 0
	}
	return (u.To - u.From) / max(u.Length(soak), 1)
}

// DefaultUpgrades returns a campaign of which nothing else is said. All of it is
// assumed; that a reload takes a couple of minutes is in a talk (Dean, 2009), and
// an upgrade is a reload and more.
func DefaultUpgrades() Upgrades {
	return Upgrades{Every: 90 * 1440 * minute, AtOnce: 1, Ahead: minute, Work: chance.Constant(float64(10 * minute)),
		Undrained: 0.01, Early: 0.01, Dead: 0.005}
}

// Mistake is what a change of configuration does that it should not.
type Mistake uint8

// The mistakes.
const (
	WrongMetric  Mistake = iota // one port sends a metric that keeps traffic away
	WrongBit                    // the overload bit is set
	WrongPort                   // one port is cut
	WrongFilter                 // a share of flows is dropped without a trace
	MistakeKinds = 4
)

// String returns the mistake as a scenario writes it.
func (m Mistake) String() string { return [...]string{"metric", "overload", "cut", "hole"}[m] }

// Changes are changes of configuration. Boxes of a tier are of so many roles, in
// turn: boxes of one role have the same configuration.
type Changes struct {
	Rate  float64 // a second
	Roles int     // of each tier, at least 1
	// Share of the changes that hold a mistake if all boxes are alike, and by how much
	// more, in proportion, with each role beyond the first.
	Share, PerRole float64
	// Wide is the share of mistakes that are made on all boxes of the role, as by a
	// template; the others are made on one box.
	Wide float64
	What [MistakeKinds]float64 // relative weights
	Hole float64               // share of flows that WrongFilter drops
	Undo chance.Law            // from the mistake to its being undone
}

// Mistaken is the share of changes with a mistake, at most 1.
func (c *Changes) Mistaken() float64 {
	return min(1, c.Share*(1+float64(c.PerRole*float64(c.Roles-1))))
}

// DefaultChanges returns changes of which only the rate is given. Undoing takes as
// long as mending an incident; all else is assumed.
func DefaultChanges() Changes {
	return Changes{Roles: 1, Share: 0.01, PerRole: 0.2, Wide: 0.1, What: [MistakeKinds]float64{1, 1, 1, 1}, Hole: 0.1, Undo: Reaction(false)}
}
