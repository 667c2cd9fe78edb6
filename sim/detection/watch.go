package detection

import "halflight/model/fabric"

// watch is periodic packets over a link whose absence takes an end down. Both
// ends of a session settle together, once both directions pass; in one way only
// each end for itself. Arrays are by end, or by direction: the sender's end.
type watch struct {
	up       [2]bool
	settling [2]bool
	from     [2]int64 // settling since
	since    [2]int64 // the direction passes since
	last     [2]int64 // last arrival, known when packets stop
	stopGen  [2]uint32
	downs    [2]uint32 // counts going down
	riseGen  [2]uint32
}

func newWatches(n int) []watch {
	all := make([]watch, n)
	for i := range all {
		all[i] = watch{up: [2]bool{true, true}, since: [2]int64{longAgo, longAgo}, last: [2]int64{longAgo, longAgo}}
	}
	return all
}

func (w *watch) stopSettling(e int32) {
	w.settling[e] = false
	w.riseGen[e]++
}

// watchKind tells BFD from hellos.
type watchKind struct {
	of               func(*Links) []watch
	late, peer, rise Kind
	pace             func(s *Links, id, d int32) (interval, hold int64)
	twoWay           func(*Links) bool
	passes           func(*link, int32) bool
	jitter           func(*Links) float64
	last, next       Packet
}

var bfdWatch = watchKind{
	of: func(s *Links) []watch { return s.bfd }, late: Clock, peer: Peer, rise: Rose,
	pace: func(s *Links, id, d int32) (int64, int64) {
		l := &s.f.Links[id]
		from, to := s.f.Routers[l.Lower].Class, s.f.Routers[l.Upper].Class
		if d == 1 {
			from, to = to, from
		}
		return s.bfdPace(from, to)
	},
	twoWay: func(*Links) bool { return true },
	passes: func(l *link, d int32) bool { return l.Pass[d] },
	jitter: func(s *Links) float64 { return s.t.BFDJitter }, last: LastBFD, next: NextBFD,
}

var helloWatch = watchKind{
	of: func(s *Links) []watch { return s.hello }, late: Hold, peer: Shaken, rise: Greeted,
	pace: func(s *Links, _, _ int32) (int64, int64) {
		return s.t.HelloInterval, s.t.HelloInterval * int64(s.t.HelloMultiplier)
	},
	twoWay: func(s *Links) bool { return s.t.ThreeWay },
	passes: func(l *link, d int32) bool { return l.Hello[d] },
	jitter: func(s *Links) float64 { return s.t.HelloJitter }, last: LastHello, next: NextHello,
}

// bfdPace is how often one class sends to another, and for how long the receiver
// waits.
func (s *Links) bfdPace(from, to fabric.Class) (interval, hold int64) {
	interval, multiplier := s.t.BFDPace(uint8(from), uint8(to))
	return interval, interval * int64(multiplier)
}

// lastPacket is when the last packet of a direction left before now. Without jitter
// they leave at multiples of the interval.
func (s *Links) lastPacket(k *watchKind, id, d int32, now int64) int64 {
	if p, ok := s.jittered(k, id, d); ok {
		return now - p.Away(s.draw(k.last, 2*id+d, now))
	}
	interval, _ := k.pace(s, id, d)
	return floorDiv(now-1, interval) * interval
}

// nextPacket is when the next one leaves after now.
func (s *Links) nextPacket(k *watchKind, id, d int32, now int64) int64 {
	if p, ok := s.jittered(k, id, d); ok {
		return now + p.Away(s.draw(k.next, 2*id+d, now))
	}
	interval, _ := k.pace(s, id, d)
	return (floorDiv(now, interval) + 1) * interval
}

// jittered is the law of the packets of a direction, if they have jitter.
func (s *Links) jittered(k *watchKind, id, d int32) (p Phase, ok bool) {
	jitter := k.jitter(s)
	if s.draw == nil || jitter == 0 {
		return p, false
	}
	interval, hold := k.pace(s, id, d)
	return NewPhase(int(hold/interval), interval, jitter), true
}

