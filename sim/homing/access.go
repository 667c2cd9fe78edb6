package homing

// turn is an end of an access link noticing what became of it.
func (s *Servers) turn(t Task, now int64) {
	l := &s.links[t.A]
	if l.gen[t.Kind] != t.Gen {
		return
	}
	x := s.plan.At(t.A)
	s.spoilPair(s.PairOf(x))
	s.look(x)
	switch t.Kind {
	case Server:
		l.uses = !l.uses
		s.tellLink([2]string{"servers leave", "servers use again"}, t.A, l.uses)
	case Leaf:
		l.local = !l.local
		s.tellLink([2]string{"leaves notice the loss of", "leaves notice the return of"}, t.A, l.local)
		s.announce(t.A, l.local, now)
	case Announce:
		l.announced = t.B == 1
		s.tellLink([2]string{"withdrawn from other leaves:", "announced to other leaves:"}, t.A, l.announced)
	}
}

// later makes an end of a link notice something at a time, and nothing that it
// was to notice before.
func (s *Servers) later(k Kind, link int32, at int64) {
	l := &s.links[link]
	l.gen[k]++
	if at < Never {
		s.Tasks = append(s.Tasks, Task{at, k, link, 0, l.gen[k]})
	}
}

// announce has other leaves know, in a while, whether a leaf hands over to an
// access link.
func (s *Servers) announce(link int32, up bool, now int64) {
	l := &s.links[link]
	l.gen[Announce]++
	t := Task{now + s.plan.Withdraw, Announce, link, 0, l.gen[Announce]}
	if up {
		t.B = 1
	}
	s.Tasks = append(s.Tasks, t)
}

// ofItself is what a leaf does with its access links because of what became of
// itself, nil for nothing.
func (s *Servers) ofItself(x int32) func(x, link int32, now int64) {
	at := &s.leaves[x]
	had, was := at.dropped, at.was
	at.dropped, at.was = s.plan.FollowUplinks && at.alive && !at.uplinks, at.alive
	switch {
	case was && !at.alive: // it says no more
		s.spoilPair(s.PairOf(x))
		return func(_, link int32, _ int64) {
			s.links[link].local = false
			s.later(Leaf, link, Never)
			s.later(Announce, link, Never)
		}
	case !was && at.alive, had && !at.dropped: // what it announced before, it announces anew
		s.spoilPair(s.PairOf(x))
		return func(_, link int32, _ int64) {
			s.links[link].announced = false
			s.later(Announce, link, Never)
		}
	case !had && at.dropped: // nobody would hear of it
		s.spoilPair(s.PairOf(x))
		return func(_, link int32, _ int64) {
			if l := &s.links[link]; !l.cut {
				l.local = false
				s.later(Leaf, link, Never)
			}
		}
	}
	return nil
}

// follow brings an access link up to what is so.
func (s *Servers) follow(x, link int32, now int64) {
	l, at := &s.links[link], &s.leaves[x]
	works := !l.cut && at.alive && !at.dropped
	lit := !l.cut && at.light && !at.dropped
	if !works {
		s.accuse(x, link)
	}
	if l.works == works && l.lit == lit {
		return
	}
	was := l.works
	l.works, l.lit = works, lit
	if was != works {
		s.spoilPair(s.PairOf(x))
		s.count(link, now)
	}
	switch {
	case !works:
		s.goes(link, was, now)
	case !was:
		s.comes(link, now)
	}
}

// accuse finds the oldest fault that keeps an access link from working.
func (s *Servers) accuse(x, link int32) {
	l, at := &s.links[link], &s.leaves[x]
	fault := int32(-1)
	if l.cut {
		fault = l.cutter
	}
	if !at.alive || at.dropped {
		fault = s.oldest(fault, at.fault)
	}
	if l.fault != fault {
		l.fault = fault
		s.spoilPair(s.PairOf(x))
	}
}

// comes is an access link that works again: either end trusts it after a while,
// unless it did not notice that it was gone.
func (s *Servers) comes(link int32, now int64) {
	l := &s.links[link]
	server, leaf := int64(Never), int64(Never)
	if !l.uses {
		server = now + s.settle
	}
	if !l.local {
		leaf = now + s.settle
	}
	s.later(Server, link, server)
	s.later(Leaf, link, leaf)
}

// goes is an access link that does not work, or has another light than before.
func (s *Servers) goes(link int32, was bool, now int64) {
	l := &s.links[link]
	if was {
		l.since = now
	}
	due := int64(Never)
	if l.uses && s.plan.Keepalive < Never {
		due = max(now, l.since+s.plan.Keepalive)
	}
	if l.uses && !l.lit {
		due = min(due, now+s.signal)
	}
	s.later(Server, link, due)
	switch {
	case !l.local:
		s.later(Leaf, link, Never)
	case was:
		s.later(Leaf, link, now+s.signal)
	}
}
