// Package pairs keeps which ordered pairs of leaves something has happened to, each once.
package pairs

import (
	"math/bits"

	"halflight/sim/kernel"
)

// Set is a set of ordered pairs of leaves. Of a destination's sources 64 lie in a word;
// leaves all of whose pairs are in the set are kept apart.
type Set struct {
	from, to []uint64 // leaves all of whose pairs are in the set, as sources and as destinations; nil for none
	keys     []uint64 // open addressing: a destination and a word of sources, plus one; 0 for none
	sources  []uint64 // by place in keys
	used     int
}

// Add adds the pairs of a destination with sources of one word: bit i is source 64 x word + i.
func (p *Set) Add(d int32, word int, sources uint64) {
	if 2*p.used >= len(p.keys) {
		p.keys, p.sources = grown(p.keys, p.sources)
	}
	key := keyOf(d, word)
	i := place(p.keys, key)
	if p.keys[i] == 0 {
		p.keys[i] = key
		p.used++
	}
	p.sources[i] |= sources
}

// Has says whether the pairs of a destination with all of these sources are in the set.
func (p *Set) Has(d int32, word int, sources uint64) bool {
	if p.to != nil && p.to[d>>6]>>(d&63)&1 != 0 {
		return true
	}
	if p.from != nil {
		sources &^= p.from[word]
	}
	if p.used > 0 {
		if i := place(p.keys, keyOf(d, word)); p.keys[i] != 0 {
			sources &^= p.sources[i]
		}
	}
	return sources == 0
}

// AddFrom adds all pairs of a source; leaves is how many there are.
func (p *Set) AddFrom(s int32, leaves int) { p.from = with(p.from, s, leaves) }

// AddTo adds all pairs of a destination.
func (p *Set) AddTo(d int32, leaves int) { p.to = with(p.to, d, leaves) }

func with(list []uint64, leaf int32, leaves int) []uint64 {
	if list == nil {
		list = make([]uint64, (leaves+63)/64)
	}
	list[leaf>>6] |= 1 << (leaf & 63)
	return list
}

// Count is how many pairs the set holds. A leaf and itself are none.
func (p *Set) Count(leaves int) int {
	from, to, both := 0, 0, 0
	for _, w := range p.from {
		from += bits.OnesCount64(w)
	}
	for i, w := range p.to {
		to += bits.OnesCount64(w)
		if p.from != nil {
			both += bits.OnesCount64(w & p.from[i])
		}
	}
	// To each of "to" come all others, to each of the rest all of "from" but itself.
	n := to*(leaves-1) + (leaves-to)*from - (from - both)
	for i, key := range p.keys {
		if key == 0 {
			continue
		}
		d, word := int32((key-1)>>32), int(uint32(key-1))
		if p.to != nil && p.to[d>>6]>>(d&63)&1 != 0 {
			continue
		}
		sources := p.sources[i]
		if p.from != nil {
			sources &^= p.from[word]
		}
		if int(d>>6) == word {
			sources &^= 1 << (d & 63)
		}
		n += bits.OnesCount64(sources)
	}
	return n
}

func keyOf(d int32, word int) uint64 { return uint64(d)<<32 | uint64(word) + 1 }

// place is where a key is among others, or would be.
func place(keys []uint64, key uint64) int {
	mask := len(keys) - 1
	for i := int(kernel.Mix(key)) & mask; ; i = (i + 1) & mask {
		if k := keys[i]; k == key || k == 0 {
			return i
		}
	}
}

// grown is twice the room for keys and what belongs to each.
func grown[V any](keys []uint64, values []V) ([]uint64, []V) {
	n := max(8, 2*len(keys))
	more, moved := make([]uint64, n), make([]V, n)
	for i, key := range keys {
		if key != 0 {
			k := place(more, key)
			more[k], moved[k] = key, values[i]
		}
	}
	return more, moved
}
