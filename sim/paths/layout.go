package paths

import (
	"math/bits"

	"halflight/model/fabric"
	"halflight/sim/kernel"
)

// Layout says where the words of a router's next-hop set lie among those of all
// routers: a bit for each of the router's ports, in link order, in one or more
// 64-bit words. It also holds the distinct sets there are.
type Layout struct {
	Routers, Leaves int
	Stride          int     // words of all routers
	Offset          []int32 // first word of a router
	Words           []int32 // words of a router
	distinct        *kernel.Distinct
	row             []uint64 // working memory
}

// NewLayout returns the layout for a fabric.
func NewLayout(f *fabric.Fabric) *Layout {
	l := &Layout{Routers: len(f.Routers), Leaves: f.Leaves}
	wide := 0
	for x := range f.Routers {
		n := max(1, (len(f.Ports[x])+63)/64)
		l.Offset = append(l.Offset, int32(l.Stride))
		l.Words = append(l.Words, int32(n))
		l.Stride += n
		wide = max(wide, n)
	}
	l.distinct, l.row = kernel.NewDistinct(wide), make([]uint64, wide)
	return l
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

// Same says whether two sets of one router are alike.
func Same(a, b []uint64) bool {
	for i, w := range a {
		if w != b[i] {
			return false
		}
	}
	return true
}
