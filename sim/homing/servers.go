// Package homing is what servers and leaves believe of the links between them,
// and what leaves believe of the servers of others (rule S27).
//
// It is told what is so at the end of an instant: which access links are cut,
// which leaves are alive, have uplinks and miss one another in their tables, and
// between which nothing passes. It returns what must follow, and the weights with
// which the traffic between two leaves counts. It knows no queue, no tables and no
// faults but by number. It is tested against a twin that looks back over histories
// and walks over every pair of groups, by scripts worked by hand, and against
// closed forms.
package homing

import (
	"halflight/model/fabric"
	"halflight/model/homing"
)

// Kind says what is due.
type Kind uint8

// The kinds of task. A is an access link, a group, or a leaf that looks at the
// other, B.
const (
	Server   Kind = iota // servers notice that an attachment went or came
	Leaf                 // a leaf notices the same of an access link
	Announce             // other leaves know of it
	Forget               // a leaf was missing from a table for too long
	Drop                 // nothing passed between two leaves for too long
	Move                 // replicas of a group that is cut off move
)

// Task is something that is due at a time.
type Task struct {
	At   int64
	Kind Kind
	A, B int32
	Gen  uint32
}

// Never is a time that does not come.
const Never = homing.Never

// access is one access link.
type access struct {
	cut, lit  bool  // as told: a fault has it; the leaf's end has light
	works     bool  // what is sent over it arrives
	uses      bool  // its servers send over it
	local     bool  // its leaf hands over what is for its servers
	announced bool  // other leaves know that it does
	since     int64 // not working since
	cutter    int32 // the fault that cuts it
	fault     int32 // the oldest that keeps it from working, or did last
	gen       [3]uint32
}

// leaf is one leaf.
type leaf struct {
	alive, light bool
	uplinks      bool
	was          bool // alive, when it was looked at last
	dropped      bool // without uplinks, it took its access links down
	fault        int32
}

// group is one group of servers.
type group struct {
	cutSince int64 // -1: not cut off
	moved    bool
	gen      uint32
}

// sight is what a leaf has of another.
type sight struct {
	missing, forgotten bool // from the table
	dark, down         bool // nothing passes; the session dropped
	fault              int32
	gen                [2]uint32
}

// Cutoff is how long groups of servers had no way at all, all of one leaf that
// shared the time.
type Cutoff struct {
	From, To int64
	Groups   int32
}

// Servers is the state of all servers of a replication.
type Servers struct {
	plan   *homing.Plan
	f      *fabric.Fabric
	signal int64
	settle int64

	links  []access
	leaves []leaf
	groups []group
	sights []sight // by leaf that looks and leaf looked at
	pairs  []pair

	toDo      []int32 // leaves to look at when the instant is closed
	isToDo    []bool
	stale     []bool // by block
	loses     []bool // by block: something is lost at servers
	Stale     []int32
	Tasks     []Task
	Resets    int64 // sessions that dropped since from
	from      int64
	Cutoffs   []Cutoff
	lost      float64 // access links that did not work, in ns, since from
	lostSince []int64 // by access link, -1 while it works

	// Older says which of two faults began first. Blame finds the fault because of
	// which a leaf has nothing of another. Path says whether routing may have a path to
	// the one from the other; when that changed, Rethink follows.
	Older func(a, b int32) bool
	Blame func(leaf, of int32) int32
	Path  func(to, from int32) bool
	// Tell, if given, is told what happens, and to which of its kind.
	Tell func(what, to string)
}

// New returns servers of which all is well at time 0. Signal and settle are until
// an end notices that light went, and trusts it again. What is counted counts from
// a time on.
func New(plan *homing.Plan, f *fabric.Fabric, signal, settle, from int64) *Servers {
	n := f.Leaves
	s := &Servers{plan: plan, f: f, signal: signal, settle: settle, from: from, links: make([]access, plan.Access(f)),
		leaves: make([]leaf, n), groups: make([]group, n*plan.Groups), sights: make([]sight, n*n), isToDo: make([]bool, n),
		pairs: make([]pair, n/plan.Attachments), lostSince: make([]int64, plan.Access(f))}
	for i := range s.links {
		s.links[i] = access{lit: true, works: true, uses: true, local: true, announced: true, cutter: -1, fault: -1}
		s.lostSince[i] = -1
	}
	for i := range s.leaves {
		s.leaves[i] = leaf{alive: true, light: true, uplinks: true, was: true, fault: -1}
	}
	for i := range s.groups {
		s.groups[i].cutSince = -1
	}
	for i := range s.sights {
		s.sights[i].fault = -1
	}
	s.stale, s.loses = make([]bool, len(s.pairs)*len(s.pairs)), make([]bool, len(s.pairs)*len(s.pairs))
	for p := range s.pairs {
		s.sortOut(int32(p))
		for q := range s.pairs {
			s.spoil(int32(p), int32(q))
		}
	}
	return s
}

