// Package detection is the only bridge from truth to belief: when the ends of
// a link notice that it is down or up again, and when an instrument notices
// packets lost.
//
// It knows what is true, and says only what can be seen. It has no clock and
// no queue: the tasks that follow a call are collected for the caller. It is
// tested by scripted cases and by the run-length laws.
package detection

import (
	"math"

	"halflight/model/fabric"
	"halflight/model/timer"
)

// Never is a time that does not come.
const Never = int64(math.MaxInt64)

// longAgo is before every time that is simulated.
const longAgo = math.MinInt64 / 4

// Kind says what a Task is.
type Kind uint8

// The tasks. A is an end: the direction that it sends. Those that take an end down
// come before those that let it come up.
const (
	Signal  Kind = iota // loss of light is noticed
	Reset               // the neighbour is back
	Grace               // the neighbour restarts for too long
	Clock               // no BFD packet came in time
	Peer                // a BFD packet says that the other end is down
	Hold                // no hello came in time
	Shaken              // a hello says that the other end is down
	Lit                 // light has been there for the settle time
	Rose                // BFD has been up for the settle time
	Greeted             // hellos have come for the settle time
	Reused              // an end that was kept out may be used again
)

// Task is something to come back for at an instant. Gen tells whether it still
// holds.
type Task struct {
	At     int64
	Kind   Kind
	Router int32
	A      int32
	Gen    uint32
}

// Truth is the state of a link as physics has it.
type Truth struct {
	Dark  bool    // no light
	Alive bool    // no cut in force and both routers forward
	Pass  [2]bool // BFD packets pass, by direction
	Hello [2]bool // hellos pass, by direction
}

// Sound is the state of a link without a fault.
var Sound = Truth{Alive: true, Pass: [2]bool{true, true}, Hello: [2]bool{true, true}}

// Links is the state of all adjacencies as detection sees them. Light, BFD and
// hellos judge each for itself; an end holds its adjacency while all that are on
// agree.
type Links struct {
	f     *fabric.Fabric
	t     *timer.Set
	links []link
	ends  []end    // by the direction that the end sends
	mute  []bool   // by router: it has no control plane
	epoch []uint32 // by router: counts losses and returns of the control plane
	bfd   []watch  // by link, if BFD is on
	hello []watch  // by link, if hellos are on
	damp  []damper // by end, if links are damped
	now   int64

	// draw is one uniform draw for a packet of a direction; nil if packets leave at
	// multiples of the interval.
	draw func(what Packet, direction int32, at int64) float64

	Tasks []Task // to be taken by the caller
}

type link struct {
	Truth
	signalAt  int64
	signalGen uint32
	litGen    uint32
}

// end is one router's end of a link.
type end struct {
	up  bool // it holds the adjacency
	fit bool // light, BFD and hellos agree that it may
	lit bool // light and settle time say so
}

// New returns the state in which every adjacency is up.
func New(f *fabric.Fabric, t *timer.Set) *Links {
	s := &Links{f: f, t: t, links: make([]link, len(f.Links)), ends: make([]end, 2*len(f.Links)),
		mute: make([]bool, len(f.Routers)), epoch: make([]uint32, len(f.Routers))}
	for i := range s.links {
		s.links[i] = link{Truth: Sound, signalAt: Never}
		s.ends[2*i], s.ends[2*i+1] = end{true, true, true}, end{true, true, true}
	}
	if t.BFD {
		s.bfd = newWatches(len(f.Links))
	}
	if t.Hello {
		s.hello = newWatches(len(f.Links))
	}
	if t.Damping.On {
		s.damp = make([]damper, 2*len(f.Links))
	}
	return s
}

// Packet says which packet of a direction is meant, of those before and after an instant.
type Packet uint8

// The packets.
const (
	LastBFD Packet = iota
	NextBFD
	LastHello
	NextHello
	Packets // how many there are
)

// Jitter lets packets leave early by the jitter of the timers, each direction on a phase
// of its own, given one uniform draw for each.
func (s *Links) Jitter(draw func(what Packet, direction int32, at int64) float64) { s.draw = draw }

// Up says whether the end that sends a direction holds the adjacency.
func (s *Links) Up(direction int32) bool { return s.ends[direction].up }

func (s *Links) task(at int64, k Kind, a int32, gen uint32) {
	s.Tasks = append(s.Tasks, Task{at, k, s.f.From(a), a, gen})
}

// Set tells of a link's state after all that changed at this instant.
func (s *Links) Set(id int32, now int64, is Truth) {
	l := &s.links[id]
	was := l.Truth
	l.Truth = is
	if is.Dark && !was.Dark {
		l.signalGen++
		l.signalAt = now + s.t.Signal
		s.task(l.signalAt, Signal, 2*id, l.signalGen)
		s.task(l.signalAt, Signal, 2*id+1, l.signalGen)
	}
	if !is.Dark && was.Dark && l.signalAt > now {
		l.signalGen++ // light again in time
	}
	switch {
	case is.Alive && !was.Alive:
		s.settleAnew(id, now)
	case !is.Alive && was.Alive:
		l.litGen++
	}
	for d := int32(0); d < 2; d++ {
		if s.bfd != nil && is.Pass[d] != was.Pass[d] {
			s.turn(&bfdWatch, id, d, is.Pass[d], now)
		}
	}
	for d := int32(0); d < 2; d++ {
		if s.hello != nil && is.Hello[d] != was.Hello[d] {
			s.turn(&helloWatch, id, d, is.Hello[d], now)
		}
	}
}

