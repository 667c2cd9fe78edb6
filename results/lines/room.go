package lines

// room is where items of many short lists stand, one list after the other, so
// that not each list is an allocation.
type room[T any] struct {
	items []T
	from  int // where the list that is being read begins
}

// Items of the first and of the largest block of a room.
const (
	blockLeast = 64
	blockMost  = 8192
)

// add adds an item to the list that is being read.
func (r *room[T]) add(v T) {
	if len(r.items) == cap(r.items) {
		begun := r.items[r.from:]
		block := make([]T, len(begun), max(min(2*cap(r.items), blockMost), 2*len(begun), blockLeast))
		copy(block, begun)
		r.items, r.from = block, 0
	}
	r.items = append(r.items, v)
}

// list ends the list that is being read: of its items, and nobody else's.
func (r *room[T]) list() []T {
	n := len(r.items)
	out := r.items[r.from:n:n]
	r.from = n
	return out
}

// listOf reads a list of items, each by the function given.
func listOf[T any](c *cursor, r *room[T], one func() T) []T {
	there, more := c.begin()
	if !there {
		return nil
	}
	if !more {
		return []T{}
	}
	for {
		r.add(one())
		if !c.next() {
			return r.list()
		}
	}
}
