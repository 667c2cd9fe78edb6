package forwarding

import (
	"math"
	"math/bits"
	"slices"
)

// When leaves never carry the traffic of others they need not all be told
// apart. A destination to which every router above the leaves delivers all is
// sound: traffic for it is lost only on a leaf's own uplinks, by the same share
// for every sound destination, and what an uplink carries is known by sum. To a
// destination that is not sound most leaves are plain: their entry is the
// converged one and all its next hops can be reached unharmed. What they lose
// they lose beyond their next hops, and it is enough to know how much of their
// traffic each of those gets. The other leaves are special and each has its own
// account, as have dead leaves and those without a next hop.

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
	unsound    []bool  // by destination, as classified last
	bad        []int32 // destinations that are not sound
	later      [][]int32
	isLater    []bool // by destination and leaf: to be classified when it matters

	uplinks []int32 // directions sent by leaves that do not pass everything
	load    []int64 // by place in uplinks
	stale   []bool  // by place in uplinks: load must be found anew
	harmed  []int32 // by leaf: how many of its uplinks are among them

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
	q.unsound, q.later, q.harmed = make([]bool, n), make([][]int32, n), make([]int32, n)
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

// leafChanged says whether a change of leaf l's entry for d can wait until d is
// not sound.
func (q *Field) leafChanged(d, l int32) bool {
	if q.unsound[d] || q.special[q.pair(d, l)] || isEmpty(q.table.Of(d, l)) || l == d {
		return false
	}
	q.postpone(d, l)
	if q.harmed[l] > 0 {
		q.touchUplinks(l)
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

func (q *Field) touchUplinks(l int32) {
	for i, dir := range q.uplinks {
		if q.f.From(dir) == l {
			q.stale[i], q.UplinksChanged = true, true
		}
	}
}

// uplinkChanged keeps the list of uplinks that do not pass everything.
func (q *Field) uplinkChanged(dir int32, good bool) {
	l := q.f.From(dir)
	i := slices.Index(q.uplinks, dir)
	switch {
	case good && i >= 0:
		q.uplinks, q.load, q.stale = slices.Delete(q.uplinks, i, i+1), slices.Delete(q.load, i, i+1), slices.Delete(q.stale, i, i+1)
		q.harmed[l]--
	case !good && i < 0:
		q.uplinks, q.load, q.stale = append(q.uplinks, dir), append(q.load, 0), append(q.stale, true)
		q.harmed[l]++
	}
	q.UplinksChanged = true
	port := q.port(l, dir>>1)
	for _, d := range q.bad {
		if q.table.Has(d, l, port) {
			q.enqueue(d, l)
		}
	}
}

// share is how much of a leaf's traffic for d takes a port, if it is by the
// uplink that it is accounted.
func (q *Field) share(d, l, port int32) int64 {
	if q.unsound[d] || q.special[q.pair(d, l)] || l == d || !q.table.Has(d, l, port) {
		return 0
	}
	k := 0
	for _, w := range q.table.Of(d, l) {
		k += bits.OnesCount64(w)
	}
	return int64(math.Round(weightUnit / float64(k)))
}

// Uplinks calls back for every uplink of a leaf that does not pass everything,
// with what it carries to sound destinations, in leaf pairs.
func (q *Field) Uplinks(visit func(dir int32, state *Direction, pairs float64)) {
	for i, dir := range q.uplinks {
		if q.stale[i] {
			q.stale[i], q.load[i] = false, 0
			l := q.f.From(dir)
			port := q.port(l, dir>>1)
			for d := range q.f.Leaves {
				q.load[i] += q.share(int32(d), l, port)
			}
		}
		visit(dir, &q.dirs[dir], float64(q.load[i])/weightUnit)
	}
}

// swing moves the traffic for d between the accounts of uplinks and others.
func (q *Field) swing(d int32, sign int64) {
	for i, dir := range q.uplinks {
		if !q.stale[i] {
			l := q.f.From(dir)
			q.load[i] += sign * q.share(d, l, q.port(l, dir>>1))
		}
		q.UplinksChanged = true
	}
}

// classifyLeaves is called when d's routers have been settled: leaves become
// plain or special as it matters now.
func (q *Field) classifyLeaves(d int32) {
	is := q.imperfect[d] > 0
	if is != q.unsound[d] {
		q.PlainChanged = true
		if is {
			q.swing(d, -1)
			q.unsound[d] = true
			q.bad = append(q.bad, d)
			for _, dir := range q.uplinks {
				q.postpone(d, q.f.From(dir))
			}
		} else {
			q.unsound[d] = false
			q.bad = slices.DeleteFunc(q.bad, func(x int32) bool { return x == d })
			q.release(d)
			q.swing(d, 1)
		}
	}
	if !is {
		return
	}
	for _, l := range q.later[d] {
		q.isLater[q.pair(d, l)] = false
		q.reclass(d, l)
	}
	q.later[d] = q.later[d][:0]
}

// release ends the accounts of special leaves of a destination that is sound.
func (q *Field) release(d int32) {
	for l := int32(0); int(l) < q.f.Leaves; l++ {
		if i := q.pair(d, l); q.special[i] {
			q.setSpecial(d, l, !q.alive[l] || isEmpty(q.table.Of(d, l)))
			q.postpone(d, l)
			q.addSource(l)
		}
	}
}

// leafOfSound sees to a leaf whose entry for a sound destination changed and
// that had, or must have, an account of its own.
func (q *Field) leafOfSound(d, l int32) {
	if l == d {
		return
	}
	q.setSpecial(d, l, !q.alive[l] || isEmpty(q.table.Of(d, l)))
	q.postpone(d, l)
	q.addSource(l)
	if q.harmed[l] > 0 {
		q.touchUplinks(l)
	}
}

// reclass sees to it that leaf l is counted among the plain ones of d if it is
// plain, and is in Sources if it is or was not.
func (q *Field) reclass(d, l int32) {
	i := q.pair(d, l)
	set := q.table.Of(d, l)
	plain := l != d && q.alive[l] && q.alive[d] && !isEmpty(set) && q.Converged(d, l)
	for k, w := range set {
		plain = plain && w&^q.perfect[int(q.table.Offset[l])+k] == 0
	}
	if q.counted[i] {
		q.count(d, l, q.countedSet[i*q.words:(i+1)*q.words], -1)
		q.counted[i] = false
		q.PlainChanged = true
	}
	was := q.special[i]
	q.setSpecial(d, l, !plain && l != d)
	if plain {
		q.addCount(d, l)
		q.PlainChanged = true
	}
	if was || q.special[i] {
		q.addSource(l)
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
	weight := q.weight[int(d)*len(q.f.Routers):]
	for w, word := range set {
		for ; word != 0; word &= word - 1 {
			weight[q.f.Ports[l][w*64+bits.TrailingZeros64(word)].Peer] += each
		}
	}
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
