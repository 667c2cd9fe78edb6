package forwarding_test

import (
	"math"

	"pgregory.net/rapid"

	"halflight/sim/forwarding"
)

const least = 1e-12

// account is what is known of the traffic at a router to one destination.
type account struct {
	lacks  []float64 // not delivered, by plane
	whole  bool      // some flow is lost entirely
	losses map[forwarding.Loss]float64
	wholes map[forwarding.Loss]bool // of a way of losing: some flow is lost entirely in it
}

func (s *stage) sound() *account {
	return &account{make([]float64, 1+s.classes), false, map[forwarding.Loss]float64{}, map[forwarding.Loss]bool{}}
}

func (a *account) add(losses []forwarding.Loss, weight float64) {
	for _, l := range losses {
		amount, whole := l.Amount*weight, l.Whole
		l.Amount, l.Whole = 0, false
		a.losses[l] += amount
		a.wholes[l] = a.wholes[l] || whole
	}
}

// accounts are kept by destination and leaf, as one does who looks only at what
// Settle says may have changed: Sources.
type accounts map[[2]int32]*account

func (s *stage) open() accounts {
	all := accounts{}
	for d := range int32(s.f.Leaves) {
		for x := range int32(s.f.Leaves) {
			all[[2]int32{d, x}] = s.sound()
		}
	}
	return all
}

// refresh brings the accounts of destination d, which was settled, up to date.
func (s *stage) refresh(all accounts, d int32) {
	s.field.Open(d)
	for _, x := range s.field.Sources {
		if x == d || !s.alive[x] || !s.alive[d] {
			continue
		}
		a := s.sound()
		a.add(s.field.Losses(d, x), 1)
		a.whole = s.field.Whole(x, d)
		for plane := range a.lacks {
			a.lacks[plane] = 1 - s.field.Delivered(plane, x, d)
		}
		all[[2]int32{d, x}] = a
	}
}

// keep brings field and accounts up to date.
func (s *stage) keep(all accounts) {
	s.pending = s.field.Pending(s.pending)
	for _, d := range s.pending {
		s.field.Settle(d)
		s.refresh(all, d)
	}
}

// agrees compares the accounts of live leaves that have one with the twin: what
// is not delivered on every plane, whether some flow is lost entirely, and each
// loss by kind, cause and first router whose entry is another than it will be.
// Losses add up to what is not delivered.
func (s *stage) agrees(t *rapid.T, all accounts, polarised bool) {
	for d := range int32(s.f.Leaves) {
		for x := range int32(s.f.Leaves) {
			if x != d && s.alive[x] && s.alive[d] {
				want := s.from(x, d, polarised).account()
				all[[2]int32{d, x}].is(t, d, x, want, least)
			}
		}
	}
}

// is compares one account.
func (a *account) is(t *rapid.T, d, x int32, want *account, near float64) {
	sum := 0.0
	for l, v := range a.losses {
		sum += v
		if math.Abs(v-want.losses[l]) > near {
			t.Fatalf("%d to %d: %+v: %.17g, by listing %.17g\nall: %v\nby listing: %v", x, d, l, v, want.losses[l], a.losses, want.losses)
		}
	}
	for l, v := range want.losses {
		if math.Abs(v-a.losses[l]) > near {
			t.Fatalf("%d to %d: %+v: %.17g, by listing %.17g\nall: %v\nby listing: %v", x, d, l, a.losses[l], v, a.losses, want.losses)
		}
		if v > near && a.wholes[l] != want.wholes[l] {
			t.Fatalf("%d to %d: %+v: some flow lost entirely: %v, by listing %v", x, d, l, a.wholes[l], want.wholes[l])
		}
	}
	if math.Abs(sum-a.lacks[0]) > near {
		t.Fatalf("%d to %d: losses add up to %.17g, not delivered %.17g", x, d, sum, a.lacks[0])
	}
	for plane, v := range a.lacks {
		if math.Abs(v-want.lacks[plane]) > near {
			t.Fatalf("%d to %d, plane %d: not delivered %.17g, by listing %.17g", x, d, plane, v, want.lacks[plane])
		}
	}
	if a.whole != want.whole {
		t.Fatalf("%d to %d: some flow lost entirely: %v, by listing %v", x, d, a.whole, want.whole)
	}
}

// account is the twin's result in the same form.
func (w *twin) account() *account {
	a := w.s.sound()
	for i, v := range w.delivered {
		a.lacks[i] = 1 - v
	}
	a.whole, a.losses, a.wholes = w.whole, w.losses, w.wholes
	return a
}

// holds compares what the field itself says of every pair with the twin.
func (s *stage) holds(t *rapid.T, polarised bool) {
	for d := range int32(s.f.Leaves) {
		for x := range int32(s.f.Leaves) {
			want := s.from(x, d, polarised)
			for plane, w := range want.delivered {
				if got := s.field.Delivered(plane, x, d); math.Abs(got-w) > least {
					t.Fatalf("%d to %d, plane %d: delivered %.17g, by listing %.17g", x, d, plane, got, w)
				}
			}
			if got := s.field.Whole(x, d); got != want.whole && x != d {
				t.Fatalf("%d to %d: some flow lost entirely: %v, by listing %v", x, d, got, want.whole)
			}
		}
	}
}
