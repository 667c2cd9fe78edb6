package kernel

import "reflect"

// Large returns a slice of n zeros for a table that is looked into here and there:
// where the system offers larger pages of memory for the asking, it is asked for
// them before the table is first touched. Nothing depends on the answer but speed.
func Large[T any](n int) []T {
	s := make([]T, n)
	if size := uintptr(n) * reflect.TypeFor[T]().Size(); size >= largeTable {
		askLarge(reflect.ValueOf(s).Pointer(), size)
	}
	return s
}

// largeTable is the least size, in bytes, for which it is worth asking: a few of
// the larger pages, which are of 2 MiB on most machines.
const largeTable = 4 << 20
