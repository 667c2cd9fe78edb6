package kernel

// BySteps puts things in order of their steps, of which none is more than last, those of one step as they
// are: a radix sort, for many things of few steps. Either of from and room, which has the same length, is
// returned in order; the other holds no matter what.
func BySteps[T any](from, room []T, last uint64, step func(*T) uint64) []T {
	const digit = 11 // bits of a step that are sorted by at a time
	for shift := 0; last>>shift > 0; shift += digit {
		var count [1 << digit]int32
		for i := range from {
			count[step(&from[i])>>shift&(1<<digit-1)]++
		}
		at := int32(0)
		for i, n := range count {
			count[i] = at
			at += n
		}
		for i := range from {
			k := &count[step(&from[i])>>shift&(1<<digit-1)]
			room[*k] = from[i]
			*k++
		}
		from, room = room, from
	}
	return from
}
