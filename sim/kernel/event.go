package kernel

import "math/bits"

// Event is something due at an instant: a small plain value that can be
// printed, compared and stored. What Kind, Sub, A and B mean is the business
// of whoever pushes and pops it; the queue only orders it.
//
// Size: 32 bytes, so that two share a cache line of 64.
type Event struct {
	At   int64  // instant, nanoseconds of simulated time
	Key  uint64 // place within the instant; see [Key]
	A    int32  // what it is about, first number
	B    int32  // what it is about, second number
	Gen  uint32 // generation of the holder's awaited event; see [Queue]
	Kind uint8  // what happens
	Sub  uint8  // variant of Kind
}

// Widths of the fields of a key, most significant first. They add up to 64.
// They hold 65,536 rounds per instant, 16 ranks, 16,384 routers and 1,048,576
// links, above the 10,000 routers and 300,000 links the simulator is made for.
const (
	RoundBits  = 16
	RankBits   = 4
	RouterBits = 14
	LinkBits   = 20
)

// Key packs the place of an event within its instant: first by round, then by
// rank, router, and link (or whatever number stands in the link's place).
// What an event makes due at its own instant carries the next round.
//
// It panics if rank, router or link do not fit their widths.
func Key(round uint16, rank uint8, router, link uint32) uint64 {
	if rank>>RankBits != 0 || router>>RouterBits != 0 || link>>LinkBits != 0 {
		panic("kernel: rank, router or link too large for an event key")
	}
	return uint64(round)<<(RankBits+RouterBits+LinkBits) |
		uint64(rank)<<(RouterBits+LinkBits) |
		uint64(router)<<LinkBits | uint64(link)
}

// Round gives back the round packed in a key.
func Round(key uint64) uint16 { return uint16(key >> (RankBits + RouterBits + LinkBits)) }

// Before reports whether a comes before b: by At, Key, Kind, A, B, Gen, Sub.
// That is every field, so the order never depends on who was pushed first;
// two events for which neither is before the other are the same event twice.
func Before(a, b *Event) bool {
	if a.At != b.At {
		return a.At < b.At
	}
	if a.Key != b.Key {
		return a.Key < b.Key
	}
	return tieBefore(a, b)
}

// tieBefore orders two events of equal At and Key.
func tieBefore(a, b *Event) bool {
	switch {
	case a.Kind != b.Kind:
		return a.Kind < b.Kind
	case a.A != b.A:
		return a.A < b.A
	case a.B != b.B:
		return a.B < b.B
	case a.Gen != b.Gen:
		return a.Gen < b.Gen
	}
	return a.Sub < b.Sub
}

// earlier is 1 if (At, Key) of a is below that of b, and 0 if not. Which of two
// children of a heap is the smaller one cannot be predicted, so the answer is
// the borrow of a 128-bit subtraction and not a branch. It and together are
// small enough to be inlined; ties, being rare, are looked at apart.
func earlier(a, b *Event) uint64 {
	const sign = 1 << 63 // signed order as unsigned order
	_, borrow := bits.Sub64(a.Key, b.Key, 0)
	_, borrow = bits.Sub64(uint64(a.At)^sign, uint64(b.At)^sign, borrow)
	return borrow
}

// together reports whether a and b have the same At and Key.
func together(a, b *Event) bool {
	return uint64(a.At^b.At)|(a.Key^b.Key) == 0
}