// turn is a direction of a link that begins or stops to pass packets. They arrive at
// once; one sent as a fault begins is lost.
func (s *Links) turn(k *watchKind, id, d int32, passes bool, now int64) {
	w, receiver := &k.of(s)[id], 1-d
	w.stopGen[d]++
	if passes {
		w.since[d] = now
		s.maySettle(k, id, receiver, now)
		return
	}
	_, hold := k.pace(s, id, d)
	if last := s.lastPacket(k, id, d, now); last >= w.since[d] {
		w.last[d] = last
	}
	end := w.last[d] + hold
	if w.settling[receiver] {
		if !s.links[id].Alive { // a cut starts the count anew
			w.stopSettling(receiver)
			if k.twoWay(s) {
				w.stopSettling(d)
			}
		} else if !w.up[receiver] { // an end that is up goes by the last packet alone
			end = max(end, w.from[receiver]+hold)
		}
	}
	s.task(max(end, now), k.late, 2*id+receiver, w.stopGen[d])
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// maySettle starts the settle time of an end that is down, or of both ends of a
// session, once packets pass.
func (s *Links) maySettle(k *watchKind, id, e int32, now int64) {
	w, l := &k.of(s)[id], &s.links[id]
	if !k.twoWay(s) {
		if !w.up[e] && !w.settling[e] && k.passes(l, 1-e) {
			s.settles(k, id, e, now)
		}
		return
	}
	if (w.up[0] && w.up[1]) || w.settling[0] || w.settling[1] || !k.passes(l, 0) || !k.passes(l, 1) {
		return
	}
	s.settles(k, id, 0, now)
	s.settles(k, id, 1, now)
}

func (s *Links) settles(k *watchKind, id, e int32, now int64) {
	w := &k.of(s)[id]
	w.settling[e], w.from[e] = true, now
	w.riseGen[e]++
	s.task(now+s.t.Settle, k.rise, 2*id+e, w.riseGen[e])
}

// silent is nothing having come to an end in time.
func (s *Links) silent(k *watchKind, t Task, now int64, changes []Change) []Change {
	id, e := t.A>>1, t.A&1
	w := &k.of(s)[id]
	if w.stopGen[1-e] != t.Gen {
		return changes
	}
	for _, x := range [2]int32{e, 1 - e} {
		if w.settling[x] && (x == e || k.twoWay(s)) {
			w.stopSettling(x)
		}
	}
	if w.up[e] { // else a router at the link is back at this instant: the end is down all the same
		w.up[e] = false
		w.downs[e]++
		if k.twoWay(s) {
			s.tell(k, id, e, now)
		}
	}
	return s.judge(t.A, changes)
}

// tell sets the instant of the next packet by which an end that is down tells
// the other.
func (s *Links) tell(k *watchKind, id, e int32, now int64) {
	s.task(s.nextPacket(k, id, e, now), k.peer, 2*id+1-e, k.of(s)[id].downs[e])
}

// told is such a packet's instant at the other end.
func (s *Links) told(k *watchKind, t Task, now int64, changes []Change) []Change {
	id, e := t.A>>1, t.A&1
	w := &k.of(s)[id]
	if w.up[1-e] || !w.up[e] || w.downs[1-e] != t.Gen {
		return changes
	}
	if !k.passes(&s.links[id], 1-e) {
		s.tell(k, id, 1-e, now)
		return changes
	}
	if w.up[e] = Handshake(Up, Down) == Up; !w.up[e] { // what the other says ends it
		w.downs[e]++
	}
	return s.judge(t.A, changes)
}

// risen is an end that has settled.
func (s *Links) risen(k *watchKind, t Task, changes []Change) []Change {
	w, e := &k.of(s)[t.A>>1], t.A&1
	if w.riseGen[e] != t.Gen {
		return changes
	}
	w.up[e], w.settling[e] = true, false
	return s.judge(t.A, changes)
}
