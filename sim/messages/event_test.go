package messages

import "cmp"

// event is something due at an instant. The order of those of one instant is the
// order of S4.
type event struct {
	at    int64
	round int
	stage stage
	step  int // within a stage: detections go down, then up, then prunes
	part  [2]int32
	newer int // of arrivals, the number of the LSP: the newer comes first
	turn  int // first planned, first taken
	do    func()
}

// stage is a place in a round.
type stage uint8

const (
	physical stage = iota
	timers
	detections
	arrivals
	writes
	operator
)

// Steps of the stage of detections. Summaries that take no time belong to it.
const (
	goDown = iota
	comeUp
	summaries
	prunes
)

func before(a, b *event) bool {
	return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.round, b.round), cmp.Compare(a.stage, b.stage), cmp.Compare(a.step, b.step),
		cmp.Compare(a.part[0], b.part[0]), cmp.Compare(a.part[1], b.part[1]), cmp.Compare(b.newer, a.newer), cmp.Compare(a.turn, b.turn)) < 0
}

// events implements container/heap.
type events []*event

func (h events) Len() int           { return len(h) }
func (h events) Less(i, j int) bool { return before(h[i], h[j]) }
func (h events) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *events) Push(e any)        { *h = append(*h, e.(*event)) }

func (h *events) Pop() any {
	last := len(*h) - 1
	e := (*h)[last]
	(*h)[last] = nil
	*h = (*h)[:last]
	return e
}
