package glance

import (
	"math"
	"testing"

	"halflight/model/fabric"
	"halflight/model/traffic"
)

// Two pods of two leaves under two spines and two tops, worked by hand. A leaf's
// uplink that hits every second unit: half of the leaf's units cross it, so a
// quarter of them are hit, and of each other leaf's a third of that. A link from
// spine to top that hits all: a quarter of the ways between pods, which two of
// three units take.
func TestByHand(t *testing.T) {
	f, err := fabric.Clos{Pods: 2, Leaves: 2, Spines: 2, Tops: 2, Parallel: 1}.Build(1e11, 1e11)
	if err != nil {
		t.Fatal(err)
	}
	class := traffic.Calls()
	class.Budget = 0.1
	b := New(f, class, 100)
	up, err := f.Find("leaf-0-0>spine-0-1")
	if err != nil {
		t.Fatal(err)
	}
	high, err := f.Find("spine-1-0>top-0-1")
	if err != nil {
		t.Fatal(err)
	}
	b.Set(up.Direction, 0.5, 50)
	near(t, "the leaf", b.Share(0), 0.25)
	near(t, "another", b.Share(3), 0.25/3)
	b.Set(high.Direction, 1, 300)
	near(t, "with both, the leaf", b.Share(0), 1-0.75*(1-0.5/3))
	near(t, "with both, in the other pod", b.Share(3), 1-(1-0.25/3)*(1-0.5/3))
	b.Set(up.Direction, 0, 400)
	near(t, "the upper one alone", b.Share(0), 0.25*2/3)
	b.Set(high.Direction, 0, 500)
	if b.Share(0) != 0 || b.Share(3) != 0 {
		t.Error("something is left when nothing drops")
	}
	slow, over := b.Slow(3, 1000)
	near(t, "integral", slow, 200*0.25/3+100*(1-(1-0.25/3)*(1-0.5/3))+100*0.5/3)
	if over != 200 {
		t.Errorf("over budget for %d ns, want 200", over)
	}
	class.FanOut = 3
	b = New(f, class, 0)
	b.Set(up.Direction, 0.5, 0)
	near(t, "fan-out of three", b.Share(0), 1-math.Pow(0.75, 3))
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-12*math.Max(1, math.Abs(want)) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// With one unit in a hundred slow, 63 % are at a fan-out of 100 (Dean and Barroso,
// CACM 2013).
func TestFanOut(t *testing.T) {
	f, err := fabric.Clos{Pods: 1, Leaves: 2, Spines: 2, Parallel: 1}.Build(1e11, 1e11)
	if err != nil {
		t.Fatal(err)
	}
	class := traffic.Steps()
	class.FanOut = 100
	b := New(f, class, 0)
	b.Set(0, 0.02, 0) // half of the ways
	if got := b.Share(0); math.Abs(got-0.634) > 0.0005 {
		t.Errorf("%v, published 63 %%", got)
	}
}
