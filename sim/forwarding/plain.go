package forwarding

import "math"

// When leaves never carry the traffic of others, most of them are plain: their
// entry is the converged one and all its next hops can be reached unharmed.
// What a plain leaf loses it loses beyond its next hops, so the plain leaves of
// a destination need not be told apart: it is enough to know how much of their
// traffic each of their next hops gets. The other leaves are special and each
// has its own account.

// weightUnit is the weight of a whole leaf's traffic to one destination.
const weightUnit = 1 << 40

// SetAside has plain leaves put together. It must be called before the first
// change.
func (q *Field) SetAside() {
	n := q.f.Leaves
	q.aside = true
	q.special = make([]bool, n*n)
	q.weight = make([]int64, n*len(q.f.Routers))
	q.counted = make([]bool, n*n)
	words := 0
	for l := range n {
		words = max(words, int(q.table.Words[l]))
	}
	q.countedSet = make([]uint64, n*n*words)
	q.countedWords = words
	for d := range n {
		for l := range n {
			q.reclass(int32(d), int32(l))
		}
	}
	q.PlainChanged = false
	q.Sources = q.Sources[:0]
}

// reclass sees to it that leaf l is counted among the plain ones of d if it is
// plain, and is in Sources if it is or was not.
func (q *Field) reclass(d, l int32) {
	i := int(d)*q.f.Leaves + int(l)
	set := q.table.Of(d, l)
	plain := l != d && q.alive[l] && q.alive[d] && q.Converged(d, l)
	empty := true
	for k, w := range set {
		empty = empty && w == 0
		plain = plain && w&^q.perfect[int(q.table.Offset[l])+k] == 0
	}
	plain = plain && !empty
	if q.counted[i] {
		q.count(d, l, q.countedSet[i*q.countedWords:(i+1)*q.countedWords], -1)
		q.counted[i] = false
		q.PlainChanged = true
	}
	was := q.special[i]
	q.special[i] = !plain && l != d
	if plain {
		copy(q.countedSet[i*q.countedWords:(i+1)*q.countedWords], set)
		q.count(d, l, set, 1)
		q.counted[i] = true
		q.PlainChanged = true
	}
	if was || q.special[i] {
		q.addSource(l)
	}
}

// count adds a leaf's traffic to the weight of its next hops, or takes it off.
func (q *Field) count(d, l int32, set []uint64, sign int64) {
	q.hops = ports(set, q.hops[:0])
	each := sign * int64(math.Round(weightUnit/float64(len(q.hops))))
	for _, p := range q.hops {
		q.weight[q.at(d, q.f.Ports[l][p].Peer)] += each
	}
}

// Arrives returns the share that is delivered from a leaf to d in a plane, as
// last asked for; all of it for a plain leaf.
func (q *Field) Arrives(plane int, source, d int32) float64 {
	if !q.Special(d, source) {
		return 1
	}
	return q.deliver[plane][q.at(d, source)]
}

// Special says whether leaf l has an account of its own for destination d.
func (q *Field) Special(d, l int32) bool { return !q.aside || q.special[int(d)*q.f.Leaves+int(l)] }

// leafDelivers is what a special leaf delivers, found when it is asked for.
func (q *Field) leafDelivers(d, l int32) {
	set := q.table.Of(d, l)
	here := q.at(d, l)
	empty := true
	for _, w := range set {
		empty = empty && w == 0
	}
	switch {
	case l == d && q.alive[d]:
		q.set(here, q.loss.ones[:q.planes], false)
	case empty || !q.alive[l] || !q.alive[d]:
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
	if q.imperfect[d] == 0 {
		return
	}
	for x := q.f.Leaves; x < len(q.f.Routers); x++ {
		if i := q.at(d, int32(x)); q.weight[i] != 0 && q.blemished(i) {
			visit(int32(x), float64(q.weight[i])/weightUnit)
		}
	}
}

// WholeAt says whether some flow for d that is at router x is lost entirely.
func (q *Field) WholeAt(d, x int32) bool { return q.whole[q.at(d, x)] }
