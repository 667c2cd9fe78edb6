package forwarding_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"halflight/sim/forwarding"
)

// The field against listing every way, with ways bundled from the first step on.
func TestBundledWaysAgainstListing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { againstListing(t, false, func(q *forwarding.Field) { q.SetSteps(0) }) })
}

// plane is a plane of pods whose spines and tops all send to one another for the
// leaf of pod 0, whose spine only some tops reach.
func plane(t testing.TB, pods, tops int, core bool, reach func(top int) bool) (s *stage, spine, top int32) {
	s = newStage(clos(t, pods, 1, 1, tops), settings{overloadLeaves: true, core: core})
	spine, top = int32(pods), int32(2*pods)
	for x := spine + 1; int(x) < len(s.f.Routers); x++ {
		set := make([]uint64, s.lay.Words[x])
		for p, port := range s.f.Ports[x] {
			isTop := x >= top
			if !isTop && port.Peer >= top || isTop && port.Peer >= spine && (port.Peer != spine) != reach(int(x-top)) {
				set[p>>6] |= 1 << (p & 63)
			}
		}
		s.enter(0, x, set)
	}
	return s, spine, top
}

// settleLast settles, and then the plane's destination once more, as if the entry of one
// of its tops had changed: losses are told of what was settled last.
func (s *stage) settleLast(top int32) {
	s.settle()
	s.field.EntryChanged(top, 0)
	s.field.Review(0)
	s.settle()
}

// Bundled or way by way, a plane that is small enough for both says the same.
func TestBundledPlane(t *testing.T) {
	for name, reach := range map[string]func(int) bool{
		"no top reaches it": func(int) bool { return false },
		"one does":          func(top int) bool { return top == 1 },
		"two do":            func(top int) bool { return top < 2 },
	} {
		one, spine, top := plane(t, 5, 4, false, reach)
		other, _, _ := plane(t, 5, 4, false, reach)
		one.field.SetSteps(math.MaxInt)
		other.field.SetSteps(0)
		for _, s := range []*stage{one, other} {
			s.lossy(s.between(spine+2, top), 0.125)
			s.settleLast(top)
		}
		for x := spine + 1; int(x) < len(one.f.Routers); x++ {
			if a, b := one.field.Delivered(0, x, 0), other.field.Delivered(0, x, 0); math.Abs(a-b) > 1e-12 {
				t.Errorf("%s: router %d delivers %v way by way, %v bundled", name, x, a, b)
			}
			one.field.Open(0)
			other.field.Open(0)
			a, b := lossesOf(one.field.LossesFrom(0, x)), lossesOf(other.field.LossesFrom(0, x))
			if len(a) != len(b) {
				t.Errorf("%s: router %d loses %v way by way, %v bundled", name, x, a, b)
			}
			for l, amount := range a {
				if math.Abs(amount-b[l]) > 1e-12 {
					t.Errorf("%s: router %d, %+v: %v way by way, %v bundled", name, x, l, amount, b[l])
				}
			}
		}
	}
}

// Where nothing is delivered all is lost, whoever loses it. Where ways are bundled and
// leaves weighed together, routers that differ in slight gray loss are alike there, so
// what falls to each cause is right together only: over the spines, to which leaves send
// the same, within a hundredth of what the gray directions take.
func TestClosedPlaneRoughly(t *testing.T) {
	none := func(int) bool { return false }
	one, spine, top := plane(t, 7, 4, true, none)
	other, _, _ := plane(t, 7, 4, true, none)
	one.field.SetSteps(math.MaxInt)
	other.field.SetSteps(0)
	for _, s := range []*stage{one, other} {
		s.lossy(s.between(spine+2, top), 0.1)
		s.lossy(s.between(top+1, spine+3), 0.08)
		s.lossy(s.between(spine+4, top+1), 0.0625)
		s.settleLast(top)
		s.field.Open(0)
	}
	sums := [2]map[int32]float64{{}, {}} // by cause
	for x := spine + 1; int(x) < len(one.f.Routers); x++ {
		for i, s := range []*stage{one, other} {
			if got := s.field.Delivered(0, x, 0); got != 0 || !s.field.WholeAt(0, x) {
				t.Errorf("router %d delivers %v, want nothing", x, got)
			}
			all := 0.0
			for _, l := range s.field.LossesFrom(0, x) {
				all += l.Amount
				if x < top {
					sums[i][l.Cause] += l.Amount
				}
			}
			if math.Abs(all-1) > 1e-12 {
				t.Errorf("router %d loses %v, want all", x, all)
			}
		}
	}
	for cause, want := range sums[0] {
		if got := sums[1][cause]; math.Abs(got-want) > 0.01*sums[0][0] {
			t.Errorf("cause %d: %v way by way, %v bundled", cause, want, got)
		}
	}
}

func lossesOf(list []forwarding.Loss) map[forwarding.Loss]float64 {
	out := map[forwarding.Loss]float64{}
	for _, l := range list {
		amount := l.Amount
		l.Amount = 0
		out[l] += amount
	}
	return out
}

// A plane of ten pods and eight tops, of which one reaches the destination, has some
// 10^9 ways. From a spine a flow picks that top at once with 1/8, or goes on to
// one of seven others and a spine it has not seen: with s spines and t of those tops
// seen it arrives with P(s, t) = 1/8 + (7-t)/8 (9-s)/9 P(s+1, t+1).
func TestManyWays(t *testing.T) {
	s, spine, _ := plane(t, 10, 8, false, func(top int) bool { return top == 3 })
	s.settle()
	want := 0.0
	for k := 8; k >= 1; k-- { // k spines seen, and k-1 tops
		want = 1.0/8 + float64(8-k)/8*float64(9-k)/9*want
	}
	for x := spine + 1; x < spine+10; x++ {
		if got := s.field.Delivered(0, x, 0); math.Abs(got-want) > 1e-12 {
			t.Errorf("spine %d delivers %v, want %v", x, got, want)
		}
		s.field.Open(0)
		sum := 0.0
		for _, l := range s.field.LossesFrom(0, x) {
			sum += l.Amount
		}
		if math.Abs(sum-(1-want)) > 1e-12 {
			t.Errorf("spine %d loses %v, want %v", x, sum, 1-want)
		}
	}
}
