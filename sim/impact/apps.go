package impact

import (
	"math"
	"slices"

	"halflight/model/fabric"
	"halflight/model/traffic"
	"halflight/sim/paths"
	"halflight/sim/series"
)

// App is what one application class feels: at each leaf, the share of its
// units of work that are hit. A unit between two leaves is hit if its request
// or its reply is. Pairs with a dead leaf have no units.
//
// The units of plain leaves (see package forwarding) are not told apart: to a
// destination they are known by sum, and from a leaf by what its uplinks'
// routers lack.
type App struct {
	class  traffic.Class
	hit    []float64 // by destination and source: probability that a unit of the pair is hit
	leaves []unitsOfLeaf
	unit   float64
	below  []int64 // by pod: over ports of a leaf and destinations, what is hit of a leaf's worth of units sent there

	// What uplinks hit is felt at the other end too: by all leaves alike. It is kept
	// part after part, for leaves that are booked later.
	allUp, both int64
	spreadSlow  float64
	spreadSince int64
	spreadMost  float64
	spreadOver  int64 // ns in which that alone was over budget
	parts       []part
	stale       []int32 // leaves whose share must be found anew
	under       []int32 // pods whose leaves must be
	isUnder     []bool
	last        int64 // when shares were found last

	Burn *series.Burn // how fast the error budget goes; nil: not kept
}

// unitsOfLeaf is what becomes of the units of one leaf; what is looked at together
// lies together.
type unitsOfLeaf struct {
	sum    int64   // over its pairs, in units
	in     int64   // units from plain leaves that are hit
	up     int64   // units that its own uplinks hit, to sound destinations
	share  float64 // slow share at present
	since  int64   // booked up to here
	slow   float64 // integral of the slow share, in share x ns
	over   int64   // ns over budget
	overAt int64   // spreadOver when it was booked last
	isOld  bool    // its share must be found anew
	ports  float64 // how many it has
}

// part is a share that uplinks of others took from an instant on.
type part struct {
	from  int64
	share float64
}

// partsMost is how many parts are kept before all leaves are booked.
const partsMost = 1 << 14

func newApp(f *fabric.Fabric) App {
	a := App{leaves: make([]unitsOfLeaf, f.Leaves), unit: math.Ldexp(1, 40)}
	for leaf := range a.leaves {
		a.leaves[leaf].ports = float64(len(f.Ports[leaf]))
	}
	return a
}

func (a *App) touch(leaf int32) {
	if u := &a.leaves[leaf]; !u.isOld {
		u.isOld = true
		a.stale = append(a.stale, leaf)
	}
}

// set updates the units between two leaves, in either role, from what the two
// directions deliver in a plane.
func (a *App) set(l *Ledger, plane int, d, s int32) {
	hit := 0.0
	if l.deadAt[d] < 0 && l.deadAt[s] < 0 {
		hit = 1 - float64(l.bands.Delivered(plane, s, d)*l.bands.Delivered(plane, d, s))
	}
	a.put(l, d, s, hit)
}

// put sets how many of the units between two leaves are hit.
func (a *App) put(l *Ledger, d, s int32, hit float64) {
	n := l.f.Leaves
	i, j := int(d)*n+int(s), int(s)*n+int(d)
	if a.hit[i] == hit {
		return
	}
	weight := float64(l.mix.Pair(s, d) * a.unit)
	change := int64(math.Round(float64(hit*weight))) - int64(math.Round(float64(a.hit[i]*weight)))
	a.hit[i], a.hit[j] = hit, hit
	a.leaves[d].sum += change
	a.leaves[s].sum += change
	a.touch(d)
	a.touch(s)
}

// What happens to the units of one leaf, or of all that pass a router.
const (
	moveIn   uint8 = iota // units on their way to a leaf
	moveSent              // units that a leaf sends, more than usual
	moveUp                // units that a leaf's uplinks hit
	movePast              // units that pass an entrance
)

// move is a change of how many units are hit, as of t.
type move struct {
	t, units int64
	at       int32 // leaf or router
	class    uint8
	kind     uint8
}

func (l *Ledger) move(p int, kind uint8, at int32, had *int64, is, t int64) {
	if *had == is {
		return
	}
	q := &l.line
	m := move{t, is - *had, at, uint8(p), kind}
	*had = is
	if kind == moveIn { // most are of the same leaf as the one before
		if k := q.lastIn; k < len(q.moves) {
			if o := &q.moves[k]; o.kind == moveIn && o.at == at && o.class == m.class && stepOf(o.t) == stepOf(t) && (o.t == t || o.t != q.outside && t != q.outside) {
				o.units += m.units
				return
			}
		}
		q.lastIn = len(q.moves)
	}
	q.moves = append(q.moves, m)
}

// stepOf is the step of pace that an instant belongs to.
func stepOf(t int64) int64 { return (t + pace/2) / pace }

