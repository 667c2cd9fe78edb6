package sim

import (
	"fmt"
	"testing"
)

// What else may be said of tables and flooding where writes are known ahead: the same
// worlds with each of these on are the same together as one by one.
func TestOptionsTogetherAsOneByOne(t *testing.T) {
	t.Parallel()
	for i, set := range [][]string{
		{"fib.ordered={hold: 200ms, step: 100ms}"},
		{"fib.ordered={hold: 0s, step: 500ms}", "fib.per_prefix=7ms"},
		{"fib.shared_groups=true", "fib.per_prefix=20ms"},
		{"fib.shared_groups=true", "fib.per_prefix=3ms", "fib.families=both", "fib.labels=1", "fib.prefixes=4"},
		{"fib.shared_groups=true", "fib.per_prefix=30ms", "fib.ordered={hold: 100ms, step: 300ms}"},
		{"flooding.reduced={degree: 2, redraw: 1s}"},
		{"flooding.reduced={degree: 1, redraw: 10s}", "flooding.lossy=true"},
		{"underlay={hosts: 20, reboots: {rate: 1/1h, away: 40s}, flaps: {rate: 1/2h, away: 300ms}}"},
		{"timers.mixed=[{on: spine, spf: {two_step: {}}}, {on: leaf-0-1, spf: {rfc8405: {initial_delay: 3s}}}]"},
	} {
		compared := 0
		for n := range uint64(10) {
			seed := 3000 + 100*uint64(i) + n
			set := append([]string{"overload.leaves=true", "hashing=independent"}, set...)
			if sameTogether(t, build(t, fmt.Sprint("swarm-", seed), swarmText(seed, false, "6h"), set...), seed, 17+n) {
				compared++
			}
		}
		if compared < 4 {
			t.Errorf("%v: only %d worlds put leaves together", set, compared)
		}
	}
}
