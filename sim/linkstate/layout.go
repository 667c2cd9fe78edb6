package linkstate

import (
	"math/bits"

	"halflight/model/fabric"
	"halflight/sim/kernel"
)

// Layout says where the next-hop set of a router for a destination lies: a bit
// for each of the router's ports, in link order, in one or more 64-bit words;
// all routers of one destination side by side.
type Layout struct {
	Routers, Leaves int
	Stride          int     // words of one destination
	Offset          []int32 // first word of a router
	Words           []int32 // words of a router
}

// NewLayout returns the layout for a fabric.
func NewLayout(f *fabric.Fabric) *Layout {
	l := &Layout{Routers: len(f.Routers), Leaves: f.Leaves}
	for x := range f.Routers {
		n := max(1, (len(f.Ports[x])+63)/64)
		l.Offset = append(l.Offset, int32(l.Stride))
		l.Words = append(l.Words, int32(n))
		l.Stride += n
	}
	return l
}

// Sets is a next-hop set for every destination and router.
type Sets struct {
	*Layout
	Bits []uint64
}

// NewSets returns empty sets.
func NewSets(l *Layout) Sets { return Sets{l, kernel.Large[uint64](l.Stride * l.Leaves)} }

// Of returns the words of router x's next-hop set for destination d.
func (s Sets) Of(d, x int32) []uint64 {
	i := int(d)*s.Stride + int(s.Offset[x])
	return s.Bits[i : i+int(s.Words[x]) : i+int(s.Words[x])]
}

// Has says whether port is in the set.
func (s Sets) Has(d, x, port int32) bool {
	return s.Bits[int(d)*s.Stride+int(s.Offset[x]+port>>6)]>>(port&63)&1 != 0
}

func (s Sets) word(d, x, port int32) *uint64 {
	return &s.Bits[int(d)*s.Stride+int(s.Offset[x]+port>>6)]
}

// HopsIn is how many next hops are in a set.
func HopsIn(set []uint64) int {
	k := 0
	for _, w := range set {
		k += bits.OnesCount64(w)
	}
	return k
}

// IsEmpty says whether a set has no next hop.
func IsEmpty(set []uint64) bool {
	for _, w := range set {
		if w != 0 {
			return false
		}
	}
	return true
}

func same(a, b []uint64) bool {
	for i, w := range a {
		if w != b[i] {
			return false
		}
	}
	return true
}
