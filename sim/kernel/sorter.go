package kernel

import (
	"math/bits"
	"slices"
)

// Sorter puts things into order by a key of 64 bits each. It is used again and again,
// and keeps its memory.
type Sorter struct {
	keys  []uint64
	moved []uint64
	order []int32
}

// few is how many things are put in order by moving each to its place.
const few = 12

// Order returns the places 0 to n-1 in order of their keys, none of which is more than
// most (it would come in a wrong place); less decides between those whose keys begin
// alike, and must agree with the keys. What is returned holds until the next call.
func (s *Sorter) Order(n int, most uint64, key func(i int) uint64, less func(i, j int32) bool) []int32 {
	s.keys, s.order = slices.Grow(s.keys[:0], n)[:n], slices.Grow(s.order[:0], n)[:n]
	if n <= few {
		for i := range s.order {
			s.order[i] = int32(i)
		}
		s.settle(0, n, less)
		return s.order
	}
	up, low := bits.LeadingZeros64(most|1), uint64(1)<<bits.Len(uint(n))-1
	for i := range s.keys { // the place stands in the bits that matter least
		s.keys[i] = key(i)<<up&^low | uint64(i)
	}
	s.sort()
	from := 0
	for i, k := range s.keys {
		if s.order[i] = int32(k & low); k|low != s.keys[from]|low {
			s.settle(from, i, less)
			from = i
		}
	}
	s.settle(from, n, less)
	return s.order
}

// sort puts the keys in order: by their first eight bits, and then those that have the
// same.
func (s *Sorter) sort() {
	const first = 56
	var count [257]int32
	for _, k := range s.keys {
		count[k>>first+1]++
	}
	for i := range 256 {
		count[i+1] += count[i]
	}
	s.moved = slices.Grow(s.moved[:0], len(s.keys))[:len(s.keys)]
	for _, k := range s.keys {
		at := &count[k>>first]
		s.moved[*at] = k
		*at++
	}
	s.keys, s.moved = s.moved, s.keys
	from := int32(0)
	for _, to := range count[:256] {
		if to-from > 1 {
			slices.Sort(s.keys[from:to])
		}
		from = to
	}
}

// settle puts places whose keys begin alike into order.
func (s *Sorter) settle(from, to int, less func(i, j int32) bool) {
	if to-from > few {
		slices.SortFunc(s.order[from:to], func(i, j int32) int {
			switch {
			case less(i, j):
				return -1
			case less(j, i):
				return 1
			}
			return int(i - j)
		})
		return
	}
	for i := from + 1; i < to; i++ {
		for j := i; j > from && less(s.order[j], s.order[j-1]); j-- {
			s.order[j], s.order[j-1] = s.order[j-1], s.order[j]
		}
	}
}
