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

// Where a spine died nothing is delivered, and all is lost at a router that does not know
// yet. If ways are bundled and leaves weighed together, routers that differ in slight
// gray loss are alike there, and what ways have seen is known in the mean: so
// what goes round, and what falls to each direction, is told to 3e-4 of all, over the
// spines, to which leaves send the same. It is held against ways followed one by one
// where that can be, and against bundles that are told apart exactly.
func TestClosedPlaneRoughly(t *testing.T) {
	for _, c := range []struct {
		pods, tops int
		exact      int // steps
	}{{7, 4, math.MaxInt}, {10, 8, 0}, {20, 12, 0}} {
		one, spine, top := plane(t, c.pods, c.tops, false, func(int) bool { return false })
		other, _, _ := plane(t, c.pods, c.tops, true, func(int) bool { return false })
		one.field.SetSteps(c.exact)
		other.field.SetSteps(0)
		for _, s := range []*stage{one, other} {
			s.truth.Copy(s.tables(view{routers: []int32{spine}}).Next)
			s.kill(spine)
			s.lossy(s.between(spine+2, top), 0.1)
			s.lossy(s.between(top+1, spine+3), 0.08)
			s.lossy(s.between(spine+4, top+1), 0.0625)
			for k := int32(1); k < 4; k += 2 { // tops that some spines cannot reach, and send to
				for y := spine + 1; y < top; y += 2 {
					s.setDirection(s.between(y, top+k), forwarding.Direction{Dead: true, Pass: s.pass(0), Cause: 7})
				}
			}
			s.settleLast(top)
			s.field.Open(0)
		}
		spines := float64(top - spine - 1)
		sums := [2]map[forwarding.Loss]float64{{}, {}} // over the spines, by kind and cause
		for x := spine + 1; int(x) < len(one.f.Routers); x++ {
			for i, s := range []*stage{one, other} {
				if got := s.field.Delivered(0, x, 0); got != 0 || !s.field.WholeAt(0, x) {
					t.Errorf("%+v: router %d delivers %v, want nothing", c, x, got)
				}
				all := 0.0
				for _, l := range s.field.LossesFrom(0, x) {
					if l.First != x && l.Kind != forwarding.GrayDirection {
						t.Errorf("%+v: router %d loses %+v, of which it is the first to be late itself", c, x, l)
					}
					if all += l.Amount; x < top {
						sums[i][forwarding.Loss{Kind: l.Kind, Cause: l.Cause}] += l.Amount / spines
					}
				}
				if math.Abs(all-1) > 1e-11 {
					t.Errorf("%+v: router %d loses %v, want all", c, x, all)
				}
			}
		}
		if len(sums[0]) < 3 || len(sums[0]) != len(sums[1]) {
			t.Errorf("%+v: lost in %d ways, and told in %d", c, len(sums[0]), len(sums[1]))
		}
		for l, want := range sums[0] {
			if got := sums[1][l]; math.Abs(got-want) > 3e-4 {
				t.Errorf("%+v: of kind %v and cause %d: %v exactly, %v roughly", c, l.Kind, l.Cause, want, got)
			}
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
