// Package wander says what becomes of flows among routers that send to one another, which
// are so many that ways cannot be followed one by one. A flow's choice at each router is
// fixed, so it goes round for ever once it comes back to one that it has seen: what
// counts are ways without a router twice. Routers that send alike and are sent to
// alike make a breed, and it matters only how many of each breed a way has seen.
//
// It knows nothing of destinations, tables and faults. It is tested by listing every way.
package wander

import (
	"cmp"
	"slices"
)

// most is how many bundles of ways, told apart by what they have seen, are followed at a
// time. Where no two routers are alike there may be more: the rest, those that carry
// least, counts as looped.
const most = 4096

// Breed is routers that have the same next hops, over directions that pass the same, and
// from which the same routers send to them.
type Breed struct {
	Routers []int32
	Hops    float64 // next hops of each, those that lead elsewhere included
	Late    bool    // the first breed on a way that is late is told
	To      []Hop
}

// Hop is a next hop to each router of a breed.
type Hop struct {
	Breed int
	Pass  []float64 // by plane: the share that passes
}

// Way is all ways that have seen the same number of routers of each breed and are at
// one of them now.
type Way struct {
	seen  [4]uint64 // numbers of each breed, packed
	At    int32     // breed
	First int32     // breed of the first router that is late; none yet, or that of the start
}

// What a way's First is when it is no breed.
const NoFirst, StartFirst = -1, -2

// Packing says where in Way.seen the number of each breed is.
type Packing struct{ at, bits []int }

// Pack returns false if the numbers do not fit.
func Pack(list []Breed) (p Packing, ok bool) {
	at := 0
	for i := range list {
		bits := 1
		for 1<<bits <= len(list[i].Routers) {
			bits++
		}
		if at>>6 != (at+bits-1)>>6 {
			at = (at>>6 + 1) << 6
		}
		p.at, p.bits = append(p.at, at), append(p.bits, bits)
		at += bits
	}
	return p, at <= 4*64
}

func (p Packing) of(w *Way, breed int) int {
	return int(w.seen[p.at[breed]>>6] >> (p.at[breed] & 63) & (1<<p.bits[breed] - 1))
}

// bundle is ways that have seen as many routers, with what is left of what began.
type bundle struct {
	ways  []Way
	left  []float64 // by way and plane
	slots []int32   // place in ways plus one, by hash; a power of two of them
}

// begin empties a bundle.
func (b *bundle) begin() {
	b.ways, b.left = b.ways[:0], b.left[:0]
	b.resize(64)
}

// resize makes so many slots, all free.
func (b *bundle) resize(n int) {
	b.slots = slices.Grow(b.slots[:0], n)[:n]
	clear(b.slots)
}

// add adds a way, together with those that are alike.
func (b *bundle) add(w *Way, left []float64) {
	i := b.find(w)
	if at := b.slots[i]; at > 0 {
		for k := range left {
			b.left[int(at-1)*len(left)+k] += left[k]
		}
		return
	}
	b.ways, b.left = append(b.ways, *w), append(b.left, left...)
	b.slots[i] = int32(len(b.ways))
	if 2*len(b.ways) > len(b.slots) {
		b.resize(2 * len(b.slots))
		for i := range b.ways {
			b.slots[b.find(&b.ways[i])] = int32(i + 1)
		}
	}
}

// find is the slot that a way is in, or is to be.
func (b *bundle) find(w *Way) int {
	h := uint64(uint32(w.At))<<32 | uint64(uint32(w.First))
	for _, v := range w.seen {
		h = (h ^ v) * 0x9e3779b97f4a7c15 // 2^64 over the golden ratio
		h ^= h >> 29
	}
	for i := int(h) & (len(b.slots) - 1); ; i = (i + 1) & (len(b.slots) - 1) {
		if at := b.slots[i]; at == 0 || b.ways[at-1] == *w {
			return i
		}
	}
}

// atMost keeps so many ways, those of which most is left in plane 0, and calls each for
// the others.
func (b *bundle) atMost(n, planes int, each func(w *Way, left float64)) {
	if len(b.ways) <= n {
		return
	}
	order := make([]int, len(b.ways))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(b.left[j*planes], b.left[i*planes]) })
	for _, i := range order[n:] {
		each(&b.ways[i], b.left[i*planes])
	}
	kept, left := make([]Way, 0, n), make([]float64, 0, n*planes)
	for _, i := range order[:n] {
		kept, left = append(kept, b.ways[i]), append(left, b.left[i*planes:(i+1)*planes]...)
	}
	b.ways, b.left = kept, left // its slots are of no more use
}

// Room is working memory: ways that are a router apart.
type Room struct {
	now, next   bundle
	here, there means
	zeros       []float64
	left        []float64
}

// Follow follows what begins at a router of breed start, over so many planes. It calls
// each for every bundle of ways, with what is left of it by plane, and the share that
// comes back to a router from there, by plane 0. What each is given is valid only so long.
func (b *Room) Follow(list []Breed, p Packing, start, planes int, each func(w *Way, left []float64, looped float64)) {
	for len(b.zeros) < planes {
		b.zeros, b.left = append(b.zeros, 0), append(b.left, 0)
	}
	one := Way{At: int32(start), First: NoFirst}
	one.seen[p.at[start]>>6] += 1 << (p.at[start] & 63)
	if list[start].Late {
		one.First = StartFirst
	}
	for k := range planes {
		b.left[k] = 1
	}
	b.now.begin()
	for b.now.add(&one, b.left[:planes]); len(b.now.ways) > 0; b.now, b.next = b.next, b.now {
		b.next.begin()
		for i := range b.now.ways {
			w, had := &b.now.ways[i], b.now.left[i*planes:(i+1)*planes]
			from := &list[w.At]
			looped := 0.0
			for j := range from.To {
				h := &from.To[j]
				there := len(list[h.Breed].Routers)
				seen := p.of(w, h.Breed)
				looped += float64(float64(had[0]*h.Pass[0])*float64(seen)) / from.Hops
				if seen == there {
					continue
				}
				left, some := b.left[:planes], false
				for k := range left {
					left[k] = float64(float64(had[k]*h.Pass[k])*float64(there-seen)) / from.Hops
					some = some || left[k] > 0
				}
				if !some {
					continue
				}
				on := Way{w.seen, int32(h.Breed), w.First}
				on.seen[p.at[h.Breed]>>6] += 1 << (p.at[h.Breed] & 63)
				if on.First == NoFirst && list[h.Breed].Late {
					on.First = int32(h.Breed)
				}
				b.next.add(&on, left)
			}
			each(w, had, looped)
		}
		b.next.atMost(most, planes, func(w *Way, left float64) { each(w, b.zeros[:planes], left) })
	}
}
