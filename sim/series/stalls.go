package series

// A server on one leaf has no other way while that is dark: synchronous jobs stand
// still after more than 9 s, and are lost after 2 min, while they still recover
// from 1 min (Qian et al., SIGCOMM 2024, section 9.3).
const (
	stallsAfter = 9_000_000_000
	lostAfter   = 120_000_000_000
)

// Stalls counts, over the measured window, leaves that were dark for so long.
type Stalls struct {
	Count, Lost int64

	from  int64
	since []int64 // by leaf: dark since; -1 alive
}

// NewStalls returns a count of none, in a window that begins at from.
func NewStalls(leaves int, from int64) Stalls {
	s := Stalls{from: from, since: make([]int64, leaves)}
	for i := range s.since {
		s.since[i] = -1
	}
	return s
}

// Set notes whether a leaf is dark. Again the same changes nothing.
func (s *Stalls) Set(leaf int32, dark bool, now int64) {
	if dark == (s.since[leaf] >= 0) {
		return
	}
	if dark {
		s.since[leaf] = now
		return
	}
	s.end(leaf, now)
}

// end is the end of a dark time. One that began before the window counts as long as
// it lasted in it.
func (s *Stalls) end(leaf int32, now int64) {
	switch dark := now - max(s.since[leaf], s.from); {
	case dark > lostAfter:
		s.Lost++
		fallthrough
	case dark > stallsAfter:
		s.Count++
	}
	s.since[leaf] = -1
}

// Horizon ends what is still dark.
func (s *Stalls) Horizon(until int64) {
	for x := range s.since {
		if s.since[x] >= 0 {
			s.end(int32(x), until)
		}
	}
}
