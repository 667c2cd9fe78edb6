package reliability

import (
	"math"
	"testing"
)

// A fabric of 2 pods of 4 leaves, 4 spines and 4 tops a plane, by hand: a spine takes 16 of 56 ordered pairs to the
// other pod, a quarter of them each, 1/14 of all; within the pod 12 of 56, a quarter of them.
func TestStaleByHand(t *testing.T) {
	c := Clos{Pods: 2, Leaves: 4, Spines: 4, Tops: 4, Parallel: 1}
	if s := c.StaleSpine(); math.Abs(s.Link-3.0/14) > 1e-12 || math.Abs(s.Spine-1.0/14) > 1e-12 || s.Top != s.Spine {
		t.Errorf("spine: %+v", s)
	}
	if s := c.StaleTop(); math.Abs(s.Link-2.0/14/4) > 1e-12 || s.Spine+s.Top != 0 {
		t.Errorf("top: %+v", s)
	}
	if s := c.StaleLeaf(); s.Link != 0.25 || math.Abs(s.Spine-(1+4.0/7)/8) > 1e-12 {
		t.Errorf("leaf: %+v", s)
	}
	if got, want := c.ColdSpine(0.015, 0.12), (12.0+16)/56/4*0.015+1.0/14*0.12; math.Abs(got-want) > 1e-15 {
		t.Errorf("cold spine: %v, want %v", got, want)
	}
	if got := c.ColdTop(0.015); math.Abs(got-2.0/14/4*0.015) > 1e-15 {
		t.Errorf("cold top: %v", got)
	}
	flat := Clos{Pods: 1, Leaves: 4, Spines: 4, Parallel: 1}
	if (flat.StaleSpine() != Stale{}) || math.Abs(flat.ColdSpine(0.015, 1)-0.015/4) > 1e-15 || flat.StaleLeaf() != (Stale{0.5, 0.25, 0}) {
		t.Errorf("three stages: %+v", flat.StaleLeaf())
	}
}

// The break-even against its closed forms: sqrt(2c / rate) for a cold loss of c, 2c / rate where c is a second's, and
// c / (rate x lasts) + lasts / 2 for faults that are short beside the restart.
func TestKeepingPays(t *testing.T) {
	s := Stale{Link: 1}
	kept := func(lasts float64) func(float64) float64 {
		return func(l float64) float64 { return s.Lost(l, []Pace{{1e-6, lasts}}, nil, nil) }
	}
	constant := func(float64) float64 { return 0.02 }
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"long faults", KeepingPays(kept(1e12), constant), math.Sqrt(2 * 0.02 / 1e-6)},
		{"a leaf", KeepingPays(kept(1e12), func(l float64) float64 { return 0.25 * l }), 2 * 0.25 / 1e-6},
		{"short faults", KeepingPays(kept(3), constant), 0.02/(1e-6*3) + 1.5},
		{"nothing to lose", KeepingPays(func(float64) float64 { return 0 }, constant), math.Inf(1)},
	} {
		if c.got != c.want && math.Abs(c.got/c.want-1) > 1e-9 {
			t.Errorf("%s: %v s, want %v", c.what, c.got, c.want)
		}
	}
}