// Cut says that an access link is cut by a fault, or no longer.
func (s *Servers) Cut(link int32, cut bool, fault int32) {
	l := &s.links[link]
	l.cut, l.cutter = cut, fault
	s.look(s.plan.At(link))
}

// SetLeaf says whether a leaf is alive, whether it has light, and by which fault
// it is not.
func (s *Servers) SetLeaf(x int32, alive, light bool, fault int32) {
	l := &s.leaves[x]
	l.alive, l.light = alive, light
	if fault >= 0 {
		l.fault = fault
	}
	s.look(x)
}

// SetUplinks says whether a leaf believes that it has an uplink, and by which
// fault it does not.
func (s *Servers) SetUplinks(x int32, any bool, fault int32) {
	l := &s.leaves[x]
	if l.uplinks == any {
		return
	}
	if l.uplinks = any; !any {
		l.fault = fault
	}
	s.look(x)
}

func (s *Servers) look(x int32) {
	if !s.isToDo[x] {
		s.isToDo[x] = true
		s.toDo = append(s.toDo, x)
	}
}

// at is the place of what leaf a has of leaf b.
func (s *Servers) at(a, b int32) *sight { return &s.sights[int(a)*len(s.leaves)+int(b)] }

// Missing says whether leaf a has no entry for leaf b.
func (s *Servers) Missing(a, b int32, missing bool, now int64) {
	v := s.at(a, b)
	if a == b || v.missing == missing {
		return
	}
	v.missing = missing
	v.gen[0]++
	if missing {
		v.fault = s.Blame(a, b)
		s.Tasks = append(s.Tasks, Task{now + s.plan.Tracking, Forget, a, b, v.gen[0]})
	} else if v.forgotten {
		v.forgotten = false
		s.spoil(s.PairOf(a), s.PairOf(b))
	}
}

// Dark says whether nothing at all passes from leaf a to leaf b, or back.
func (s *Servers) Dark(a, b int32, dark bool, now int64) {
	a, b = min(a, b), max(a, b)
	v := s.at(a, b)
	if v.dark == dark {
		return
	}
	v.dark = dark
	v.gen[1]++
	if dark {
		fault := s.Blame(a, b)
		v.fault, s.at(b, a).fault = fault, fault
		s.Tasks = append(s.Tasks, Task{now + s.plan.Hold, Drop, a, b, v.gen[1]})
		return
	}
	if v.down {
		s.session(a, b, false)
		s.tell("overlay sessions are up again:", s.between(a, b))
	}
}

func (s *Servers) session(a, b int32, down bool) {
	s.at(a, b).down, s.at(b, a).down = down, down
	s.spoil(s.PairOf(a), s.PairOf(b))
	s.spoil(s.PairOf(b), s.PairOf(a))
}

// Do carries out a task.
func (s *Servers) Do(t Task, now int64) {
	switch t.Kind {
	case Server, Leaf, Announce:
		s.turn(t, now)
	case Forget:
		if v := s.at(t.A, t.B); v.gen[0] == t.Gen {
			v.forgotten = true
			s.spoil(s.PairOf(t.A), s.PairOf(t.B))
			if !s.leaves[t.A].alive {
				return
			}
			s.tell("the servers of "+s.f.Routers[t.B].Name+" are forgotten by", s.f.Routers[t.A].Name)
		}
	case Drop:
		if v := s.at(t.A, t.B); v.gen[1] == t.Gen {
			s.session(t.A, t.B, true)
			s.tell("overlay sessions drop:", s.between(t.A, t.B))
			if now >= s.from {
				s.Resets++
			}
		}
	case Move:
		if g := &s.groups[t.A]; g.gen == t.Gen {
			g.moved = true
			s.spoilPair(s.PairOf(t.A / int32(s.plan.Groups)))
			s.tell("replicas move away from", s.plan.GroupName(s.f, t.A/int32(s.plan.Groups), int(t.A)%s.plan.Groups))
		}
	}
}

