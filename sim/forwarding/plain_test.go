package forwarding_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"halflight/sim/forwarding"
)

// together is what live leaves lose, all of them and of all destinations: those
// with an account of their own, those put together by destination, and what is
// lost on the uplinks of leaves that lose nothing else.
type together struct {
	special accounts
	plain   []*account // by destination
	uplinks *account
}

func (s *stage) openTogether() *together {
	g := &together{special: s.open(), uplinks: s.sound()}
	for range s.f.Leaves {
		g.plain = append(g.plain, s.sound())
	}
	return g
}

// keepTogether brings field and accounts up to date, looking only at what is
// said to have changed.
func (s *stage) keepTogether(g *together) {
	s.pending = s.field.Pending(s.pending)
	slices.Sort(s.pending)
	for _, d := range s.pending {
		s.field.Settle(d)
		s.refresh(g.special, d)
		if s.field.PlainChanged {
			a := s.sound()
			s.field.Plain(d, func(x int32, weight float64) {
				a.add(s.field.LossesFrom(d, x), weight)
				a.whole = a.whole || s.field.WholeAt(d, x)
				for plane := range a.lacks {
					a.lacks[plane] += weight * s.field.Lacks(plane, d, x)
				}
			})
			g.plain[d] = a
		}
	}
	if !s.field.UplinksChanged {
		return
	}
	s.field.UplinksChanged = false
	a := s.sound()
	s.field.Uplinks(func(dir int32, state *forwarding.Direction, pairs float64) {
		a.whole = a.whole || (pairs > 0 && (state.Dead || state.Whole))
		lost, kind := 1.0, forwarding.DeadDirection
		for plane := range a.lacks {
			part := 1.0
			if !state.Dead {
				part, kind = 1-state.Pass[plane], forwarding.GrayDirection
			}
			a.lacks[plane] += pairs * part
			if plane == 0 {
				lost = part
			}
		}
		a.losses[forwarding.Loss{Kind: kind, Cause: state.Cause, First: -1}] += pairs * lost
	})
	g.uplinks = a
}

// sum adds all up; which router's entry a loss waits for is left out.
func (s *stage) sum(g *together) *account {
	all := s.sound()
	for d := range int32(s.f.Leaves) {
		if !s.alive[d] {
			continue
		}
		for x := range int32(s.f.Leaves) {
			if x != d && s.alive[x] && s.field.Special(d, x) {
				all.plus(g.special[[2]int32{d, x}])
			}
		}
		all.plus(g.plain[d])
	}
	all.plus(g.uplinks)
	return all
}

func (a *account) plus(b *account) {
	a.whole = a.whole || b.whole
	for plane, v := range b.lacks {
		a.lacks[plane] += v
	}
	for l, v := range b.losses {
		l.First = -1
		a.losses[l] += v
	}
}

// When leaves are never transit and are put together: each account against
// listing every way, and all of them against all ways.
func TestPlainLeavesAgainstListing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := newStage(drawClos(t), settings{overloadLeaves: true, aside: true, classes: rapid.IntRange(0, 2).Draw(t, "classes")})
		g := s.openTogether()
		for range rapid.IntRange(1, 6).Draw(t, "instants") {
			for range rapid.IntRange(1, 6).Draw(t, "changes") {
				s.drawChange(t)
			}
			s.keepTogether(g)
			s.agrees(t, g.special, false)
			want := s.sound()
			for d := range int32(s.f.Leaves) {
				for x := range int32(s.f.Leaves) {
					if x != d && s.alive[x] && s.alive[d] {
						want.plus(s.from(x, d, false).account())
					}
				}
			}
			s.sum(g).is(t, -1, -1, want, s.grain())
		}
	})
}

// grain is how far all accounts together may be off: a part of a leaf's traffic
// is kept as a whole number of 2^-40, so each part is off by half of that.
func (s *stage) grain() float64 {
	parts := 0
	for x := range s.f.Leaves {
		parts += len(s.f.Ports[x]) * s.f.Leaves
	}
	return math.Ldexp(float64(parts), -41) + float64(s.f.Leaves*s.f.Leaves)*least
}

// Both modes side by side on the same worlds: what all leaves together lose.
func TestPlainLeavesAgainstOrdinary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawClos(t)
		o := settings{overloadLeaves: true, classes: rapid.IntRange(0, 2).Draw(t, "classes")}
		plain := o
		plain.aside = true
		a, b := newStage(f, o), newStage(f, plain)
		one, two := a.openTogether(), b.openTogether()
		a.coarse = true
		for range rapid.IntRange(1, 8).Draw(t, "instants") {
			for range rapid.IntRange(1, 4).Draw(t, "changes") {
				a.drawChange(t)
				b.follow(a)
			}
			a.keepTogether(one)
			b.keepTogether(two)
			b.sum(two).is(t, -1, -1, a.sum(one), b.grain())
		}
	})
}

// follow makes everything as it is on another stage, by the calls that change it.
func (s *stage) follow(o *stage) {
	for x := range int32(len(s.f.Routers)) {
		if s.alive[x] != o.alive[x] {
			s.alive[x] = o.alive[x]
			s.field.SetRouter(x, o.alive[x])
		}
		for d := range int32(s.f.Leaves) {
			if !slices.Equal(s.truth.Of(d, x), o.truth.Of(d, x)) {
				copy(s.truth.Of(d, x), o.truth.Of(d, x))
				s.field.EntryChanged(x, d)
				s.field.Review(d)
			}
			if !slices.Equal(s.table.Of(d, x), o.table.Of(d, x)) {
				s.enter(d, x, o.table.Of(d, x))
			}
		}
	}
	for dir := range s.dirs {
		if a, b := s.dirs[dir], o.dirs[dir]; a.Dead != b.Dead || a.Whole != b.Whole || a.Cause != b.Cause || !slices.Equal(a.Pass, b.Pass) {
			s.setDirection(int32(dir), b)
		}
	}
}
