package forwarding

import (
	"iter"
	"math/bits"
	"slices"

	"halflight/sim/paths"
)

// When leaves never carry the traffic of others only the core, which is all
// other routers, need be followed here: what a leaf delivers is the mean of what
// its next hops do, and the caller sees to it.

// SetCore has only the core followed. It must be called before the first change.
func (q *Field) SetCore() {
	q.core = true
	q.farthest = make([]uint8, q.f.Leaves)
	for d := range q.farthest {
		for x := q.f.Leaves; x < len(q.f.Routers); x++ {
			q.farthest[d] = max(q.farthest[d], q.level[q.at(int32(d), int32(x))])
		}
	}
}

// Unharmed says whether all that x sends over a port for d is delivered.
func (q *Field) Unharmed(d, x, port int32) bool {
	return q.perfect[int(q.table.Offset[x]+port>>6)]>>(port&63)&1 != 0 && !q.blemished(d, q.f.Ports[x][port].Peer)
}

// Quiet says whether a router of the core that delivers all to d still does, and
// nobody delivers more or less, when its entry becomes set.
func (q *Field) Quiet(d, x int32, set []uint64) bool {
	if x == d || q.blemished(d, x) || q.isQueue[d] || !q.alive[x] {
		return false
	}
	for _, u := range q.circles.uphill[d] {
		if !q.blemished(d, u) { // else nobody who delivers all sends to it
			return false
		}
	}
	return !paths.IsEmpty(set) && q.addsDown(d, x, set, true)
}

// addsDown says whether all that a set adds to x's entry for d leads downhill; and
// if asked for whether it delivers all.
func (q *Field) addsDown(d, x int32, set []uint64, all bool) bool {
	off := int(q.table.Offset[x])
	for i, now := range q.table.Of(d, x) {
		fresh := set[i] &^ now
		if all && fresh&^q.perfect[off+i] != 0 {
			return false
		}
		for ; fresh != 0; fresh &= fresh - 1 {
			n := q.f.Ports[x][i*64+bits.TrailingZeros64(fresh)].Peer
			if all && q.blemished(d, n) || q.level[q.at(d, n)] >= q.level[q.at(d, x)] {
				return false
			}
		}
	}
	return true
}

// Direct says whether nobody in the core sends to x what is for d, and nobody
// will when its entry becomes set, which leads to no circle: all that can change
// then is what x itself delivers. The caller must then either leave the entry
// alone or give it to Settle by EntryChanged.
func (q *Field) Direct(d, x int32, set []uint64) bool {
	if x == d || q.isQueue[d] || q.level[q.at(d, x)] != q.farthest[d] {
		return false
	}
	// Whoever sends to one that is as far as it gets sends uphill. What it sends itself
	// goes down, and comes to a circle only where that sends uphill.
	circles := len(q.circles.members[d]) > 0
	for _, u := range q.circles.uphill[d] {
		if u == x || q.sends(d, u, x) {
			return false
		}
		if circles && (q.level[q.at(d, u)]+1 < q.level[q.at(d, x)] || q.leadsTo(x, u, set) || q.sends(d, x, u)) {
			return false
		}
	}
	return q.addsDown(d, x, set, false)
}

// sends says whether y is a next hop of x towards d.
func (q *Field) sends(d, x, y int32) bool { return q.leadsTo(x, y, q.table.Of(d, x)) }

// leadsTo says whether y is among a set of x's next hops.
func (q *Field) leadsTo(x, y int32, set []uint64) bool {
	for i := range q.f.Ports[x] {
		if q.f.Ports[x][i].Peer == y && set[i>>6]>>(i&63)&1 != 0 {
			return true
		}
	}
	return false
}

// SettleDirect is Settle after Direct said yes to a write that is in force now.
func (q *Field) SettleDirect(d, x int32) {
	q.Sources, q.Beyond = q.Sources[:0], false
	q.Moved = append(q.Moved[:0], x)
	q.circles.forget()
	q.recompute(d, x)
}

// leafOut says whether a router is a leaf that the caller sees to.
func (q *Field) leafOut(x int32) bool { return q.core && int(x) < q.f.Leaves }

// Marred lists the routers that do not deliver all to d, in order of their numbers. It is
// valid until the next call.
func (q *Field) Marred(d int32) []int32 {
	q.marred = slices.AppendSeq(q.marred[:0], q.allMarred(d))
	return q.marred
}

func (q *Field) allMarred(d int32) iter.Seq[int32] {
	return func(yield func(int32) bool) {
		for i, word := range q.blots[int(d)*q.blotWords : (int(d)+1)*q.blotWords] {
			for ; word != 0; word &= word - 1 {
				if !yield(int32(64*i + bits.TrailingZeros64(word))) {
					return
				}
			}
		}
	}
}

// LossesFrom says how a unit of traffic for d that is at router x gets lost.
func (q *Field) LossesFrom(d, x int32) []Loss {
	if q.delivered(0, d, x) == 1 {
		return nil
	}
	return q.lossesAt(d, x)
}

// Lacks returns how much of a unit of traffic for d at router x is not
// delivered, or how many units of work are hit, in a plane.
func (q *Field) Lacks(plane int, d, x int32) float64 { return 1 - q.delivered(plane, d, x) }

// Delivers says whether router x delivers all to d.
func (q *Field) Delivers(d, x int32) bool { return !q.blemished(d, x) }

// WholeAt says whether some flow for d that is at router x is lost entirely.
func (q *Field) WholeAt(d, x int32) bool {
	return q.blemished(d, x) && q.wholes[q.blot(d, x)]>>(x&63)&1 != 0
}

// Circles says whether packets for d can come back to a router.
func (q *Field) Circles(d int32) bool { return len(q.circles.members[d]) > 0 }

// Waits says whether d must be settled.
func (q *Field) Waits(d int32) bool { return q.isQueue[d] }

// Direction returns what a direction does.
func (q *Field) Direction(dir int32) *Direction { return &q.dirs[dir] }

// Truth returns what x's entry for d will be once all is noticed.
func (q *Field) Truth(d, x int32) []uint64 { return q.truth.Of(d, x) }
