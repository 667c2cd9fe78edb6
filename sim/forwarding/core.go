package forwarding

import "slices"

// When leaves never carry the traffic of others only the core, which is all
// other routers, need be followed here: what a leaf delivers is the mean of what
// its next hops do, and the caller sees to it.

// SetCore has only the core followed. It must be called before the first change.
func (q *Field) SetCore() { q.core = true }

// leafOut says whether a router is a leaf that the caller sees to.
func (q *Field) leafOut(x int32) bool { return q.core && int(x) < q.f.Leaves }

// Marred lists the routers of the core that do not deliver all to d, in order
// of their numbers. It is valid until the next call to Settle.
func (q *Field) Marred(d int32) []int32 {
	list := q.marred[d]
	for i := 1; i < len(list); i++ {
		if list[i] < list[i-1] {
			slices.Sort(list)
			break
		}
	}
	return list
}

// LossesFrom says how a unit of traffic for d that is at router x gets lost.
func (q *Field) LossesFrom(d, x int32) []Loss {
	if q.deliver[0][q.at(d, x)] == 1 {
		return nil
	}
	return q.lossesAt(d, x)
}

// Lacks returns how much of a unit of traffic for d at router x is not
// delivered, or how many units of work are hit, in a plane.
func (q *Field) Lacks(plane int, d, x int32) float64 { return 1 - q.deliver[plane][q.at(d, x)] }

// Delivers says whether router x delivers all to d.
func (q *Field) Delivers(d, x int32) bool { return !q.blemished(q.at(d, x)) }

// WholeAt says whether some flow for d that is at router x is lost entirely.
func (q *Field) WholeAt(d, x int32) bool { return q.whole[q.at(d, x)] }

// Waits says whether d must be settled.
func (q *Field) Waits(d int32) bool { return q.isQueue[d] }

// Direction returns what a direction does.
func (q *Field) Direction(dir int32) *Direction { return &q.dirs[dir] }

// Truth returns what x's entry for d will be once all is noticed.
func (q *Field) Truth(d, x int32) []uint64 { return q.truth.Of(d, x) }
