package kernel

import (
	"slices"
	"testing"
	"unsafe"

	"pgregory.net/rapid"
)

// sortedList is the dumb twin of Queue: a slice sorted at every pop.
type sortedList []Event

func (l *sortedList) push(e Event) { *l = append(*l, e) }

func (l *sortedList) pop() Event {
	slices.SortFunc(*l, func(a, b Event) int {
		for _, pair := range [][2]int64{
			{a.At, b.At},
			{int64(a.Key >> 32), int64(b.Key >> 32)},
			{int64(a.Key & 0xffffffff), int64(b.Key & 0xffffffff)},
			{int64(a.Kind), int64(b.Kind)},
			{int64(a.A), int64(b.A)},
			{int64(a.B), int64(b.B)},
			{int64(a.Gen), int64(b.Gen)},
			{int64(a.Sub), int64(b.Sub)},
		} {
			if pair[0] != pair[1] {
				if pair[0] < pair[1] {
					return -1
				}
				return 1
			}
		}
		return 0
	})
	first := (*l)[0]
	*l = (*l)[1:]
	return first
}

// tiedEvent draws events from ranges so small that every field ties often,
// with the extremes of each so that no comparison is signed where it must not be.
func tiedEvent() *rapid.Generator[Event] {
	return rapid.Custom(func(t *rapid.T) Event {
		return Event{
			At:   rapid.SampledFrom([]int64{-1 << 63, -1, 0, 1, 2, 3, 1 << 62, 1<<63 - 1}).Draw(t, "at"),
			Key:  rapid.SampledFrom([]uint64{0, 1, 2, 1 << 63, 1<<64 - 1}).Draw(t, "key"),
			Kind: rapid.SampledFrom([]uint8{0, 1, 255}).Draw(t, "kind"),
			Sub:  rapid.SampledFrom([]uint8{0, 1, 255}).Draw(t, "sub"),
			A:    rapid.SampledFrom([]int32{-1, 0, 1}).Draw(t, "a"),
			B:    rapid.SampledFrom([]int32{-1, 0, 1}).Draw(t, "b"),
			Gen:  rapid.SampledFrom([]uint32{0, 1, 1<<32 - 1}).Draw(t, "gen"),
		}
	})
}

// TestQueueTwin holds every operation against the sorted list.
func TestQueueTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var queue Queue
		var twin sortedList
		check := func() {
			if queue.Len() != len(twin) {
				t.Fatalf("Len %d, want %d", queue.Len(), len(twin))
			}
		}
		pop := func() {
			peeked, ok := Event{}, true
			if rapid.Bool().Draw(t, "peek first") {
				peeked, ok = queue.Peek()
			}
			got, want := queue.Pop(), twin.pop()
			if got != want || !ok || (peeked != Event{} && peeked != want) {
				t.Fatalf("Pop %+v, Peek %+v %v, want %+v", got, peeked, ok, want)
			}
		}
		for range rapid.IntRange(0, 200).Draw(t, "operations") {
			switch {
			case len(twin) > 0 && rapid.IntRange(0, 9).Draw(t, "operation") < 4:
				pop()
			case rapid.IntRange(0, 199).Draw(t, "reset") == 0:
				queue.Reset()
				twin = nil
			default:
				e := tiedEvent().Draw(t, "event")
				queue.Push(e)
				twin.push(e)
			}
			check()
		}
		for len(twin) > 0 {
			pop()
			check()
		}
		if e, ok := queue.Peek(); ok {
			t.Fatalf("Peek of an empty queue gives %+v", e)
		}
	})
}