func (l *Ledger) felt(p int, d int32, had *int64, is, t int64)    { l.move(p, moveIn, d, had, is, t) }
func (l *Ledger) sent(p int, s int32, had *int64, is, t int64)    { l.move(p, moveSent, s, had, is, t) }
func (l *Ledger) hitUp(p int, s int32, had *int64, is, t int64)   { l.move(p, moveUp, s, had, is, t) }
func (l *Ledger) through(p int, x int32, had *int64, is, t int64) { l.move(p, movePast, x, had, is, t) }

// runMoves has leaves feel what moved, in order of time. Moves of one step of
// pace are felt together; what comes from outside now is felt now.
func (l *Ledger) runMoves(now int64) {
	moves := l.byStep(now)
	for i := 0; i < len(moves); {
		step := stepOf(moves[i].t)
		at := now
		if moves[i].t < now {
			at = min(step*pace, now)
		}
		j := i
		for ; j < len(moves) && stepOf(moves[j].t) == step && (moves[j].t < now) == (moves[i].t < now); j++ {
			l.Apps[moves[j].class].feel(l, &moves[j], at)
		}
		for p := range l.Apps {
			l.Apps[p].close(l, at, true)
		}
		i = j
	}
	l.line.moves = l.line.moves[:0]
}

// byStep puts the moves in order of their steps, those of now last. Within a
// step the order does not matter.
func (l *Ledger) byStep(now int64) []move {
	q := &l.line
	if len(q.moves) < 2 {
		return q.moves
	}
	low, high := stepOf(now), stepOf(now)
	for i := range q.moves {
		low = min(low, stepOf(q.moves[i].t))
	}
	last := uint64(high-low) + 1
	place := func(m *move) uint64 {
		if m.t >= now {
			return last
		}
		return uint64(stepOf(m.t) - low)
	}
	const digit = 11 // bits of a place that are sorted by at a time
	q.sorted = slices.Grow(q.sorted[:0], len(q.moves))[:len(q.moves)]
	from, to := q.moves, q.sorted
	for shift := 0; last>>shift > 0; shift += digit {
		var count [1 << digit]int32
		for i := range from {
			count[place(&from[i])>>shift&(1<<digit-1)]++
		}
		at := int32(0)
		for i, n := range count {
			count[i] = at
			at += n
		}
		for i := range from {
			k := &count[place(&from[i])>>shift&(1<<digit-1)]
			to[*k] = from[i]
			*k++
		}
		from, to = to, from
	}
	return from
}

// feel takes note of a move at an instant.
func (a *App) feel(l *Ledger, m *move, at int64) {
	if m.units == 0 { // it came and went
		return
	}
	switch m.kind {
	case moveIn:
		u := &a.leaves[m.at]
		if u.up != 0 {
			a.everybody(l, at)
		}
		a.both -= a.bothAt(m.at)
		u.in += m.units
		a.both += a.bothAt(m.at)
		a.touch(m.at)
	case moveSent:
		a.leaves[m.at].sum += m.units
		a.touch(m.at)
	case movePast:
		a.below[l.line.pod[m.at]] += m.units * int64(paths.HopsIn(l.line.mask[m.at]))
		a.touchBelow(l.line.pod[m.at])
	case moveUp:
		a.everybody(l, at)
		a.both -= a.bothAt(m.at)
		a.leaves[m.at].up += m.units
		a.both += a.bothAt(m.at)
		a.touch(m.at)
		a.allUp += m.units
	}
}

// everybody books before what uplinks do to all leaves changes.
func (a *App) everybody(l *Ledger, at int64) {
	if a.spreadSince >= at {
		return
	}
	if a.class.FanOut > 1 { // chances of parts do not add up
		for leaf := range a.leaves {
			a.book(l, int32(leaf), at)
		}
	}
	a.passSpread(l, at)
	if len(a.parts) < partsMost {
		return
	}
	for leaf := range a.leaves {
		a.book(l, int32(leaf), at)
	}
	a.parts = a.parts[:0]
}

// passSpread books what uplinks of others took up to now.
func (a *App) passSpread(l *Ledger, now int64) {
	if a.spreadSince >= now {
		return
	}
	share, span := a.spread(), l.span(a.spreadSince, now)
	a.spreadSlow += float64(share * span)
	if a.class.FanOut <= 1 {
		a.spreadMost = max(a.spreadMost, share)
		if share > a.class.Budget {
			a.spreadOver += int64(span)
		}
		if n := len(a.parts); n == 0 || a.parts[n-1].share != share {
			a.parts = append(a.parts, part{a.spreadSince, share})
		}
		a.Burn.All(share, a.spreadSince, now)
	}
	a.spreadSince = now
}

// bothAt is how many of a leaf's units are hit both on its uplinks and on their
// way to it, and must not count twice: all destinations alike.
func (a *App) bothAt(leaf int32) int64 {
	u := &a.leaves[leaf]
	if u.up == 0 || u.in == 0 {
		return 0
	}
	return int64(math.Round(float64(float64(u.up)*float64(u.in)) / a.unit / float64(len(a.leaves)-1)))
}

