package impact

import (
	"math"
	"slices"

	"halflight/sim/paths"
)

// likeness is what a leaf that is apart loses beyond its uplinks, or would, of its pair's
// traffic to one destination: the same for every leaf of its pod that has an equal entry
// and sound uplinks.
type likeness struct {
	leaf       int32   // -1: none
	list       []entry // a fault of -1 is whoever made the leaf's entry what it is
	hit, usual []float64
}

// tellApart has leaves that are apart, and must, look at what they lose, unless they
// wait.
func (l *Ledger) tellApart(d int32, t int64) {
	q := &l.line
	if q.waitFor > 0 || len(q.latePods)+len(q.lateDoors) == 0 {
		return
	}
	q.like.leaf = -1
	for _, pod := range q.latePods {
		l.chargePod(d, pod, nil, t)
	}
	for i, x := range q.lateDoors { // those of one pod together
		pod := q.pod[x]
		if !slices.Contains(q.latePods, pod) && !slices.ContainsFunc(q.lateDoors[:i], func(y int32) bool { return q.pod[y] == pod }) {
			l.chargePod(d, pod, q.lateDoors[i:], t)
		}
	}
	q.latePods, q.lateDoors = q.latePods[:0], q.lateDoors[:0]
}

// chargeThose has leaves that are apart look at what they lose.
func (l *Ledger) chargeThose(d int32, t int64, those func(*apartLeaf) bool) {
	l.line.like.leaf = -1
	list := l.line.dests[d].apart
	for i := range list {
		if a := &list[i]; those(a) {
			l.chargeAlike(d, a.leaf, a, t)
		}
	}
}

// chargePod has the leaves of a pod that are apart look at what they lose: all of them, or
// those that use one of some entrances.
func (l *Ledger) chargePod(d, pod int32, doors []int32, t int64) {
	q := &l.line
	apart, place := q.dests[d].apart, q.place[int(d)*l.f.Leaves:]
	for _, s := range q.pods[pod] {
		if k := place[s]; k > 0 && (doors == nil || l.usesOne(d, s, doors)) {
			l.chargeAlike(d, s, &apart[k-1], t)
		}
	}
}

// usesOne says whether a leaf's entry holds one of some entrances, which may be those of other
// pods too.
func (l *Ledger) usesOne(d, s int32, doors []int32) bool {
	q := &l.line
	set := l.ctl.Table.Of(d, s)
	for _, x := range doors {
		if q.pod[x] == q.pod[s] && crosses(set, q.mask[x]) {
			return true
		}
	}
	return false
}

// chargeLeaf charges what a leaf that is apart loses beyond its uplinks.
func (l *Ledger) chargeLeaf(d, s int32, a *apartLeaf, t int64) {
	l.line.like.leaf = -1
	l.chargeAlike(d, s, a, t)
}

// chargeAlike is chargeLeaf after others of the same destination, since when nothing
// changed but what leaves are charged for.
func (l *Ledger) chargeAlike(d, s int32, a *apartLeaf, t int64) {
	list := l.line.list[:0]
	set := l.ctl.Table.Of(d, s)
	k := paths.HopsIn(set)
	dead := l.deadAt[d] >= 0 || l.deadAt[s] >= 0
	if a.uneasy = false; !dead {
		l.liken(d, s, set, k)
		list = l.lossesOfLeaf(list, d, a, k, t)
	}
	l.line.list = list
	if a.account == nil {
		if len(list) == 0 && (len(l.Apps) == 0 || len(l.line.dests[d].byPod[l.line.pod[s]].doors) == 0) {
			return
		}
		a.account = l.open(t)
	}
	c := a.account
	for i := range list {
		if isFresh(c.entries, list, i) {
			l.strike(list[i].fault, d, s)
		}
	}
	gone := dead || !l.Truth.Path(d, s)
	if gone != c.gone || loserOf(c.entries) != loserOf(list) {
		l.routeBack(d, s, c, t)
		c.gone, c.born = gone, t
	}
	l.keep(a.account, list, t)
	for p := range l.Apps {
		hit, usual := 0.0, 0.0
		if !dead {
			hit, usual = l.line.like.hit[p], l.line.like.usual[p]
		}
		l.felt(p, d, &c.hits[p], int64(math.Round(float64(hit*l.Apps[p].unit))), t)
		l.sent(p, s, &c.out[p], int64(math.Round(float64((hit-usual)*l.Apps[p].unit))), t)
	}
}

// liken finds what a leaf loses beyond its uplinks by its entry, which has k next hops,
// unless the leaf before was of the same kind.
func (l *Ledger) liken(d, s int32, set []uint64, k int) {
	like, sound := &l.line.like, len(l.line.harm[s]) == 0
	if like.leaf >= 0 && sound && l.line.pod[s] == l.line.pod[like.leaf] && !changes(set, l.ctl.Table.Of(d, like.leaf)) {
		return
	}
	like.leaf, like.list = -1, like.list[:0]
	like.hit, like.usual = like.hit[:0], like.usual[:0]
	for range l.Apps {
		like.hit, like.usual = append(like.hit, 0), append(like.usual, 0)
	}
	if sound {
		like.leaf = s
	}
	if k == 0 {
		like.list = append(like.list, entry{fault: -1, kind: transit, whole: true, first: -1, amount: l.units(1)})
	}
	q, all := &l.line.dests[d], float64(len(l.f.Ports[s]))
	for _, r := range q.byPod[l.line.pod[s]].doors {
		o, mask := &q.doors[r.at], l.line.mask[r.x]
		part := 0.0
		if k > 0 {
			part = l.partOf(s, set, mask, k, 0)
		}
		if part > 0 {
			for j := range o.view {
				v := &o.view[j]
				like.list = put(like.list, v.weighing(l.units(float64(part*v.amount))))
			}
		}
		for p := range l.Apps {
			whole := part
			if !sound && k > 0 {
				whole = l.partOf(s, set, mask, k, p+1)
			}
			like.hit[p] += float64(whole * o.lacks[p])
			like.usual[p] += float64(float64(paths.HopsIn(mask))/all) * float64(o.account.out[p]) / l.Apps[p].unit
		}
	}
	for p := range l.Apps {
		if k == 0 {
			like.hit[p] = 1
		}
	}
}

// lossesOfLeaf lists what a leaf that is apart, to which another was likened, loses beyond its
// uplinks. The first router whose entry is not what it will be is the leaf itself, if it is late (S23).
func (l *Ledger) lossesOfLeaf(list []entry, d int32, a *apartLeaf, k int, t int64) []entry {
	s, late := a.leaf, !l.field.Converged(d, a.leaf)
	if late && !a.asked {
		a.own, a.asked = l.blameOfEntry(s, d, t), true
	}
	a.uneasy = k == 0
	for _, e := range l.line.like.list {
		switch {
		case e.fault < 0:
			if a.uneasy = true; late {
				e.fault = l.blameAhead(s, d, t)
			}
		case late && e.first == byEntry:
			if a.uneasy = true; a.own >= 0 {
				e.fault = a.own
			}
		}
		if e.first = -1; e.kind == transit {
			e.first = s
		}
		list = put(list, l.asStranded(d, s, e))
	}
	return list
}