// settleAnew starts the settle time of a link's light.
func (s *Links) settleAnew(id int32, now int64) {
	l := &s.links[id]
	l.litGen++
	if l.Alive {
		s.task(now+s.t.Settle, Lit, 2*id, l.litGen)
		s.task(now+s.t.Settle, Lit, 2*id+1, l.litGen)
	}
}

// Stop says that a router has no control plane any more: it drops its ends
// without telling anybody.
func (s *Links) Stop(x int32) {
	s.mute[x] = true
	s.epoch[x]++
	for _, p := range s.f.Ports[x] {
		s.ends[p.Out()] = end{}
		if s.damp != nil {
			s.damp[p.Out()] = damper{gen: s.damp[p.Out()].gen + 1}
		}
	}
}

// Await says that a router without a control plane restarts with its tables
// kept: its neighbours wait for it until the end of the grace time.
func (s *Links) Await(x int32, until int64) {
	for _, p := range s.f.Ports[x] {
		s.task(until, Grace, p.In(), s.epoch[x])
	}
}

// Back says that a router has a control plane again, after Set was called for
// its links. Unless it kept its tables, neighbours that had not noticed its
// absence do so now, and sessions begin anew.
func (s *Links) Back(x int32, kept bool, now int64) {
	s.mute[x] = false
	s.epoch[x]++
	for _, p := range s.f.Ports[x] {
		if !kept && !s.mute[p.Peer] {
			s.task(now, Reset, p.In(), 0)
		}
		s.settleAnew(p.Link, now)
		if s.bfd != nil && !kept {
			w := &s.bfd[p.Link]
			w.up = [2]bool{}
			w.stopSettling(0)
			w.stopSettling(1)
			s.maySettle(&bfdWatch, p.Link, 0, now)
		}
		if s.hello == nil {
			continue
		}
		w, own := &s.hello[p.Link], p.Out()&1
		for e := range int32(2) {
			if e == own || !kept {
				w.up[e] = false
				w.stopSettling(e)
			}
		}
		for e := range int32(2) {
			s.maySettle(&helloWatch, p.Link, e, now)
		}
	}
}

// Change is an end of an adjacency that went down or came up.
type Change struct {
	End int32 // the direction that the end sends
	Up  bool
}

// Do carries out a task and returns the changes it makes, at most two.
func (s *Links) Do(t Task, now int64, changes []Change) []Change {
	s.now = now
	switch t.Kind {
	case Signal:
		l := &s.links[t.A>>1]
		if l.signalGen != t.Gen {
			return changes
		}
		l.signalAt = Never
		return s.unlit(t.A, changes)
	case Reset:
		return s.unlit(t.A, changes)
	case Grace:
		if s.epoch[s.f.To(t.A)] != t.Gen {
			return changes
		}
		return s.unlit(t.A, changes)
	case Lit:
		x, far := s.f.From(t.A), s.f.To(t.A)
		if s.links[t.A>>1].litGen != t.Gen || s.mute[x] || s.mute[far] && !s.ends[t.A].lit {
			return changes
		}
		s.ends[t.A].lit = true
		return s.judge(t.A, changes)
	case Clock:
		return s.silent(&bfdWatch, t, now, changes)
	case Hold:
		return s.silent(&helloWatch, t, now, changes)
	case Peer:
		return s.told(&bfdWatch, t, now, changes)
	case Shaken:
		return s.told(&helloWatch, t, now, changes)
	case Rose:
		return s.risen(&bfdWatch, t, changes)
	case Greeted:
		return s.risen(&helloWatch, t, changes)
	case Reused:
		if s.damp[t.A].gen != t.Gen {
			return changes
		}
		s.damp[t.A].suppressed = false
		return s.judge(t.A, changes)
	}
	return changes
}

func (s *Links) unlit(e int32, changes []Change) []Change {
	s.ends[e].lit = false
	return s.judge(e, changes)
}

// judge works out whether an end holds its adjacency.
func (s *Links) judge(e int32, changes []Change) []Change {
	x, id, side := &s.ends[e], e>>1, e&1
	fit := x.lit && !s.mute[s.f.From(e)] && (s.bfd == nil || s.bfd[id].up[side]) && (s.hello == nil || s.hello[id].up[side])
	holds := fit
	if s.damp != nil {
		holds = s.damped(e, fit)
	}
	x.fit = fit
	if holds == x.up {
		return changes
	}
	x.up = holds
	return append(changes, Change{e, holds})
}

// damped says whether an end that is fit, or not, may be used: each time that it
// goes down counts against it.
func (s *Links) damped(e int32, fit bool) bool {
	d := &s.damp[e]
	if s.ends[e].fit && !fit && d.down(&s.t.Damping, s.now) {
		d.gen++
		s.task(d.reuse(&s.t.Damping), Reused, e, d.gen)
	}
	return fit && !d.suppressed
}

// Suppressed says whether an end is kept out of use.
func (s *Links) Suppressed(direction int32) bool {
	return s.damp != nil && s.damp[direction].suppressed
}

// FalseDown takes both ends of a session down although the link passes: too
// many packets were lost in a row at the end. They come up again at the
// instant given.
func (s *Links) FalseDown(e int32, now, again int64, changes []Change) []Change {
	s.now = now
	k := &bfdWatch
	if s.bfd == nil {
		k = &helloWatch
	}
	w := &k.of(s)[e>>1]
	for _, x := range [2]int32{e, e ^ 1} {
		w.up[x&1] = false
		w.stopSettling(x & 1)
		changes = s.judge(x, changes)
		if l := &s.links[e>>1]; k.passes(l, 0) && k.passes(l, 1) {
			w.settling[x&1], w.from[x&1] = true, now
			s.task(again, k.rise, x, w.riseGen[x&1])
		}
	}
	return changes
}
