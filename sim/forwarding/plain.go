package forwarding

import (
	"math"
	"math/bits"
	"slices"
)

// When leaves never carry the traffic of others they need not all be told
// apart. A leaf is clear for a destination if its next hops deliver all, or nearly: it
// loses only what its own uplinks drop, by the same share for every such
// destination, and what an uplink carries to them is known by sum. A leaf that
// is not clear is plain if its entry is the converged one and its uplinks pass
// everything. What it loses it loses beyond its next hops, and it is enough to
// know how much of the traffic of all plain leaves each of those gets. The other
// leaves are special and each has its own account, as have dead leaves and those
// without a next hop.

// weightUnit is the weight of a whole leaf's traffic to one destination.
const weightUnit = 1 << 40

// plainly is the state of leaves that are put together.
type plainly struct {
	on         bool
	special    []bool  // by destination and leaf
	specials   []int32 // by destination: how many
	counted    []bool  // by destination and leaf: in weight
	countedSet []uint64
	words      int
	weight     []int64 // by destination and router: traffic of plain leaves
	bad        []int32 // destinations to which some router does not deliver all
	isBad      []bool
	later      [][]int32 // by destination: leaves to be classified when it matters
	isLater    []bool    // by destination and leaf
	unsure     [][]int32 // by destination: plain leaves that are so only as long as they are clear
	isUnsure   []bool    // by destination and leaf
	rises      []int32   // by destination: how often a router came to deliver less than all
	lastRises  []int32   // the same, when unsure leaves were looked at last

	uplinks []int32   // directions sent by leaves that do not pass everything
	load    []int64   // by place in uplinks
	given   [][]int64 // by place in uplinks and destination: its part of the load
	harmed  []int32   // by leaf: how many of its uplinks are among them

	// PlainChanged says that what plain leaves lose to the destination settled
	// last may have changed, UplinksChanged the same of uplinks, since it was
	// last set to false.
	PlainChanged, UplinksChanged bool
}

// SetAside has leaves put together. It must be called before the first change.
func (q *Field) SetAside() {
	n := q.f.Leaves
	q.on = true
	q.special, q.counted, q.isLater = make([]bool, n*n), make([]bool, n*n), make([]bool, n*n)
	q.weight = make([]int64, n*len(q.f.Routers))
	q.specials = make([]int32, n)
	q.unsure, q.isUnsure, q.rises, q.lastRises = make([][]int32, n), make([]bool, n*n), make([]int32, n), make([]int32, n)
	q.isBad, q.later, q.harmed = make([]bool, n), make([][]int32, n), make([]int32, n)
	for l := range n {
		q.words = max(q.words, int(q.table.Words[l]))
	}
	q.countedSet = make([]uint64, n*n*q.words)
	for d := range n {
		for l := range n {
			if l != d {
				q.addCount(int32(d), int32(l))
			}
		}
	}
}

func (q *Field) pair(d, l int32) int { return int(d)*q.f.Leaves + int(l) }

// leafChanged says whether a change of leaf l's entry for d can wait until d's
// routers are settled next.
func (q *Field) leafChanged(d, l int32) bool {
	i := q.pair(d, l)
	set := q.table.Of(d, l)
	old := q.countedSet[i*q.words : (i+1)*q.words]
	if l == d || q.special[i] || isEmpty(set) || !q.clear(d, l, set) || !q.clear(d, l, old) || q.swaps(d, l, old, set) {
		return false
	}
	q.postpone(d, l)
	if q.harmed[l] > 0 {
		q.giveUplinks(d, l)
	}
	return true
}

// swaps says whether two sets of leaf l's next hops differ in one that does not
// deliver all.
func (q *Field) swaps(d, l int32, old, set []uint64) bool {
	if q.imperfect[d] == 0 {
		return false
	}
	base := q.at(d, 0)
	for w := range set {
		for word := old[w] ^ set[w]; word != 0; word &= word - 1 {
			if q.blemished(base + int(q.f.Ports[l][w*64+bits.TrailingZeros64(word)].Peer)) {
				return true
			}
		}
	}
	return false
}

// nearlyAll is the share that a router must deliver for leaves that use it to
// be clear. What it lacks is charged by the weight of the leaves' traffic, which
// may then be as old as the last settlement of the destination, as long as the
// leaves use it as they did: off by what other uplinks of theirs leave to it, of
// a loss that is small.
const nearlyAll = 0.98

// clear says whether all of a set of leaf l's next hops deliver (nearly) all to
// d, and lose no flow entirely.
func (q *Field) clear(d, l int32, set []uint64) bool {
	if q.imperfect[d] == 0 {
		return true
	}
	base := q.at(d, 0)
	for w, word := range set {
		for ; word != 0; word &= word - 1 {
			if here := base + int(q.f.Ports[l][w*64+bits.TrailingZeros64(word)].Peer); q.whole[here] || q.deliver[0][here] < nearlyAll {
				return false
			}
		}
	}
	return true
}

