package traffic

import (
	"testing"

	"halflight/model/chance"
)

// By hand: mean 1,000 B, evenly from 500 to 1,500, so that half are above
// 1,000 B and a quarter above 1,250.
func TestSizes(t *testing.T) {
	c := Calls()
	d := Default()
	for _, s := range []struct{ size, above float64 }{{0, 1}, {499, 1}, {1000, 0.5}, {1250, 0.25}, {1500, 0}, {9000, 0}} {
		if c.Above(s.size) != s.above || d.Above(s.size) != s.above {
			t.Errorf("above %v: %v and %v, want %v", s.size, c.Above(s.size), d.Above(s.size), s.above)
		}
	}
	if c.Bytes != 1000 || c.Sizes.Mean() != 1000 || d.Sizes.Mean() != 1000 {
		t.Errorf("mean %v %v %v", c.Bytes, c.Sizes.Mean(), d.Sizes.Mean())
	}
	one := Class{Sizes: chance.Constant(1400)}
	if one.Above(1399) != 1 || one.Above(1400) != 0 {
		t.Error("a packet of exactly the size passes")
	}
}

// The defaults: 10 packets each way of 1,000 B, fan-out 1, 200 ms (the least
// retransmission time-out of the Linux kernel header), budget 1e-4; load 0.35
// and 0.60 in the busiest hour. All assumed.
func TestDefaults(t *testing.T) {
	c, d := Calls(), Default()
	if c.Packets != 10 || c.FanOut != 1 || c.TimeOut != 200_000_000 || c.Budget != 1e-4 || d.Load != 0.35 || d.Busiest != 0.6 {
		t.Errorf("%+v %+v", c, d)
	}
}
