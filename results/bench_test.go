package results

import (
	"fmt"
	"testing"
)

func BenchmarkSummarise(b *testing.B) {
	for _, c := range []struct {
		n      uint32
		faults int
	}{{20, 1000}, {20, 10000}, {200, 1000}} {
		set := busySet(c.n, c.faults)
		b.Run(fmt.Sprintf("replications=%d/faults=%d", c.n, c.faults), func(b *testing.B) {
			for b.Loop() {
				Summarise(set, Options{})
			}
		})
	}
}
