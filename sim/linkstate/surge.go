package linkstate

import "halflight/model/timer"

// A surge is one IGP event at many routers at one instant: what [Control.event]
// does, for routers that all have one SPF back-off of RFC 8405, with sums kept at
// hand. Its twin is Control.event itself.
type surge struct {
	quick      bool // it may be used
	fault      int32
	now        int64
	spf        *timer.SPF
	heard      []int64 // by router, if the fault is followed
	batch      int32   // of timers that expire at the instant below; -1 for none at hand
	at         int64
	list       []int32 // that batch
	leaf, core waitSums
	events     bool
	leaves     int32
	had        moments  // of the machine before, from which follow
	passed     waitSums // the time since it was touched last, by state,
	wound      bool     // whether some of it was not at rest,
	began      int64    // the busy stretch that it is in from now on,
	expires    int64    // and its timer, if that starts now
	off        int64    // machines with such moments and no timer so far
	offLeaves  int64    // of them, leaves
}

// moments are those of a machine that an event depends on.
type moments struct{ first, last, since int64 }

// waitSums is what a surge adds to a book of waits.
type waitSums struct{ rest, short, long int64 }

// beginSurge begins a surge.
func (c *Control) beginSurge(fault int32, now int64) surge {
	return surge{quick: c.mixed == nil && c.t.SPF.Family == timer.RFC8405, fault: fault, now: now, spf: &c.t.SPF, had: moments{since: -1}, batch: -1, leaves: int32(c.f.Leaves)}
}

// event is the event at x.
func (w *surge) event(c *Control, x int32) {
	if !w.events {
		w.events, w.heard = true, c.heard.Of(w.fault, w.now, len(c.routers))
	}
	b, now := &c.backs[x], w.now
	if is := (moments{b.first, b.last, b.since}); is != w.had {
		w.step(is)
	}
	b.state[0] += w.passed.rest
	if w.wound {
		b.state[1] += w.passed.short
		b.state[2] += w.passed.long
	}
	off := b.spfAt == Never
	if off {
		w.off++
		if x < w.leaves {
			w.offLeaves++
		}
	}
	b.since = max(b.since, now)
	if w.heard != nil && (w.heard[x] < c.ranFrom[x] || w.heard[x] == longAgo) {
		w.heard[x] = now
	}
	b.first, b.last = w.began, now
	if !off {
		return
	}
	b.armed, b.spfAt, b.fault = now, w.expires, w.fault
	if w.batch < 0 || b.spfAt != w.at {
		w.putBack(c)
		w.at = b.spfAt
		w.batch = c.join(w.at, Expire, x)
		w.list = c.batches.all[w.batch]
		return
	}
	w.list = append(w.list, x)
}

// step finds what the event does to machines with such moments: most routers have
// those of the router before.
func (w *surge) step(m moments) {
	p, now := w.spf, w.now
	w.sum()
	learned, held := m.first+p.TimeToLearn, m.last+p.Holddown
	w.had = m
	w.passed = waitSums{
		rest:  max(now-max(m.since, held), 0),
		short: max(min(now, learned, held)-m.since, 0),
		long:  max(min(now, held)-max(m.since, learned), 0),
	}
	w.wound = w.passed.short != 0 || w.passed.long != 0
	w.began = m.first
	wait := p.Short
	switch {
	case now >= held:
		w.began, wait = now, p.Initial
	case now >= learned:
		wait = p.Long
	}
	w.expires = now + wait
}

// sum adds up for the machines with the moments at hand.
func (w *surge) sum() {
	w.leaf.add(&w.passed, w.offLeaves)
	w.core.add(&w.passed, w.off-w.offLeaves)
	w.off, w.offLeaves = 0, 0
}

func (s *waitSums) add(o *waitSums, times int64) {
	s.rest += times * o.rest
	s.short += times * o.short
	s.long += times * o.long
}

// putBack gives the batch at hand back.
func (w *surge) putBack(c *Control) {
	if w.batch >= 0 {
		c.batches.all[w.batch] = w.list
	}
	w.batch = -1
}

// end closes the surge.
func (w *surge) end(c *Control) {
	w.putBack(c)
	if !w.events {
		return
	}
	w.sum()
	c.books.leaves.addSums(w.leaf)
	c.books.others.addSums(w.core)
}

// addSums adds what a surge added up.
func (w *waitBook) addSums(s waitSums) {
	w.restTime += float64(s.rest)
	w.shortTime += float64(s.short)
	w.longTime += float64(s.long)
}
