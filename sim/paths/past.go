package paths

import "halflight/sim/kernel"

// past keeps what moving routes from one topology to another came to, to be done
// again, or undone, without looking: a link that flaps goes to and fro between two,
// and what the truth has gone through, the view of routers goes through after it.
// Routes with one past share a layout.
type past struct {
	moves     [pastMoves]passage
	next      int // the place of the next to be kept
	forgotten int // state of the layout's numbers: those of before mean nothing
}

const (
	pastMoves   = 64      // moves that are kept
	pastChanges = 1 << 14 // entries that one changes at most
)

// passage is a move from one topology to another, told by their digests, entry by
// entry.
type passage struct {
	from, to uint64
	changes  []shift
}

// shift is one entry of routes, before and after.
type shift struct {
	d, x      int32
	set, cost [2]uint32 // numbers of next-hop sets
}

// find returns a move between two topologies, and the side of its changes that is
// behind it: 1, or 0 for one that is undone.
func (p *past) find(from, to uint64, forgotten int) (changes []shift, side int, ok bool) {
	if p.forgotten != forgotten {
		for i := range p.moves {
			p.moves[i] = passage{changes: p.moves[i].changes[:0]}
		}
		p.forgotten = forgotten
	}
	for i := range p.moves {
		switch m := &p.moves[i]; {
		case m.from == from && m.to == to:
			return m.changes, 1, true
		case m.from == to && m.to == from:
			return m.changes, 0, true
		}
	}
	return nil, 0, false
}

// keep keeps a move, instead of the oldest.
func (p *past) keep(from, to uint64, changes []shift) {
	m := &p.moves[p.next]
	m.from, m.to, m.changes = from, to, append(m.changes[:0], changes...)
	p.next = (p.next + 1) % pastMoves
}

// mixed is what a port with a metric adds to the digest of a topology; port -1 stands
// for the overload bit.
func mixed(x, port int32, metric uint32) uint64 {
	if metric == 0 {
		return 0
	}
	return kernel.Mix(kernel.Mix(uint64(x)<<32|uint64(uint32(port))) + uint64(metric))
}
