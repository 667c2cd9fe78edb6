package sizing

import (
	"fmt"
	"math"
	"testing"
)

// Lossy links take sessions down, and each fall and return is a change: a direction
// that loses a tenth loses three packets in a row after (1000 - 1)/0.9 = 1110 of them
// on average, 111 s at 100 ms, and is up again when it has held for 2 s. A link has
// 1.25 such directions if three faults in four hit one way. Dead links stay two
// changes each.
func TestFallsAreChanges(t *testing.T) {
	const text = "fabric: {clos: {leaves: 8, spines: 2}}\ndetection: {settle: 2s, bfd: %s}\noperations: {first_repair: 100%%}\ntelemetry: [{name: counters, polling: {}}]\n" +
		"failures: [{name: cut, on: link, kind: hard, life: {exponential: {mean: 10d}}, repair: {lead: 1s, hands_on: 1s}}," +
		" {name: dirt, on: %s, kind: %s, life: {exponential: {mean: 9h}}, repair: {lead: 30min, hands_on: 30min}%s}]\n"
	const on = "{interval: 100ms, multiplier: 3, jitter: false}"
	wait := 0.1 * 999 / 0.9
	each := 2 * 86400 * 0.1 * math.Exp(-2/wait) / wait // a tenth of the time
	for _, c := range []struct {
		bfd, on, kind, more string
		want                float64 // changes a day and link
	}{
		{on, "link", "lossy", ", loss: 10%, one_way: 75%", 1.25 * each},
		{on, "link", "silent", ", loss: 10%, one_way: 0", 2 * each},
		{on, "leaf", "silent", ", loss: 10%", 2 * each},
		{on, "spine", "silent", ", loss: 10%", 2 * each},
		{on, "router", "silent", ", loss: 10%", 4 * each},
		{on, "link", "lossy", ", loss: 1e-6, one_way: 0", 0},
		{on, "link", "blackhole", ", share: 10%, one_way: 0", 0},
		{on, "link", "lossy", ", one_way: 0, loss: {uniform: {low: 9.9%, high: 10.1%}}", 2 * each},
	} {
		a := OfWorld(worldOf(t, fmt.Sprintf(text, c.bfd, c.on, c.kind, c.more)), 720)
		for _, s := range a.Steps.Spines {
			links := float64(8 * s.Spines)
			near(t, c.on+" "+c.kind+c.more, s.Changes, links*(0.2+c.want), 2e-3)
		}
	}
}

// Where bad stretches come as often as they last, packets are lost as if each by
// itself. Where a bad stretch loses all, a share s = (1 - 1/length)^(n-1) of them is
// long enough; each is 1/enter packets away, and of the others and the last (1 - s) x
// length more go by until it ends or is long enough.
func TestPacketsToARow(t *testing.T) {
	for n := 1; n < 6; n++ {
		near(t, "each by itself", packetsTo(n, 0.06, 1/0.8, 0.3), packetsTo(n, 0.06, 0, 0), 1e-9)
		const length, share = 5, 0.1
		enter := share / (1 - share) / length
		s := math.Pow(1-1./length, float64(n-1))
		near(t, "all of a stretch", packetsTo(n, share, length, 1), (1/enter+length*(1-s))/s, 1e-9)
	}
}
