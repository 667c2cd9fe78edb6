package kernel

import "testing"

// A large table is as any other: zeros, all of it, and its own.
func TestLarge(t *testing.T) {
	a, b := Large[uint64](largeTable/8+3), Large[uint64](largeTable/8+3)
	for i := range a {
		if a[i] != 0 {
			t.Fatal("not zero at ", i)
		}
		a[i] = uint64(i) + 1
	}
	for i := range b {
		if b[i] != 0 || a[i] != uint64(i)+1 {
			t.Fatal("not its own at ", i)
		}
	}
	if len(Large[int32](5)) != 5 {
		t.Error("a small one is not as long as asked for")
	}
}
