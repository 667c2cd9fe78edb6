package paths

import "halflight/sim/kernel"

// Sets is a next-hop set for every destination and router. Few of them differ, so
// each distinct set is kept once for a layout, and an entry is its number: a
// quarter of the memory of a word, or less. A set is never written to: who changes
// an entry gives it the number of another set.
type Sets struct {
	*Layout
	*kernel.Numbers
}

// NewSets returns empty sets.
func NewSets(l *Layout) Sets { return Sets{l, l.distinct.Numbers(l.Routers * l.Leaves)} }

// place is where the words of an entry begin.
func (s Sets) place(d, x int32) int { return s.Numbers.Of(int(d)*s.Routers+int(x)) * s.distinct.Wide }

// Of returns the words of router x's next-hop set for destination d. They are not
// to be written to, and stay as they are when the entry becomes another.
func (s Sets) Of(d, x int32) []uint64 {
	n := s.Numbers.Of(int(d)*s.Routers + int(x))
	if s.distinct.Wide == 1 {
		return s.distinct.Words[n : n+1]
	}
	return s.distinct.Words[n*s.distinct.Wide:][:s.Words[x]]
}

// Same says whether an entry is as in another table of the same layout.
func (s Sets) Same(other Sets, d, x int32) bool {
	i := int(d)*s.Routers + int(x)
	return s.Numbers.Of(i) == other.Numbers.Of(i)
}

// Has says whether port is in the set.
func (s Sets) Has(d, x, port int32) bool {
	return s.distinct.Words[s.place(d, x)+int(port>>6)]>>(port&63)&1 != 0
}

// Put makes x's entry for d another set.
func (s Sets) Put(d, x int32, set []uint64) {
	s.Numbers.Put(int(d)*s.Routers+int(x), s.distinct.Number(set))
}

// add puts a port into an entry.
func (s Sets) add(d, x, port int32) {
	if s.distinct.Wide == 1 {
		i := int(d)*s.Routers + int(x)
		s.Numbers.Put(i, s.distinct.NumberOfOne(s.distinct.Words[s.Numbers.Of(i)]|1<<port))
		return
	}
	row := append(s.row[:0], s.Of(d, x)...)
	row[port>>6] |= 1 << (port & 63)
	s.Put(d, x, row)
}

// take takes a port out of an entry, and says whether that leaves it empty.
func (s Sets) Take(d, x, port int32) bool {
	if s.distinct.Wide == 1 {
		i := int(d)*s.Routers + int(x)
		w := s.distinct.Words[s.Numbers.Of(i)] &^ (1 << port)
		s.Numbers.Put(i, s.distinct.NumberOfOne(w))
		return w == 0
	}
	row := append(s.row[:0], s.Of(d, x)...)
	row[port>>6] &^= 1 << (port & 63)
	s.Put(d, x, row)
	return IsEmpty(row)
}

// Copy makes all entries those of others of the same layout.
func (s Sets) Copy(from Sets) { s.Numbers.Copy(from.Numbers) }
