package impact

import (
	"math"
	"slices"

	"halflight/model/fabric"
	"halflight/model/traffic"
	"halflight/sim/kernel"
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
	each   float64 // one over all units of a leaf
	below  []int64 // by pod: over ports of a leaf and destinations, what is hit of a leaf's worth of units sent there

	// What uplinks hit is felt at the other end too: by all leaves alike. It is kept
	// part after part, for leaves that are booked later.
	allUp, allIn int64   // units, over leaves
	allOut, both int64   // the same of those that are hit on their way out, and both ways
	squares      float64 // squares of shares that are hit out and in, see counted
	twice        float64 // share that the parts are less for that, see counted
	past         []int64 // by router: units of a leaf's worth that are hit at an entrance or beyond, over destinations
	upBy         []int64 // by link: units of a leaf that are hit on that uplink
	spreadSlow   float64
	spreadSince  int64
	spreadMost   float64
	spreadLeast  float64
	spreadOver   int64 // ns in which that alone was over budget
	parts        []part
	stale        []int32 // leaves whose share must be found anew
	under        []int32 // pods whose leaves must be
	isUnder      []bool
	last         int64 // when shares were found last

	Burn *series.Burn // how fast the error budget goes; nil: not kept
}

// unitsOfLeaf is what becomes of the units of one leaf; what is looked at together
// lies together.
type unitsOfLeaf struct {
	sum    int64   // over its pairs, in units
	in     int64   // units from plain leaves that are hit
	up     int64   // units that its own uplinks hit, to sound destinations
	out    int64   // units hit on their way out
	both   int64   // units hit in and out
	square float64 // of shares
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
const partsMost = 1 << 10

func newApp(f *fabric.Fabric) App {
	a := App{leaves: make([]unitsOfLeaf, f.Leaves), unit: math.Ldexp(1, 40), past: make([]int64, len(f.Routers)), upBy: make([]int64, len(f.Links))}
	a.each = 1 / float64(a.unit*float64(f.Leaves-1))
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
	movePast              // units that pass an entrance, of a leaf's worth to each destination
)

// move is a change of how many units are hit, as of t.
type move struct {
	t, units int64
	at       int32 // leaf, router or direction
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
func (l *Ledger) hitUp(p int, dir int32, had *int64, is, t int64) { l.move(p, moveUp, dir, had, is, t) }
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
	q.sorted = slices.Grow(q.sorted[:0], len(q.moves))[:len(q.moves)]
	return kernel.BySteps(q.moves, q.sorted, last, place)
}

// feel takes note of a move at an instant.
func (a *App) feel(l *Ledger, m *move, at int64) {
	if m.units == 0 { // it came and went
		return
	}
	switch m.kind {
	case moveIn:
		a.leaves[m.at].in += m.units
		a.allIn += m.units
		a.touch(m.at)
	case moveSent:
		a.leaves[m.at].sum += m.units
		a.touch(m.at)
	case movePast:
		a.past[m.at] += m.units
		a.below[l.line.pod[m.at]] += m.units * int64(paths.HopsIn(l.line.mask[m.at]))
		a.touchBelow(l.line.pod[m.at])
	case moveUp:
		a.everybody(l, at)
		leaf := l.f.From(m.at)
		a.leaves[leaf].up += m.units
		a.upBy[m.at>>1] += m.units
		a.touch(leaf)
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
	a.parts, a.spreadMost, a.spreadLeast = a.parts[:0], 0, 0
}

// passSpread books what uplinks of others took up to now.
func (a *App) passSpread(l *Ledger, now int64) {
	if a.spreadSince >= now {
		return
	}
	share, span := a.spread(), l.span(a.spreadSince, now)
	a.spreadSlow += float64(share * span)
	if a.class.FanOut <= 1 {
		a.spreadMost, a.spreadLeast = max(a.spreadMost, share), min(a.spreadLeast, share)
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

// spread is the share of its units that a leaf loses on uplinks, and no more than its own.
func (a *App) spread() float64 {
	others := float64(len(a.leaves) - 1)
	return float64(a.allUp)/a.unit/float64(others*others) - a.twice
}

// counted is the share of a leaf's units that its own share and that of uplinks count twice: of what goes to leaves
// that are worse than others both ways, and of what is lost on uplinks of others and on its way out. What is hit
// between two leaves is taken to be the mean, and how much more the one is out and the other in: over pairs of two
// leaves the mean of what is hit both ways follows from sums over leaves.
func (a *App) counted() float64 {
	n := float64(len(a.leaves))
	each := 1 / float64(a.unit*float64(n*(n-1)))
	up, in, both := float64(float64(a.allUp)*each), float64(float64(a.allIn)*each), float64(float64(a.both)*each)
	out, own := float64(float64(a.allOut)*each), in-up/(n-1)
	if n < 3 { // one pair: each leaf has its own
		return float64(out * up * n / (n - 1))
	}
	covary, vary := both-float64(out*own), float64(a.squares/n)-float64(out*out)-float64(own*own)
	return float64(out*(up+in)) + float64(2*covary+vary/(n-1))/(1-1/float64((n-1)*(n-1))) - both
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
	if is := a.counted(); l.line.on && is != a.twice {
		a.everybody(l, now)
		a.twice = is
	}
}

// Share finds the share of a leaf's requests or flows that are hit at present, but for
// what uplinks of others do where leaves are weighed together.
func (a *App) Share(l *Ledger, leaf int32) float64 {
	u := &a.leaves[leaf]
	out, in := float64(u.sum+u.up), float64(u.in)
	sum := out + in
	if l.line.on {
		if l.deadAt[leaf] < 0 {
			out += float64(a.below[l.line.pod[leaf]])/u.ports - a.gone(l, leaf)
		}
		all := a.each
		own := in - float64(float64(u.up)*a.unit)*all // its uplinks are in what all leaves are hit too
		a.allOut, a.both, a.squares = a.allOut-u.out, a.both-u.both, a.squares-u.square
		u.out = int64(math.Round(out))
		u.both = int64(math.Round(float64(out*own) * all))
		u.square = (float64(out*out) + float64(own*own)) * all * all
		a.allOut, a.both, a.squares = a.allOut+u.out, a.both+u.both, a.squares+u.square
		sum = out + own - float64(u.both)
	}
	if all := l.mix.Total(leaf, l.f.Leaves); all > 0 {
		return sum / a.unit / all
	}
	return 0
}

// gone is how many of the units that would be hit beyond a leaf's uplinks are hit there already.
func (a *App) gone(l *Ledger, leaf int32) (units float64) {
	if a.leaves[leaf].up == 0 {
		return 0
	}
	for _, p := range l.f.Ports[leaf] {
		hit := float64(a.upBy[p.Link]) / a.unit / float64(len(a.leaves)-1)
		units += min(hit, 1/a.leaves[leaf].ports) * float64(a.past[p.Peer]) // no more than below has
	}
	return units
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
	case most <= 1 && (most <= a.class.Budget || share+a.spreadLeast > a.class.Budget):
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
	return max(u.slow+a.spreadSlow, 0), u.over
}