// spread is the share of its units that a leaf loses on the uplinks of others.
func (a *App) spread() float64 {
	n := float64(len(a.leaves))
	return float64(a.allUp-a.both) / a.unit / float64(n*(n-1))
}

// touchBelow has the leaves of a pod looked at when the instant is closed.
func (a *App) touchBelow(pod int32) {
	if !a.isUnder[pod] {
		a.isUnder[pod] = true
		a.under = append(a.under, pod)
	}
}

// pace is how far apart in time, in ns, shares are found while tables change
// one by one. Changes from outside are always followed at once.
const pace = 5_000_000

// late finds the shares that waited, if their time was over before now. What they follow from must
// not have changed since.
func (a *App) late(l *Ledger, now int64) {
	if at := a.last + pace; len(a.stale) > 0 && at < now {
		a.close(l, at, true)
	}
}

// close finds the shares of the leaves that changed. Unless it is to be done at once they wait until
// others were found so long ago as pace says: late sees to those that nothing follows.
func (a *App) close(l *Ledger, now int64, atOnce bool) {
	if len(a.stale) == 0 && len(a.under) == 0 || !atOnce && now-a.last < pace {
		return
	}
	a.last = now
	for _, pod := range a.under {
		a.isUnder[pod] = false
		for _, leaf := range l.line.pods[pod] {
			a.touch(leaf)
		}
	}
	a.under = a.under[:0]
	for _, leaf := range a.stale {
		a.book(l, leaf, now)
		u := &a.leaves[leaf]
		u.share, u.isOld = a.Share(l, leaf), false
	}
	a.stale = a.stale[:0]
}

// Share is the share of a leaf's requests or flows that are hit at present, but for
// what uplinks of others do where leaves are weighed together.
func (a *App) Share(l *Ledger, leaf int32) float64 {
	u := &a.leaves[leaf]
	sum := float64(u.sum + u.in + u.up - a.bothAt(leaf))
	if l.deadAt[leaf] < 0 && l.line.on {
		sum += float64(a.below[l.line.pod[leaf]]) / u.ports
	}
	if all := l.mix.Total(leaf, l.f.Leaves); all > 0 {
		return min(sum/a.unit/all, 1)
	}
	return 0
}

// fanOut is the share of units that are slow if each of their parts is hit with
// probability q.
func (a *App) fanOut(q float64) float64 {
	if a.class.FanOut <= 1 || q == 0 {
		return q
	}
	whole := 1.0
	for range a.class.FanOut {
		whole *= 1 - min(q, 1)
	}
	return 1 - whole
}

// book counts for a leaf up to now. What uplinks of others take is booked for all
// alike, unless a unit has many parts: chances of parts do not add up.
func (a *App) book(l *Ledger, leaf int32, now int64) {
	u := &a.leaves[leaf]
	since, share := u.since, u.share
	u.since = now
	if a.class.FanOut > 1 {
		if share != 0 || a.allUp != 0 {
			slow, span := a.fanOut(share+a.spread()), l.span(since, now)
			u.slow += float64(slow * span)
			if slow > a.class.Budget {
				u.over += int64(span)
			}
			a.Burn.Add(leaf, slow, since, now)
		}
		return
	}
	a.passSpread(l, now)
	most := share + a.spreadMost
	switch {
	case share == 0:
		u.over += a.spreadOver - u.overAt
	case most <= 1 && (most <= a.class.Budget || share > a.class.Budget):
		span := l.span(since, now)
		u.slow += float64(share * span)
		if share > a.class.Budget {
			u.over += int64(span)
		}
	default:
		a.bookParts(l, leaf, share, since, now)
	}
	u.overAt = a.spreadOver
	a.Burn.Add(leaf, share, since, now)
}

// bookParts books part after part of what uplinks of others took.
func (a *App) bookParts(l *Ledger, leaf int32, share float64, since, now int64) {
	for i := len(a.parts) - 1; i >= 0 && now > since; i-- {
		p := &a.parts[i]
		span := l.span(max(since, p.from), now)
		a.leaves[leaf].slow += float64(min(share, 1-p.share) * span) // no more than all are slow
		if share+p.share > a.class.Budget {
			a.leaves[leaf].over += int64(span)
		}
		now = p.from
	}
}

func (a *App) flush(l *Ledger, now int64) {
	a.late(l, now)
	a.close(l, now, true)
	for leaf := range a.leaves {
		a.book(l, int32(leaf), now)
	}
	a.passSpread(l, now)
}

// Slow returns, as flushed, the integral of a leaf's slow share (share x ns)
// and the time over budget (ns).
func (a *App) Slow(leaf int32) (integral float64, over int64) {
	u := &a.leaves[leaf]
	if a.class.FanOut > 1 {
		return u.slow, u.over
	}
	return u.slow + a.spreadSlow, u.over
}
