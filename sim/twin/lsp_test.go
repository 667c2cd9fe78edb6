package twin

import (
	"maps"
	"slices"
)

// lsp is one link-state PDU: every adjacency its origin holds, with metric.
type lsp struct {
	origin, seq int
	links       map[int]int64
	overload    bool
	born        int // its place among LSPs and adjacencies that come up, in the order of events
}

func copyDB(db map[int]*lsp) map[int]*lsp { return maps.Clone(db) }

// same: equal adjacencies, metrics and overload bit. No LSP equals none.
func (a *lsp) same(b *lsp) bool {
	return a != nil && b != nil && a.overload == b.overload && maps.Equal(a.links, b.links)
}

// compose writes the LSP of r as of now (S9).
func (s *sim) compose(r, seq int) *lsp {
	s.births++
	out := &lsp{origin: r, seq: seq, links: map[int]int64{}, overload: s.heldBit(r), born: s.births}
	for _, l := range s.heldLinks(r) {
		out.links[l] = s.heldMetric(r, l, -1)
	}
	return out
}

// ask: an adjacency, metric or overload change at r asks for a new LSP (S9).
func (s *sim) ask(r int) {
	if !s.ctl[r] {
		return
	}
	x := &s.routers[r]
	if due := x.gen.change(s.scn.Timers.LSPGeneration, s.now); due >= 0 {
		s.plan(due, event{kind: evLSPGeneration, router: r, token: x.epoch})
	}
}

func (s *sim) generationEnds(e *event) {
	r := e.router
	x := &s.routers[r]
	if x.epoch != e.token {
		return
	}
	x.gen.expires(s.scn.Timers.LSPGeneration)
	s.hurry(r)
	next := s.compose(r, x.seq+1)
	if next.same(x.db[r]) {
		s.igpEvent(r)
		return
	}
	x.seq++
	x.db[r] = next
	x.originations = append(x.originations, s.now)
	s.igpEvent(r) // S10
	s.wantFlood(r, next)
}

// send brings an LSP to a router by S11, from where it was flooded.
func (s *sim) send(to int, at int64, p *lsp) {
	s.plan(at, event{kind: evArrive, router: to, part: p.origin, lsp: p})
}

// cross brings an LSP over one link by S12. What comes over one link at one
// instant comes as a whole, after what was flooded; with pacing one by one.
func (s *sim) cross(to int, at int64, p *lsp, l int) {
	e := event{kind: evCross, router: to, part: l, over: l, lsp: p}
	if s.scn.Flooding.Pacing.On {
		e.part, e.newer = p.origin, p.seq
	}
	s.plan(at, e)
}

// arrive is the arrival of an LSP at a router (S11, S12, S14).
func (s *sim) arrive(e *event) {
	r, p := e.router, e.lsp
	x := &s.routers[r]
	if !s.ctl[r] || p.origin == r {
		return
	}
	old := x.db[p.origin]
	if old != nil && old.seq > p.seq {
		s.answer(e, old)
	}
	if old != nil && old.seq >= p.seq {
		return
	}
	viewBefore := s.view(x.db)
	x.db[p.origin] = p
	changed := !p.same(old)
	if !viewBefore.equal(s.view(x.db)) {
		s.hurry(r)
	}
	if changed && !s.scn.Flooding.SecondLSPCounts {
		changed = !viewBefore.equal(s.view(x.db))
	}
	if changed {
		s.igpEvent(r)
	}
	if e.kind == evCross {
		s.wantFlood(r, p)
	}
	s.passOn(r, p)
}

// passOn sends an LSP that reached r over every adjacency of r that came up since
// it was originated, and over links that could not carry it before (S12).
func (s *sim) passOn(r int, p *lsp) {
	for _, l := range s.linksOf[r] {
		line := &s.lines[l]
		if !s.bothHeld(l) {
			continue
		}
		late := line.upSince > p.born && s.flows(l)
		kept := slices.Contains(line.pending, p)
		switch {
		case (late || kept) && s.alive[l] && s.carries(2*l+s.end(l, r)):
			s.cross(s.far(l, r), s.now+s.perHop(r), p, l)
		case late && !kept:
			line.pending = append(line.pending, p)
		}
	}
}

// crossPending: link l is alive again with its adjacency up all the while. What
// could not cross it does so now, from an end that has it.
func (s *sim) crossPending(l int) {
	for _, p := range s.lines[l].pending {
		for e, r := range s.links[l].ends {
			if s.routers[r].db[p.origin] == p && s.carries(2*l+e) {
				s.cross(s.links[l].ends[1-e], s.now+s.perHop(r), p, l)
			}
		}
	}
}

// flood starts a flood of p from r now (S11).
func (s *sim) flood(r int, p *lsp) {
	after := s.floodTimes(r, p)
	for to := range s.names {
		if to != r && after[to] >= 0 {
			s.send(to, s.now+after[to], p)
		}
	}
	for l := range s.lines {
		if line := &s.lines[l]; s.flows(l) && !(s.alive[l] && s.carries(2*l) && s.carries(2*l+1)) && !slices.Contains(line.pending, p) {
			line.pending = append(line.pending, p)
		}
	}
}

// floodTimes is the quickest way of p from r to every router over links alive and with
// the adjacency up at both ends, each hop at the pace of its sender; -1: no way. It does
// not go on from a router that has p already, or that p is of.
func (s *sim) floodTimes(r int, p *lsp) []int64 {
	after := make([]int64, len(s.names))
	for i := range after {
		after[i] = -1
	}
	after[r] = 0
	for again := true; again; { // relax until nothing changes
		again = false
		for l, k := range s.links {
			if !s.flows(l) || !s.alive[l] {
				continue
			}
			for e, from := range k.ends {
				to := k.ends[1-e]
				had := s.routers[from].db[p.origin]
				if after[from] < 0 || !s.carries(2*l+e) || from != r && (from == p.origin || had != nil && had.seq >= p.seq) {
					continue
				}
				if t := after[from] + s.perHop(from); after[to] < 0 || t < after[to] {
					after[to], again = t, true
				}
			}
		}
	}
	return after
}

// adjacencyUp: the adjacency of l is up at both ends. Each end is sent what the
// other has and it has not, or has older (S12).
func (s *sim) adjacencyUp(l int) {
	s.births++
	s.lines[l].upSince = s.births
	for e, to := range s.links[l].ends {
		from := s.links[l].ends[1-e]
		var news []*lsp
		for origin := range s.names {
			theirs, ours := s.routers[from].db[origin], s.routers[to].db[origin]
			if origin != to && theirs != nil && (ours == nil || ours.seq < theirs.seq) {
				news = append(news, theirs)
			}
		}
		at := s.now + s.perHop(from) + s.lastLeaves(len(news)+s.hostsOf(news, to), s.perHop(from))
		for _, p := range news {
			s.cross(to, at, p, l)
		}
		if x := &s.routers[to]; !x.firstAdj {
			x.firstAdj = true
			s.plan(at, event{kind: evExchanged, router: to, part: l, token: x.epoch})
		}
	}
}

func (s *sim) exchangeDone(e *event) {
	if x := &s.routers[e.router]; x.epoch == e.token {
		x.exchanged = true
	}
}