func isEmpty(set []uint64) bool {
	for _, w := range set {
		if w != 0 {
			return false
		}
	}
	return true
}

func (q *Field) setSpecial(d, l int32, on bool) {
	i := q.pair(d, l)
	if q.special[i] != on {
		q.special[i] = on
		if on {
			q.specials[d]++
		} else {
			q.specials[d]--
		}
	}
}

func (q *Field) postpone(d, l int32) {
	if i := q.pair(d, l); !q.isLater[i] && l != d {
		q.isLater[i] = true
		q.later[d] = append(q.later[d], l)
	}
}

// giveUplinks brings the part of d in the loads of l's uplinks up to date.
func (q *Field) giveUplinks(d, l int32) {
	for i, dir := range q.uplinks {
		if q.f.From(dir) == l {
			q.give(i, d, l)
		}
	}
}

func (q *Field) give(i int, d, l int32) {
	is := q.share(d, l, q.port(l, q.uplinks[i]>>1))
	if was := q.given[i][d]; was != is {
		q.load[i] += is - was
		q.given[i][d] = is
		q.UplinksChanged = true
	}
}

// uplinkChanged keeps the list of uplinks that do not pass everything.
func (q *Field) uplinkChanged(dir int32, good bool) {
	l := q.f.From(dir)
	i := slices.Index(q.uplinks, dir)
	switch {
	case good && i >= 0:
		q.uplinks, q.load, q.given = slices.Delete(q.uplinks, i, i+1), slices.Delete(q.load, i, i+1), slices.Delete(q.given, i, i+1)
		q.harmed[l]--
	case !good && i < 0:
		q.uplinks, q.load, q.given = append(q.uplinks, dir), append(q.load, 0), append(q.given, make([]int64, q.f.Leaves))
		q.harmed[l]++
		for d := range q.f.Leaves {
			q.give(len(q.uplinks)-1, int32(d), l)
			if i := q.pair(int32(d), l); !q.isUnsure[i] && d != int(l) {
				q.isUnsure[i] = true
				q.unsure[d] = append(q.unsure[d], l)
			}
		}
	}
	q.UplinksChanged = true
	port := q.port(l, dir>>1)
	for _, d := range q.bad {
		if set := q.table.Of(d, l); q.table.Has(d, l, port) && (q.special[q.pair(d, l)] || !q.clear(d, l, set)) {
			q.enqueue(d, l)
		}
	}
}

// share is how much of a leaf's traffic for d takes a port, if it is by the
// uplink that it is accounted.
func (q *Field) share(d, l, port int32) int64 {
	if q.special[q.pair(d, l)] || l == d || !q.table.Has(d, l, port) {
		return 0
	}
	k := 0
	for _, w := range q.table.Of(d, l) {
		k += bits.OnesCount64(w)
	}
	return int64(math.Round(weightUnit / float64(k)))
}

// Uplinks calls back for every uplink of a leaf that does not pass everything,
// with what it carries to destinations for which its leaf has no account of its
// own, in leaf pairs.
func (q *Field) Uplinks(visit func(dir int32, state *Direction, pairs float64)) {
	for i, dir := range q.uplinks {
		visit(dir, &q.dirs[dir], float64(q.load[i])/weightUnit)
	}
}

// classifyLeaves is called when d's routers have been settled: leaves become
// plain or special as it matters now.
func (q *Field) classifyLeaves(d int32) {
	if is := q.imperfect[d] > 0; is != q.isBad[d] {
		q.PlainChanged = true
		q.isBad[d] = is
		if is {
			q.bad = append(q.bad, d)
		} else {
			q.bad = slices.DeleteFunc(q.bad, func(x int32) bool { return x == d })
			q.release(d)
		}
	}
	if !q.isBad[d] {
		return
	}
	if q.lastRises[d] != q.rises[d] {
		q.lastRises[d] = q.rises[d]
		for _, l := range q.unsure[d] {
			q.isUnsure[q.pair(d, l)] = false
			q.postpone(d, l)
		}
		q.unsure[d] = q.unsure[d][:0]
	}
	list := q.later[d]
	q.later[d] = nil
	for _, l := range list {
		q.isLater[q.pair(d, l)] = false
		q.reclass(d, l)
	}
	if q.later[d] == nil {
		q.later[d] = list[:0]
	}
}