// Close closes an instant: ends of links begin to notice what changed, and groups
// are cut off or no longer.
func (s *Servers) Close(now int64) {
	for _, x := range s.toDo {
		s.isToDo[x] = false
		s.each(x, s.ofItself(x), now)
		s.each(x, s.follow, now)
		for leaf := range s.homes(x) {
			for k := range s.plan.Groups {
				s.reach(leaf, k, now)
			}
		}
	}
	s.toDo = s.toDo[:0]
}

// homes calls back for each leaf that is the first of groups attached to x.
func (s *Servers) homes(x int32) func(func(int32) bool) {
	return func(yield func(int32) bool) {
		if yield(x) && s.plan.Attachments == 2 {
			yield(s.plan.Mate(x))
		}
	}
}

// each calls back for each access link of a leaf.
func (s *Servers) each(x int32, do func(x, link int32, now int64), now int64) {
	if do == nil {
		return
	}
	for leaf := range s.homes(x) {
		for k := range s.plan.Groups {
			for j := range s.plan.Attachments {
				if link := s.plan.Link(leaf, k, j); s.plan.At(link) == x {
					do(x, link, now)
				}
			}
		}
	}
}

// count keeps the time during which access links do not work.
func (s *Servers) count(link int32, now int64) {
	if !s.links[link].works {
		s.lostSince[link] = now
		return
	}
	s.lost += span(s.lostSince[link], now, s.from)
	s.lostSince[link] = -1
}

func span(since, now, from int64) float64 { return float64(max(now, from) - max(since, from)) }

// reach finds whether a group of servers is cut off.
func (s *Servers) reach(home int32, k int, now int64) {
	id := home*int32(s.plan.Groups) + int32(k)
	g := &s.groups[id]
	cut := true
	for j := range s.plan.Attachments {
		link := s.plan.Link(home, k, j)
		l := &s.links[link]
		cut = cut && !(l.uses && l.works && s.leaves[s.plan.At(link)].uplinks)
	}
	switch {
	case cut && g.cutSince < 0:
		g.cutSince = now
		g.gen++
		if s.plan.MovesShare > 0 {
			s.Tasks = append(s.Tasks, Task{now + s.plan.MovesWithin, Move, id, 0, g.gen})
		}
	case !cut && g.cutSince >= 0:
		s.endCutoff(g, now)
		g.gen++
		if g.moved {
			g.moved = false
			s.spoilPair(s.PairOf(home))
		}
	}
}

func (s *Servers) endCutoff(g *group, now int64) {
	from := g.cutSince
	g.cutSince = -1
	if now <= max(from, s.from) {
		return
	}
	if n := len(s.Cutoffs); n > 0 && s.Cutoffs[n-1].From == from && s.Cutoffs[n-1].To == now {
		s.Cutoffs[n-1].Groups++
		return
	}
	s.Cutoffs = append(s.Cutoffs, Cutoff{from, now, 1})
}

// Finish ends at the horizon what is still open. It returns the time during which
// access links did not work, summed over them, in ns.
func (s *Servers) Finish(now int64) float64 {
	for i := range s.groups {
		if s.groups[i].cutSince >= 0 {
			s.endCutoff(&s.groups[i], now)
		}
	}
	for i, since := range s.lostSince {
		if since >= 0 {
			s.lost += span(since, now, s.from)
			s.lostSince[i] = now
		}
	}
	return s.lost
}

func (s *Servers) tell(what, to string) {
	if s.Tell != nil {
		s.Tell(what, to)
	}
}

func (s *Servers) tellLink(what [2]string, link int32, up bool) {
	if up {
		s.tell(what[1], s.plan.Name(s.f, link))
	} else {
		s.tell(what[0], s.plan.Name(s.f, link))
	}
}

func (s *Servers) between(a, b int32) string {
	return s.f.Routers[a].Name + " and " + s.f.Routers[b].Name
}

// Has says whether a leaf forgot the servers of another, and whether the session
// of the two dropped.
func (s *Servers) Has(a, b int32) (forgotten, down bool) {
	v := s.at(a, b)
	return v.forgotten, v.down
}

// Believed is what is so and believed of an access link: it works, its servers use it, its leaf
// hands over to it, other leaves know that it does.
func (s *Servers) Believed(link int32) (works, uses, local, announced bool) {
	l := &s.links[link]
	return l.works, l.uses, l.local, l.announced
}
