package kernel

// Queue holds pending events and gives them back in the order of [Before].
// It is a heap of values with four children per node. The zero Queue is empty
// and ready; it grows as needed and allocates nothing once it has grown.
//
// Nothing is ever removed from the middle. Whoever wants to cancel or move an
// event counts generations, pushes the new event beside the old one, and drops
// the old one by its generation when it is popped.
//
// Measured with 1e3 and 1e5 events pending, against two children, against
// stopping early on the way down, against keys and payloads in two slices:
// this form was the quickest. With 1e6 pending, memory decides and they differ
// little.
type Queue struct {
	heap []Event // nothing yet, or root unused places and the heap

	// vacant says that the root has been popped and its place not been filled
	// yet. A simulation mostly pops one event and pushes what follows from it;
	// that push then takes the root's place, and one walk serves both calls.
	vacant bool
}

// root is the index of the root. The children of the event at i are those at
// 4i-8 to 4i-5, so four children of 32 bytes start at a multiple of 128 and
// touch two cache lines instead of three.
const root = 3

// Len is the number of pending events, cancelled ones included.
func (q *Queue) Len() int {
	pending := max(len(q.heap)-root, 0)
	if q.vacant {
		pending--
	}
	return pending
}

// Reset drops all events and keeps the memory.
func (q *Queue) Reset() {
	q.heap, q.vacant = q.heap[:min(root, len(q.heap))], false
}

// Push adds an event.
func (q *Queue) Push(e Event) {
	if q.vacant {
		q.vacant = false
		settle(q.heap, e)
		return
	}
	if len(q.heap) == 0 {
		q.heap = make([]Event, root, 64)
	}
	q.heap = append(q.heap, e)
	rise(q.heap, len(q.heap)-1, e)
}

// Peek returns the first event without removing it, and false if there is none.
func (q *Queue) Peek() (Event, bool) {
	q.fill()
	if len(q.heap) <= root {
		return Event{}, false
	}
	return q.heap[root], true
}

// Pop removes the first event and returns it. It panics on an empty queue.
func (q *Queue) Pop() Event {
	q.fill()
	if len(q.heap) <= root {
		panic("kernel: pop from an empty queue")
	}
	q.vacant = true
	return q.heap[root]
}

// fill moves the last event into a vacant root.
func (q *Queue) fill() {
	if !q.vacant {
		return
	}
	q.vacant = false
	last := len(q.heap) - 1
	e := q.heap[last]
	q.heap = q.heap[:last]
	if last > root {
		settle(q.heap, e)
	}
}

// settle places e in a heap whose root is free: the free place is walked to
// the bottom along the smallest children, and e rises from there. An event
// that was last, or is new, belongs near the bottom, so comparing it at every
// level on the way down would cost more than it saves.
func settle(heap []Event, e Event) {
	free := root
	for {
		first := 4*free - 8
		if first+4 > len(heap) {
			break
		}
		four := heap[first : first+4 : first+4]
		left := earlier(&four[1], &four[0])
		right := 2 + earlier(&four[3], &four[2])
		least := left + (right-left)*earlier(&four[right&3], &four[left&3])
		if together(&four[0], &four[1]) || together(&four[2], &four[3]) ||
			together(&four[left&3], &four[right&3]) {
			least = uint64(leastOf(four))
		}
		heap[free] = four[least&3]
		free = first + int(least)
	}
	if first := 4*free - 8; first < len(heap) {
		least := first + leastOf(heap[first:])
		heap[free] = heap[least]
		free = least
	}
	rise(heap, free, e)
}

// leastOf is the index of the first in order among a few events.
func leastOf(few []Event) int {
	least := 0
	for i := 1; i < len(few); i++ {
		if Before(&few[i], &few[least]) {
			least = i
		}
	}
	return least
}

// rise places e at the free place at, or above it while its parent is later.
func rise(heap []Event, at int, e Event) {
	for at > root {
		parent := at/4 + 2
		if earlier(&e, &heap[parent]) == 0 &&
			!(together(&e, &heap[parent]) && tieBefore(&e, &heap[parent])) {
			break
		}
		heap[at] = heap[parent]
		at = parent
	}
	heap[at] = e
}
