package detection

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/operation"
)

// Polls every 300 s at 100, 400, 700 s; two bad in a row.
func TestPolled(t *testing.T) {
	ins := operation.DefaultPolling()
	lossy := func(loss float64) *failure.Condition { return &failure.Condition{Kind: failure.Lossy, Loss: loss} }
	for _, c := range []struct {
		what   string
		cond   *failure.Condition
		onset  int64
		wanted int64
	}{
		{"between polls", lossy(1e-3), 250 * sec, 700 * sec},
		{"a moment before a poll: enough is lost even so", lossy(1e-3), 399 * sec, 700 * sec},
		{"at a poll: it has lost nothing yet", lossy(1e-3), 400 * sec, 1000 * sec},
		{"the partial share is below the threshold", lossy(1.5e-8), 250 * sec, 1000 * sec},
		{"the partial share reaches it", lossy(2e-8), 250 * sec, 700 * sec},
		{"at the threshold a whole period is bad", lossy(1e-8), 250 * sec, 1000 * sec},
		{"below the threshold", lossy(0.99e-8), 250 * sec, Never},
		{"not counted", &failure.Condition{Kind: failure.Silent, Loss: 0.5}, 250 * sec, Never},
		{"before the first poll", lossy(1e-3), 0, 400 * sec},
	} {
		if got := Polled(&ins, c.cond, 100*sec, c.onset); got != c.wanted {
			t.Errorf("%s: %d s, want %d s", c.what, got/sec, c.wanted/sec)
		}
	}
}

// The dumb twin polls.
func TestPolledAgainstPolls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ins := operation.Instrument{Every: rapid.Int64Range(1, 50).Draw(t, "every"), InARow: rapid.IntRange(1, 4).Draw(t, "in a row"),
			Threshold: rapid.SampledFrom([]float64{0, 0.25, 0.5, 1}).Draw(t, "threshold")}
		c := failure.Condition{Kind: failure.Lossy, Loss: rapid.SampledFrom([]float64{0.25, 0.5, 0.75, 1}).Draw(t, "loss")}
		phase, onset := rapid.Int64Range(0, 200).Draw(t, "phase"), rapid.Int64Range(0, 200).Draw(t, "onset")
		want, bad := Never, 0
		for at := phase - 10*ins.Every*(phase/ins.Every+1); at < 1000 && want == Never; at += ins.Every {
			lost := 0.0
			for ns := at - ins.Every; ns < at; ns++ {
				if ns >= onset {
					lost += c.Loss
				}
			}
			if bad++; at <= onset || lost/float64(ins.Every) < ins.Threshold {
				bad = 0
			}
			if bad == ins.InARow {
				want = at
			}
		}
		if got := Polled(&ins, &c, phase, onset); got != want {
			t.Fatalf("%d, want %d", got, want)
		}
	})
}

// Complaints: once in 24 h at 0.1 % slow, in proportion above, at most once in
// 30 min, none below; our own law, no published one exists.
func TestHazard(t *testing.T) {
	ins := operation.DefaultComplaints()
	for _, c := range []struct{ slow, hours float64 }{{0, math.Inf(1)}, {0.0009, math.Inf(1)}, {0.001, 24}, {0.01, 2.4}, {0.048, 0.5}, {1, 0.5}} {
		if got := Hazard(&ins, c.slow) * 3600; math.Abs(got-1/c.hours) > 1e-12 {
			t.Errorf("slow share %v: %v an hour, want one in %v h", c.slow, got, c.hours)
		}
	}
}

// A need of 2 against hazards 0, 1/s, 0 and 1/2 s: by hand.
func TestComplaintFollowsHazard(t *testing.T) {
	c := Complaint{Need: 2, since: 5 * sec}
	for _, s := range []struct {
		now    int64
		hazard float64
		wanted int64
	}{{5 * sec, 0, Never}, {10 * sec, 1, 12 * sec}, {11 * sec, 0, Never}, {20 * sec, 0.5, 22 * sec}, {21 * sec, 0.25, 23 * sec}, {23 * sec, 1, 23 * sec}} {
		if got := c.Advance(s.now, s.hazard); got != s.wanted {
			t.Errorf("at %d s hazard %v: comes at %v, want %v", s.now/sec, s.hazard, got, s.wanted)
		}
	}
}

// The share of faults without a complaint by t is exp(-integrated hazard), even
// when hazards change before it comes.
func TestComplaintLaw(t *testing.T) {
	heldMean(t, "silent for 30 s", math.Exp(-(10*0.01 + 5*0 + 15*0.05)), 0, 40, 1000, func(u func() float64) float64 {
		c := NewComplaint(u(), 0)
		for _, s := range []struct {
			from, to int64
			hazard   float64
		}{{0, 10, 0.01}, {10, 15, 0}, {15, 30, 0.05}} {
			if c.Advance(s.from*sec, s.hazard) < s.to*sec {
				return 0
			}
		}
		return 1
	})
	ins := operation.DefaultComplaints()
	heldMean(t, "mean at 1 % slow", 2.4*hr, 0, 40, 1000, func(u func() float64) float64 {
		c := NewComplaint(u(), 7*sec)
		return float64(c.Advance(7*sec, Hazard(&ins, 0.01)) - 7*sec)
	})
}

// Every other link of the router, each as often, and never the right one.
func TestWrongLink(t *testing.T) {
	f, err := fabric.Clos{Pods: 2, Leaves: 3, Spines: 2, Tops: 3, Parallel: 1}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	for r := range f.Ports {
		for _, p := range f.Ports[r] {
			count := make([]int, len(f.Links))
			others := len(f.Ports[r]) - 1
			for i := range 100 * others {
				count[WrongLink(f, int32(r), p.Link, (float64(i)+0.5)/float64(100*others))]++
			}
			for _, q := range f.Ports[r] {
				want := 100
				if q.Link == p.Link {
					want = 0
				}
				if count[q.Link] != want {
					t.Errorf("router %d, not link %d: link %d named %d times of %d", r, p.Link, q.Link, count[q.Link], want)
				}
			}
		}
	}
	if got := WrongLink(f, 0, 0, 1-0x1p-53); got != 1 {
		t.Errorf("greatest draw: link %d", got)
	}
	lone, err := fabric.Clos{Pods: 1, Leaves: 2, Spines: 1, Parallel: 1}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	if got := WrongLink(lone, 0, 0, 0.5); got != -1 {
		t.Errorf("a router with one link: %d", got)
	}
}
