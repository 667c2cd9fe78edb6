package linkstate

import (
	"cmp"
	"slices"

	"halflight/sim/paths"
)

// timeWrites says when each of a run's writes is in force, if writing begins at
// begin, and returns when the last one is. A destination is in force with the
// last of its table entries: prefixes in each family, and their labels.
func (c *Control) timeWrites(x int32, writes []write, begin int64) (end int64) {
	r := &c.routers[x]
	base, each := r.paced(c.t.FIBBase), r.paced(c.t.FIBPerPrefix)
	n := int64(0) // entries written so far
	var moved []int64
	if c.t.SharedGroups {
		moved = c.movedGroups(x, writes)
	}
	for k := range writes {
		switch {
		case moved == nil || moved[k] == 0:
			n += max(1, c.t.Entries)
			writes[k].at = begin + base + n*each
		case moved[k] > 0: // the first of its group: one write moves all
			n++
			writes[k].at = begin + base + n*each
		default:
			writes[k].at = writes[-moved[k]-1].at
		}
	}
	end = begin + base + n*each
	if moved != nil {
		slices.SortStableFunc(writes, func(a, b write) int { return cmp.Compare(a.at, b.at) })
	}
	// The first complete table comes all together; the run may have begun before
	// that was in force and end after it.
	if r.frozen && (r.stage != inWriting || r.readyAt > r.runEnd) {
		for k := range writes {
			writes[k].at = end
		}
	}
	return end
}

// movedGroups finds writes that can be done by moving a whole next-hop group:
// all entries of x that share one set of next hops change to the same other
// set. By write: 0 for one that stands alone, 1 for the first of a group, and
// for the rest of it -1 less the index of that first.
func (c *Control) movedGroups(x int32, writes []write) []int64 {
	moved := make([]int64, len(writes))
	c.place(x)
	defer c.unplace(x)
	for k := range writes {
		if moved[k] != 0 {
			continue
		}
		old, size := c.intended(x, writes[k].dest), 0
		for d := int32(0); int(d) < c.f.Leaves; d++ {
			if d != x && paths.Same(c.intended(x, d), old) {
				size++
			}
		}
		var rest []int
		for j := k + 1; j < len(writes); j++ {
			if paths.Same(c.intended(x, writes[j].dest), old) && paths.Same(writes[j].bits(), writes[k].bits()) {
				rest = append(rest, j)
			}
		}
		if len(rest)+1 != size || size == 1 {
			continue
		}
		moved[k] = 1
		for _, j := range rest {
			moved[j] = -int64(k) - 1
		}
	}
	return moved
}
