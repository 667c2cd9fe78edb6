package kernel

// Timer is the holder's half of a cancellable event. Events are never taken
// out of the queue; instead each arming starts a new generation, the event
// carries its number, and an event whose generation is no longer the timer's
// is stale and is dropped when popped:
//
//	queue.Push(Event{At: at, Gen: t.Arm(at), ...})
//	...
//	if event := queue.Pop(); !t.Fires(event) { continue }
//
// The zero Timer is not armed. Generations wrap after 2^32 armings; by then an
// event of the same number has long been popped.
type Timer struct {
	At    int64  // instant it is armed for, nanoseconds; meaningful while Armed
	Gen   uint32 // generation of the latest arming
	Armed bool   // whether an event is awaited
}

// Arm awaits an event at the given instant in place of any awaited before, and
// returns the generation that event must carry.
func (t *Timer) Arm(at int64) uint32 {
	t.Gen++
	t.At, t.Armed = at, true
	return t.Gen
}

// Disarm awaits nothing; the event armed for, if any, becomes stale.
func (t *Timer) Disarm() { t.Armed = false }

// Fires reports whether a popped event is the one awaited. If so the timer has
// run out: it is no longer armed, and a second call with the same event says
// false.
func (t *Timer) Fires(e Event) bool {
	if !t.Armed || e.Gen != t.Gen || e.At != t.At {
		return false
	}
	t.Armed = false
	return true
}