// TestQueueLarge drains a deep heap with many ties against one plain sort.
func TestQueueLarge(t *testing.T) {
	stream := NewStream(1, 0)
	var queue Queue
	var twin []Event
	for i := range uint64(100_000) {
		e := Event{
			At:  int64(1000 * stream.Uniform(1, 0, i)),
			Key: uint64(10 * stream.Uniform(2, 0, i)),
			A:   int32(10 * stream.Uniform(3, 0, i)),
		}
		queue.Push(e)
		twin = append(twin, e)
	}
	slices.SortFunc(twin, func(a, b Event) int {
		switch {
		case Before(&a, &b):
			return -1
		case Before(&b, &a):
			return 1
		}
		return 0
	})
	for i, want := range twin {
		if got := queue.Pop(); got != want {
			t.Fatalf("event %d is %+v, want %+v", i, got, want)
		}
	}
}

// TestQueueOrderFree pushes the same events in two orders.
func TestQueueOrderFree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := rapid.SliceOfN(tiedEvent(), 1, 60).Draw(t, "events")
		shuffled := rapid.Permutation(events).Draw(t, "shuffled")
		var one, other Queue
		for i := range events {
			one.Push(events[i])
			other.Push(shuffled[i])
		}
		for range events {
			if a, b := one.Pop(), other.Pop(); a != b {
				t.Fatalf("order depends on who was pushed first: %+v against %+v", a, b)
			}
		}
	})
}

func TestQueueSteadyStateAllocatesNothing(t *testing.T) {
	var queue Queue
	for i := range int64(1000) {
		queue.Push(Event{At: i * 7919 % 1000})
	}
	allocations := testing.AllocsPerRun(1000, func() {
		e := queue.Pop()
		e.At += 500
		queue.Push(e)
	})
	if allocations != 0 {
		t.Errorf("%v allocations per pop and push, want 0", allocations)
	}
}

func TestQueuePopEmptyPanics(t *testing.T) {
	var queue Queue
	queue.Push(Event{})
	queue.Pop()
	mustPanic(t, "kernel: pop from an empty queue", func() { queue.Pop() })
}

func TestEventSize(t *testing.T) {
	if size := unsafe.Sizeof(Event{}); size != 32 {
		t.Errorf("an event takes %d bytes, want 32", size)
	}
}

// TestKey holds the packing against comparison field by field.
func TestKey(t *testing.T) {
	type place struct {
		round        uint16
		rank         uint8
		router, link uint32
	}
	draw := rapid.Custom(func(t *rapid.T) place {
		return place{
			rapid.Uint16().Draw(t, "round"),
			rapid.Uint8Range(0, 1<<RankBits-1).Draw(t, "rank"),
			rapid.Uint32Range(0, 1<<RouterBits-1).Draw(t, "router"),
			rapid.Uint32Range(0, 1<<LinkBits-1).Draw(t, "link"),
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b := draw.Draw(t, "a"), draw.Draw(t, "b")
		if rapid.Bool().Draw(t, "same round") {
			b.round = a.round
		}
		if rapid.Bool().Draw(t, "same rank") {
			b.rank = a.rank
		}
		if rapid.Bool().Draw(t, "same router") {
			b.router = a.router
		}
		want := slices.Compare(
			[]uint32{uint32(a.round), uint32(a.rank), a.router, a.link},
			[]uint32{uint32(b.round), uint32(b.rank), b.router, b.link})
		keyA, keyB := Key(a.round, a.rank, a.router, a.link), Key(b.round, b.rank, b.router, b.link)
		got := 0
		if keyA < keyB {
			got = -1
		} else if keyA > keyB {
			got = 1
		}
		if got != want {
			t.Fatalf("%+v against %+v: order %d, want %d", a, b, got, want)
		}
		if Round(keyA) != a.round {
			t.Fatalf("round %d, want %d", Round(keyA), a.round)
		}
	})
	const message = "kernel: rank, router or link too large for an event key"
	mustPanic(t, message, func() { Key(0, 16, 0, 0) })
	mustPanic(t, message, func() { Key(0, 0, 1<<14, 0) })
	mustPanic(t, message, func() { Key(0, 0, 0, 1<<20) })
}

func mustPanic(t *testing.T, want string, f func()) {
	t.Helper()
	defer func() {
		t.Helper()
		if got := recover(); got != want {
			t.Errorf("panic %v, want %q", got, want)
		}
	}()
	f()
}
