package kernel

// Shorts gives room to many lists that are empty or short most of the time. The room of
// short ones lies together, in the order of the lists; one that grew is lent to the next
// list that does, once it is no longer needed.
type Shorts[T any] struct {
	short int
	room  []T
	spare [][]T
}

// NewShorts returns the room for so many lists, of which short ones have so many elements
// at most.
func NewShorts[T any](lists, short int) *Shorts[T] {
	return &Shorts[T]{short: short, room: make([]T, lists*short)}
}

// Empty returns list i with nothing in it. What it was, if not nil, is given up.
func (s *Shorts[T]) Empty(i int, was []T) []T {
	if cap(was) > s.short {
		s.spare = append(s.spare, was[:0])
	}
	return s.room[i*s.short : i*s.short : (i+1)*s.short]
}

// Append is the built-in append to one of the lists.
func (s *Shorts[T]) Append(list []T, v T) []T {
	if n := len(s.spare); n > 0 && len(list) == s.short && cap(list) == s.short {
		list = append(s.spare[n-1], list...)
		s.spare = s.spare[:n-1]
	}
	return append(list, v)
}
