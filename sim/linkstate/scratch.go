package linkstate

import (
	"halflight/model/fabric"
	"halflight/sim/kernel"
	"halflight/sim/paths"
)

// scratch is working memory that is used again.
type scratch struct {
	origins  []int32
	cost     []uint32
	hops     []uint64
	heap     paths.Heap
	when     []int64 // by router
	waves    waves
	seen     []uint32 // by destination
	stamp    uint32
	at       []int32 // by destination: place among a router's pending writes, plus one
	sorter   kernel.Sorter
	writes   []write
	computed []write // where writes are known ahead: of the run that starts, or whose writes are taken back
	row      []uint64
	none     []uint64 // the empty set
	toCome   []toCome
	marks    []uint32 // by router: mark of the last that asked for it, see once
	mark     uint32
}

// once returns what says of a router, from now on, whether it is asked about for the
// first time.
func (s *scratch) once() func(x int32) bool {
	s.mark++
	return func(x int32) bool {
		isFirst := s.marks[x] != s.mark
		s.marks[x] = s.mark
		return isFirst
	}
}

func (s *scratch) init(f *fabric.Fabric) {
	wide := 1
	for _, p := range f.Ports {
		wide = max(wide, (len(p)+63)/64)
	}
	s.none = make([]uint64, wide)
	s.cost = make([]uint32, len(f.Routers))
	s.hops = make([]uint64, wide*len(f.Routers))
	s.when = make([]int64, len(f.Routers))
	s.seen = make([]uint32, f.Leaves)
	s.at = make([]int32, f.Leaves)
	s.marks = make([]uint32, len(f.Routers))
}

// snapshots are databases that entries in force were computed from, shared by
// the routers that had the same one.
type snapshots struct {
	all  []snapshot
	free []int32
	last int32 // the one made last
}

type snapshot struct {
	hash   uint64
	lsps   []*lsp // by origin; nil in a slot that is free
	room   []*lsp // memory for them, in a slot that is free
	held   []bool // by port, what its router held, if its LSP said something else: the snapshot is of that one alone; else nil
	refs   int32
	serial uint64 // tells one use of a slot from the next
}

// of returns the snapshot of the database that the shared routes are for.
func (s *snapshots) of(c *Control) int32 { return s.find(c.curHash, c.cur) }

func (s *snapshots) find(hash uint64, lsps []*lsp) int32 {
	if int(s.last) < len(s.all) && s.all[s.last].hash == hash && s.all[s.last].lsps != nil {
		return s.last
	}
	for i := range s.all {
		if s.all[i].hash == hash && s.all[i].lsps != nil {
			s.last = int32(i)
			return int32(i)
		}
	}
	i := int32(len(s.all))
	if n := len(s.free); n > 0 {
		i, s.free = s.free[n-1], s.free[:n-1]
	} else {
		s.all = append(s.all, snapshot{})
	}
	s.all[i] = snapshot{hash: hash, lsps: append(s.all[i].room[:0], lsps...), serial: s.all[i].serial + 1}
	s.last = i
	return i
}

func (s *snapshots) hold(i int32) {
	if i >= 0 {
		s.all[i].refs++
	}
}

func (s *snapshots) release(i int32) {
	if i < 0 {
		return
	}
	if s.all[i].refs--; s.all[i].refs == 0 {
		s.all[i].room, s.all[i].lsps = s.all[i].lsps, nil
		s.free = append(s.free, i)
	}
}
