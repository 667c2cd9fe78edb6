package twin

import (
	"math"
	"strings"
)

// damped is what one end of a link has against it (RFC 2439).
type damped struct {
	fit     bool // light, BFD and hellos agree
	penalty float64
	at      int64
	out     bool // kept out of use
	token   int
}

// use says whether an end that is fit, or not, may be used now.
func (s *sim) use(l, end int, fit bool) bool {
	p, d := s.scn.Detection.Damping, &s.lines[l].damped[end]
	if p.On && d.fit && !fit {
		half := func(t int64) float64 { return math.Exp2(-float64(t) / float64(p.HalfLife)) }
		d.penalty = min(d.penalty*half(s.now-d.at)+p.Increment, p.Reuse/half(int64(p.Hold)))
		d.at = s.now
		if d.out = d.out || d.penalty > p.CutOff; d.out {
			ms := math.Ceil(float64(p.HalfLife) * math.Log2(d.penalty/p.Reuse) / 1e6)
			d.token++
			s.plan(s.now+int64(ms)*1e6, event{kind: evReuse, router: s.links[l].ends[end], part: 2*l + end, token: d.token})
		}
	}
	d.fit = fit
	return fit && !d.out
}

func (s *sim) reuse(e *event) {
	if d := &s.lines[e.part/2].damped[e.part%2]; d.token == e.token {
		d.out = false
		s.refresh(e.part/2, e.part%2)
	}
}

// bfdOf is how BFD packets of direction d are sent and missed: what the sender
// wants against what the receiver can take (RFC 5880, section 6.8.7).
func (s *sim) bfdOf(d int) packets {
	p := s.scn.Detection.BFD
	k := s.links[d/2].ends
	tier := func(r int) string { name, _, _ := strings.Cut(s.names[r], "-"); return name }
	from, to := p.At[tier(k[d%2])], p.At[tier(k[1-d%2])]
	if from.Interval > 0 {
		p.Interval = from.Interval
	}
	if from.Multiplier > 0 {
		p.Multiplier = from.Multiplier
	}
	if to.Receive == 0 {
		to.Receive = p.Receive
	}
	p.Interval = max(p.Interval, to.Receive)
	return p
}

// planShake plans the next hello of an end that is down, which says so.
func (s *sim) planShake(l, end int) {
	interval := int64(s.scn.Detection.Hello.Interval)
	s.plan((s.now/interval+1)*interval, event{kind: evShake, router: s.links[l].ends[1-end], part: 2*l + end, token: s.lines[l].hello[end].downs})
}

// helloTells: a hello of the end that is down tells the other, if it passes.
func (s *sim) helloTells(e *event) {
	l, end := e.part/2, e.part%2
	h := &s.lines[l].hello
	if h[end].up || !h[1-end].up || h[end].downs != e.token {
		return
	}
	if !s.helloPass[e.part] {
		s.planShake(l, end)
		return
	}
	h[1-end].up = false
	h[1-end].downs++
	s.refresh(l, 1-end)
}

// bothMaySettle starts the settle time of three-way hellos once both directions
// pass.
func (s *sim) bothMaySettle(l int) {
	h := &s.lines[l].hello
	if h[0].up && h[1].up || h[0].settling || h[1].settling || !s.helloPass[2*l] || !s.helloPass[2*l+1] {
		return
	}
	for end := range 2 {
		h[end].settling, h[end].from = true, s.now
		h[end].token++
		s.plan(s.now+int64(s.scn.Detection.Settle), event{kind: evHelloUp, router: s.links[l].ends[end], part: l, token: h[end].token})
	}
}
