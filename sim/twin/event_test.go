package twin

import "container/heap"

// Ranks of S4: the order in which one round takes what is due.
const (
	rankPhysical = iota
	rankTimer
	rankDetection
	rankRise
	rankPrune
	rankArrival
	rankCrossing
	rankWrite
	rankOperator
)

// Kinds of event; within a rank and a part, in the order written here.
const (
	evPhysical = iota

	evSPF
	evLearn
	evHolddown
	evQuiet
	evLSPGeneration
	evToken

	evSignal // ends that go down ...
	evForced
	evGrace
	evBFDExpire
	evTell
	evHelloExpire
	evShake
	evSettle // ... before ends that come up
	evBFDUp
	evHelloUp
	evReuse
	evPrune
	evDetour

	evArrive
	evCross
	evExchanged

	evRunEnd
	evWrite

	evOperator
	evRedraw
)

func rankOf(kind int) int {
	switch {
	case kind == evPhysical:
		return rankPhysical
	case kind <= evToken:
		return rankTimer
	case kind < evSettle:
		return rankDetection
	case kind < evPrune:
		return rankRise
	case kind <= evDetour:
		return rankPrune
	case kind <= evArrive:
		return rankArrival
	case kind <= evExchanged:
		return rankCrossing
	case kind <= evWrite:
		return rankWrite
	}
	return rankOperator
}

// event is something due. token is compared with the owner's own when the event
// comes up: an event whose token is no longer current was cancelled.
type event struct {
	t      int64
	round  int
	kind   int
	router int
	part   int // link, direction, origin or destination
	over   int // link over which an LSP comes
	newer  int // its version, if of two versions the newer comes first
	token  int
	serial int
	lsp    *lsp
	run    *run
	write  *write
}

type queue []*event

func (q queue) Len() int      { return len(q) }
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q queue) Less(i, j int) bool {
	a, b := q[i].key(), q[j].key()
	for k := range a {
		if a[k] != b[k] {
			return a[k] < b[k]
		}
	}
	return false
}
func (q *queue) Push(x any) { *q = append(*q, x.(*event)) }
func (q *queue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

func (e *event) key() [8]int64 {
	part, newer := e.part, -int64(e.newer)
	switch e.kind {
	case evBFDExpire, evTell, evHelloExpire, evShake, evReuse, evDetour:
		part /= 2 // by link, not by direction (A1)
	case evArrive:
		newer = -int64(e.lsp.seq) // of two versions of one origin that were flooded the newer comes first
	}
	return [8]int64{e.t, int64(e.round), int64(rankOf(e.kind)), int64(e.router), int64(part), int64(e.kind), newer, int64(e.serial)}
}

// plan puts an event in the queue: in the next round if it is due now, else in
// the first round of its instant.
func (s *sim) plan(t int64, e event) {
	e.t, e.round = t, 1
	if t == s.now {
		e.round = s.round + 1
	}
	if t < s.now {
		panic("twin: an event in the past")
	}
	s.serial++
	e.serial = s.serial
	heap.Push(&s.queue, &e)
}

// handle is the one switch of all that can happen.
func (s *sim) handle(e *event) {
	switch e.kind {
	case evPhysical:
		s.physical()
	case evRedraw:
		s.redraw()
	case evOperator:
		s.operator()
	case evSPF, evLearn, evHolddown, evQuiet:
		s.machineTimer(e)
	case evLSPGeneration:
		s.generationEnds(e)
	case evToken:
		s.tokenComes(e)
	case evSignal, evForced, evGrace:
		s.carrierDown(e)
	case evSettle:
		s.carrierUp(e)
	case evBFDExpire:
		s.bfdExpires(e)
	case evTell:
		s.bfdTells(e)
	case evBFDUp:
		s.bfdUp(e)
	case evHelloExpire:
		s.helloExpires(e)
	case evShake:
		s.helloTells(e)
	case evReuse:
		s.reuse(e)
	case evHelloUp:
		s.helloUp(e)
	case evDetour:
		s.goAround(e)
	case evPrune:
		s.delayedPrune(e)
	case evArrive, evCross:
		s.arrive(e)
	case evExchanged:
		s.exchangeDone(e)
	case evRunEnd:
		s.runEnds(e)
	case evWrite:
		s.writeLands(e)
	}
}