// release ends the accounts of special leaves of a destination to which all is
// delivered again.
func (q *Field) release(d int32) {
	for _, l := range q.later[d] { // their entries may have changed at this instant
		if isEmpty(q.table.Of(d, l)) || !q.alive[l] {
			q.leafOfSound(d, l)
		} else if q.harmed[l] > 0 {
			q.giveUplinks(d, l)
		}
	}
	for l := int32(0); q.specials[d] > 0 && int(l) < q.f.Leaves; l++ {
		if q.special[q.pair(d, l)] {
			q.leafOfSound(d, l)
		}
	}
}

// leafOfSound sees to a leaf whose entry for a destination to which all is
// delivered changed, and that had, or must have, an account of its own.
func (q *Field) leafOfSound(d, l int32) {
	if l == d {
		return
	}
	q.setSpecial(d, l, !q.alive[l] || isEmpty(q.table.Of(d, l)))
	q.postpone(d, l)
	q.addSource(l)
	if q.harmed[l] > 0 {
		q.giveUplinks(d, l)
	}
}

// reclass sees to it that leaf l is counted among the plain ones of d if it is
// plain, and is in Sources if it is or was not.
func (q *Field) reclass(d, l int32) {
	i := q.pair(d, l)
	set := q.table.Of(d, l)
	sure := q.Converged(d, l)
	for k, w := range set {
		sure = sure && w&^q.perfect[int(q.table.Offset[l])+k] == 0
	}
	plain := l != d && q.alive[l] && q.alive[d] && !isEmpty(set) && (sure || q.clear(d, l, set))
	if plain && !sure && !q.isUnsure[i] {
		q.isUnsure[i] = true
		q.unsure[d] = append(q.unsure[d], l)
	}
	if q.counted[i] {
		q.count(d, l, q.countedSet[i*q.words:(i+1)*q.words], -1)
		q.counted[i] = false
	}
	was := q.special[i]
	q.setSpecial(d, l, !plain && l != d)
	if plain {
		q.addCount(d, l)
	}
	if was || q.special[i] {
		q.addSource(l)
	}
	if q.harmed[l] > 0 {
		q.giveUplinks(d, l)
	}
}

func (q *Field) addCount(d, l int32) {
	i := q.pair(d, l)
	set := q.table.Of(d, l)
	copy(q.countedSet[i*q.words:(i+1)*q.words], set)
	q.count(d, l, set, 1)
	q.counted[i] = true
}

// count adds a leaf's traffic to the weight of its next hops, or takes it off.
func (q *Field) count(d, l int32, set []uint64, sign int64) {
	k := 0
	for _, w := range set {
		k += bits.OnesCount64(w)
	}
	if k == 0 {
		return
	}
	each := sign * int64(math.Round(weightUnit/float64(k)))
	n := len(q.f.Routers)
	weight := q.weight[int(d)*n : (int(d)+1)*n]
	marred := false
	for w, word := range set {
		for ; word != 0; word &= word - 1 {
			peer := q.f.Ports[l][w*64+bits.TrailingZeros64(word)].Peer
			weight[peer] += each
			marred = marred || q.blemished(q.at(d, peer))
		}
	}
	q.PlainChanged = q.PlainChanged || marred
}

// Arrives returns the share that is delivered from a leaf to d in a plane, as
// last asked for; all of it for a leaf without an account of its own.
func (q *Field) Arrives(plane int, source, d int32) float64 {
	if !q.Special(d, source) {
		return 1
	}
	return q.deliver[plane][q.at(d, source)]
}

// Special says whether leaf l has an account of its own for destination d.
func (q *Field) Special(d, l int32) bool { return !q.on || q.special[q.pair(d, l)] }

// leafDelivers is what a special leaf delivers, found when it is asked for.
func (q *Field) leafDelivers(d, l int32) {
	set := q.table.Of(d, l)
	here := q.at(d, l)
	switch {
	case l == d && q.alive[d]:
		q.set(here, q.loss.ones[:q.planes], false)
	case isEmpty(set) || !q.alive[l] || !q.alive[d]:
		q.set(here, q.loss.zeros[:q.planes], true)
	default:
		sums := q.loss.sums[:q.planes]
		whole := q.mix(d, l, set, sums)
		q.set(here, sums, whole)
	}
}

func (q *Field) set(here int, values []float64, whole bool) {
	q.whole[here] = whole
	for i, plane := range q.deliver {
		plane[here] = values[i]
	}
}

// Plain calls back for every router that plain leaves send traffic for d to and
// that does not deliver all of it, with the traffic in leaves' worth.
func (q *Field) Plain(d int32, visit func(x int32, weight float64)) {
	slices.Sort(q.marred[d]) // so that the order of sums is always the same
	for _, x := range q.marred[d] {
		if w := q.weight[q.at(d, x)]; w != 0 {
			visit(x, float64(w)/weightUnit)
		}
	}
}

// WholeAt says whether some flow for d that is at router x is lost entirely.
func (q *Field) WholeAt(d, x int32) bool { return q.whole[q.at(d, x)] }
