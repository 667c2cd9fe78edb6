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

// The tasks. A is a link for Signal and an end for the others: the direction
// that the end sends.
const (
	Signal Kind = iota // loss of light is noticed
	Clock              // no BFD packet came in time
	Peer               // a BFD packet says that the other end is down
	Hold               // no hello came in time
	Reset              // the neighbour is back sooner than its absence was noticed
	Rise               // the adjacency may come up; after all that takes it down
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
	Alive bool    // no cut in force and both routers alive
	Pass  [2]bool // BFD packets and hellos pass, by direction
}

// Links is the state of all adjacencies as detection sees them.
type Links struct {
	f     *fabric.Fabric
	t     *timer.Set
	links []link
	ends  []end

	Tasks []Task // to be taken by the caller
}

type link struct {
	Truth
	aliveSince int64
	passSince  [2]int64
	signalAt   int64
	signalGen  uint32
}

// end is one router's end of a link; its index is the direction that it sends.
type end struct {
	up      bool
	lastBFD int64 // arrival of the last BFD packet, known when they stop
	lastHi  int64 // the same for hellos
	gen     [6]uint32
	reset   bool // it is about to go down because its neighbour is back
}

// New returns the state in which every adjacency is up.
func New(f *fabric.Fabric, t *timer.Set) *Links {
	s := &Links{f: f, t: t, links: make([]link, len(f.Links)), ends: make([]end, 2*len(f.Links))}
	for i := range s.links {
		s.links[i] = link{Truth: Truth{false, true, [2]bool{true, true}}, aliveSince: longAgo,
			passSince: [2]int64{longAgo, longAgo}, signalAt: Never}
		s.ends[2*i].up, s.ends[2*i+1].up = true, true
	}
	return s
}

// Up says whether the end that sends a direction holds the adjacency.
func (s *Links) Up(direction int32) bool { return s.ends[direction].up }

func (s *Links) task(at int64, k Kind, a int32, gen uint32) {
	var router int32
	if k == Signal {
		router = s.f.Links[a].Lower
	} else {
		router = s.f.From(a)
	}
	s.Tasks = append(s.Tasks, Task{at, k, router, a, gen})
}

// Set tells of a link's state after all that changed at this instant.
func (s *Links) Set(id int32, now int64, is Truth) {
	l := &s.links[id]
	was := l.Truth
	l.Truth = is
	if is.Dark && !was.Dark {
		l.signalGen++
		l.signalAt = now + s.t.Signal
		s.task(l.signalAt, Signal, id, l.signalGen)
	}
	if !is.Dark && was.Dark && l.signalAt > now {
		l.signalGen++ // light again in time
	}
	if is.Alive && !was.Alive {
		l.aliveSince = now
	}
	for d := int32(0); d < 2; d++ {
		if was.Pass[d] && !is.Pass[d] {
			s.stops(id, d, now)
		}
	}
	for d := int32(0); d < 2; d++ {
		if !was.Pass[d] && is.Pass[d] {
			l.passSince[d] = now
			e := &s.ends[2*id+1-d]
			e.gen[Clock]++
			e.gen[Hold]++
		}
	}
	if was != is {
		s.mayRise(2*id, now)
		s.mayRise(2*id+1, now)
	}
}

// stops is direction d of a link no longer passing BFD packets and hellos.
func (s *Links) stops(id, d int32, now int64) {
	receiver := 2*id + 1 - d
	e := &s.ends[receiver]
	since := s.links[id].passSince[d]
	e.lastBFD = lastSent(e.lastBFD, since, now, s.t.BFDInterval)
	e.lastHi = lastSent(e.lastHi, since, now, s.t.HelloInterval)
	if !e.up {
		return
	}
	if s.t.BFD {
		e.gen[Clock]++
		s.task(max(now, e.lastBFD+s.t.BFDInterval*int64(s.t.BFDMultiplier)), Clock, receiver, e.gen[Clock])
	}
	if s.t.Hello {
		e.gen[Hold]++
		s.task(max(now, e.lastHi+s.t.HelloInterval*int64(s.t.HelloMultiplier)), Hold, receiver, e.gen[Hold])
	}
}

