package forwarding_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"halflight/sim/forwarding"
	"halflight/sim/paths"
)

// When leaves are never transit and only the core is followed: what each of its
// routers delivers and how it loses, kept by looking only at what is said to have
// moved, against listing every way.
func TestCoreAgainstListing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := newStage(drawClos(t), settings{overloadLeaves: true, core: true, classes: rapid.IntRange(0, 2).Draw(t, "classes")})
		all := map[[2]int32]*account{}
		for range rapid.IntRange(1, 6).Draw(t, "instants") {
			truth := paths.NewSets(s.lay)
			truth.Copy(s.truth)
			for range rapid.IntRange(1, 6).Draw(t, "changes") {
				s.drawChange(t)
			}
			moved := false
			for d := range int32(s.f.Leaves) {
				for x := range int32(len(s.f.Routers)) {
					moved = moved || !slices.Equal(truth.Of(d, x), s.truth.Of(d, x))
				}
			}
			s.keepCore(all, moved)
			for d := range int32(s.f.Leaves) {
				for x := int32(s.f.Leaves); int(x) < len(s.f.Routers) && s.alive[d]; x++ {
					if s.alive[x] {
						s.core(all, d, x).is(t, d, x, s.from(x, d, false).account(), least)
					}
				}
			}
		}
	})
}

func (s *stage) core(all map[[2]int32]*account, d, x int32) *account {
	k := [2]int32{d, x}
	if all[k] == nil {
		all[k] = s.sound()
	}
	return all[k]
}

// keepCore brings field and accounts up to date. A change of the truth alone can
// change who is charged.
func (s *stage) keepCore(all map[[2]int32]*account, truth bool) {
	s.pending = s.field.Pending(s.pending)
	for _, d := range s.pending {
		s.field.Settle(d)
		s.field.Open(d)
		look := s.field.Moved
		if s.field.Beyond || truth {
			look = nil
			for x := s.f.Leaves; x < len(s.f.Routers); x++ {
				look = append(look, int32(x))
			}
		}
		for _, x := range look {
			if int(x) < s.f.Leaves {
				continue
			}
			a := s.core(all, d, x)
			*a = *s.sound()
			if s.field.Delivers(d, x) {
				continue
			}
			a.add(s.field.LossesFrom(d, x), 1)
			a.whole = s.field.WholeAt(d, x)
			for plane := range a.lacks {
				a.lacks[plane] = s.field.Lacks(plane, d, x)
			}
		}
	}
}

// What Marred lists is what does not deliver all, in order, as directions die and come back.
func TestMarred(t *testing.T) {
	f := clos(t, 2, 2, 2, 2)
	s := newStage(f, settings{overloadLeaves: true, core: true})
	for _, c := range []struct {
		spine int32
		dead  bool
		want  int
	}{{5, true, 4}, {4, true, 8}, {5, false, 4}, {4, false, 0}} { // a spine of the first pod loses a leaf, and its plane with it
		for _, p := range f.Ports[c.spine] {
			if p.Peer == 0 {
				s.setDirection(p.Out(), forwarding.Direction{Dead: c.dead, Pass: s.pass(1)})
			}
		}
		s.settle()
		var want []int32
		for x := int32(f.Leaves); int(x) < len(f.Routers); x++ {
			if !s.field.Delivers(0, x) {
				want = append(want, x)
			}
		}
		if got := s.field.Marred(0); !slices.Equal(got, want) || len(got) != c.want {
			t.Errorf("%+v: %v do not deliver all, want %v", c, got, want)
		}
	}
}
