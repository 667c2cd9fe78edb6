package series

import (
	"reflect"
	"testing"

	"halflight/sim/record"
)

const second = int64(1e9)

// A window of 50 s from 100 s on, in slots of 1 s, three wide ones of 24 s, the
// last cut short, worked by hand: half of the traffic is lost from 101.5 to 103 s,
// a gray fault is there from before the window to 124 s, seen at 112 s, another
// unseen from 138 s on.
func TestByHand(t *testing.T) {
	b := New(100*second, 150*second)
	b.Count(90*second, 1, 1)
	busy := func(now int64) []float64 { // one of two routers waits from 124 s on
		away := max(0, now-124*second)
		return []float64{float64(2*now - away), float64(away)}
	}
	b.Open(busy)
	b.Lost(0.5, 101500*second/1000, 110*second)
	b.Lost(0.5, 110*second, 103*second) // not so long, after all
	b.Lost(0.5, 90*second, 100*second)  // before the window
	b.Count(112*second, 0, -1)
	b.Pass(busy, 124*second)
	b.Count(124*second, -1, 0)
	b.Count(138*second, 1, 1)
	b.Pass(busy, 150*second)
	got := b.Record(busy, 2)

	want := record.Series{Slot: second, Wide: 24, Lost: make([]float32, 50), Gray: []float32{1, 10. / 24, 1}, Unseen: []float32{0.5, 10. / 24, 1},
		States: [][]float32{{1, 0.5, 0.5}, {0, 0.5, 0.5}}}
	want.Lost[1], want.Lost[2] = 0.25, 0.5
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// A slot means something to a reader, and there are not too many of them.
func TestSlotWidth(t *testing.T) {
	for window, want := range map[int64]int64{
		1: second, 2200 * second: second, 2200*second + 1: 5 * second, 86400 * second: 60 * second, 90 * 86400 * second: 3600 * second,
		365 * 86400 * second: 4 * 3600 * second,
	} {
		got := slotWidth(window)
		if got != want {
			t.Errorf("%d s: a slot of %d s, want %d", window/second, got/second, want/second)
		}
		window *= 100 // past the widest of the list for the longest
		got = slotWidth(window)
		if n := (window + got - 1) / got; n > slotsMost {
			t.Errorf("%d s: %d slots", window/second, n)
		}
	}
}
