package hearing

import "math/bits"

// Routers is a set of routers, a bit each; nil is the empty set.
type Routers []uint64

// Add adds a router, of so many. It says whether the set did not hold it.
func (r *Routers) Add(x int32, routers int) bool {
	if *r == nil {
		*r = make(Routers, (routers+63)/64)
	}
	word, bit := &(*r)[x>>6], uint64(1)<<(x&63)
	isNew := *word&bit == 0
	*word |= bit
	return isNew
}

// Count is how many routers the set holds.
func (r Routers) Count() int32 {
	n := 0
	for _, word := range r {
		n += bits.OnesCount64(word)
	}
	return int32(n)
}
