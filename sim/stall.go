package sim

// A server on one leaf has no other way while that is dark: synchronous jobs stand
// still after more than 9 s, and are lost after 2 min, while they still recover
// from 1 min (Qian et al., SIGCOMM 2024, section 9.3).
const (
	stallsAfter = 9_000_000_000
	lostAfter   = 120_000_000_000
)

// stalls counts, over the measured window, leaves that were dark for so long.
type stalls struct {
	since        []int64 // by leaf: dark since; -1 alive
	stalls, lost int64
}

func newStalls(leaves int) stalls {
	s := stalls{since: make([]int64, leaves)}
	for i := range s.since {
		s.since[i] = -1
	}
	return s
}

// leafDark notes that a router went dark or is back.
func (e *engine) leafDark(x int32, dark bool) {
	c := e.chance
	if c == nil || int(x) >= e.f.Leaves || dark == (c.stalls.since[x] >= 0) {
		return
	}
	if dark {
		c.stalls.since[x] = e.now
		return
	}
	c.stalls.end(x, e.now, e.w.WarmUp)
}

// end is the end of a dark time. One that began before the window counts as long as
// it lasted in it.
func (s *stalls) end(x int32, now, from int64) {
	switch dark := now - max(s.since[x], from); {
	case dark > lostAfter:
		s.lost++
		fallthrough
	case dark > stallsAfter:
		s.stalls++
	}
	s.since[x] = -1
}

// horizon ends what is still dark.
func (s *stalls) horizon(until, from int64) {
	for x := range s.since {
		if s.since[x] >= 0 {
			s.end(int32(x), until, from)
		}
	}
}