// lastSent is the arrival of the last packet before now, of those sent at
// multiples of the interval since packets pass; old if none was.
func lastSent(old, since, now, interval int64) int64 {
	if interval <= 0 {
		return old
	}
	last := floorDiv(now-1, interval) * interval
	if last >= since {
		return last
	}
	return old
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// basis is the instant since which all that an end needs to hold an adjacency
// is there, Never if it is not.
func (s *Links) basis(e int32) int64 {
	l := &s.links[e>>1]
	if !l.Alive {
		return Never
	}
	in := 1 - e&1
	switch {
	case s.t.BFD:
		if !l.Pass[0] || !l.Pass[1] {
			return Never
		}
		return max(l.passSince[0], l.passSince[1], l.aliveSince)
	case s.t.Hello:
		if !l.Pass[in] {
			return Never
		}
		return max(l.passSince[in], l.aliveSince)
	}
	return l.aliveSince
}

// mayRise sets the instant at which an end that is down comes up.
func (s *Links) mayRise(e int32, now int64) {
	x := &s.ends[e]
	x.gen[Rise]++
	if x.up {
		return
	}
	if b := s.basis(e); b != Never {
		s.task(max(now, b+s.t.Settle), Rise, e, x.gen[Rise])
	}
}

// Forget drops the ends of a router that went down itself.
func (s *Links) Forget(x int32) {
	for _, p := range s.f.Ports[x] {
		e := &s.ends[p.Out()]
		e.up = false
		for k := range e.gen {
			e.gen[k]++
		}
	}
}

// Back says that a router returned: neighbours that had not noticed its
// absence do so now.
func (s *Links) Back(x int32, now int64) {
	for _, p := range s.f.Ports[x] {
		e := p.In() // the neighbour's end
		if x := &s.ends[e]; x.up {
			x.reset = true
			x.gen[Reset]++
			s.task(now, Reset, e, x.gen[Reset])
			x.gen[Rise]++
			if b := s.basis(e); b != Never {
				s.task(max(now, b+s.t.Settle), Rise, e, x.gen[Rise])
			}
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
	if t.Kind == Signal {
		l := &s.links[t.A]
		if l.signalGen != t.Gen {
			return changes
		}
		l.signalAt = Never
		changes = s.down(2*t.A, now, changes)
		return s.down(2*t.A+1, now, changes)
	}
	e := &s.ends[t.A]
	if e.gen[t.Kind] != t.Gen {
		return changes
	}
	switch t.Kind {
	case Clock, Hold, Reset:
		return s.down(t.A, now, changes)
	case Rise:
		if !e.up && s.basis(t.A) != Never {
			e.up = true
			changes = append(changes, Change{t.A, true})
		}
	case Peer:
		return s.told(t.A, now, changes)
	}
	return changes
}

// down takes an end down if it is up.
func (s *Links) down(e int32, now int64, changes []Change) []Change {
	x := &s.ends[e]
	if !x.up {
		return changes
	}
	x.up = false
	x.gen[Clock]++
	x.gen[Hold]++
	if !x.reset { // its rise is already set
		s.mayRise(e, now)
	}
	x.reset = false
	if s.t.BFD && s.ends[e^1].up {
		s.tell(e^1, now)
	}
	return append(changes, Change{e, false})
}

// tell sets the instant of the next packet that can tell an end that the other
// is down.
func (s *Links) tell(e int32, now int64) {
	x := &s.ends[e]
	x.gen[Peer]++
	s.task((floorDiv(now, s.t.BFDInterval)+1)*s.t.BFDInterval, Peer, e, x.gen[Peer])
}

// told is such a packet's instant.
func (s *Links) told(e int32, now int64, changes []Change) []Change {
	if s.ends[e^1].up || !s.ends[e].up {
		return changes
	}
	in := 1 - e&1
	if !s.links[e>>1].Pass[in] {
		s.tell(e, now)
		return changes
	}
	return s.down(e, now, changes)
}

// FalseDown takes both ends of a session down although the link passes: too
// many packets were lost in a row at the end. They come up again at the
// instant given.
func (s *Links) FalseDown(e int32, now, again int64, changes []Change) []Change {
	for _, x := range [2]int32{e, e ^ 1} {
		if s.ends[x].up {
			s.ends[x].up = false
			s.ends[x].gen[Clock]++
			s.ends[x].gen[Hold]++
			changes = append(changes, Change{x, false})
		}
		s.ends[x].gen[Rise]++
		s.task(again, Rise, x, s.ends[x].gen[Rise])
	}
	return changes
}
