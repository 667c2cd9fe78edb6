package twin

import "slices"

// entriesBefore is how many table entries are written up to and with each of the
// changed destinations: prefixes of each family and their labels, or one for a
// next-hop group that moves as a whole.
func (s *sim) entriesBefore(r int, changed []*write) []int64 {
	of := max(1, s.scn.FIB.Prefixes) * (1 + s.scn.FIB.Labels)
	if s.scn.FIB.Families == "both" {
		of *= 2
	}
	now := func(d int) []int {
		x := &s.routers[r]
		hops := x.table[d].hops
		if e := x.kept[d]; e != nil {
			hops = e.hops
		}
		for _, w := range x.pending {
			if w.dest == d {
				hops = w.hops
			}
		}
		return hops
	}
	out := make([]int64, len(changed))
	n := int64(0)
	for i, w := range changed {
		if out[i] > 0 {
			continue
		}
		group := []int{}
		whole := s.scn.FIB.SharedGroups
		for d := range s.leaves {
			if d == r || !slices.Equal(now(d), now(w.dest)) {
				continue
			}
			j := slices.IndexFunc(changed, func(v *write) bool { return v.dest == d && slices.Equal(v.hops, w.hops) })
			if whole = whole && j >= 0; whole {
				group = append(group, j)
			}
		}
		if whole && len(group) > 1 {
			n++
			for _, j := range group {
				out[j] = n
			}
			continue
		}
		n += of
		out[i] = n
	}
	return out
}

// differs is what two databases say differently: links, and whether all of them
// got worse, better, or went; bits says whether overload bits differ too.
type differs struct {
	links               []int
	worse, better, gone bool
	bits                bool
}

func (s *sim) differ(old, new *source) differs {
	a, b := s.view(old.db), s.view(new.db)
	d := differs{worse: true, better: true, gone: true}
	for l := range s.links {
		same := true
		for e := range 2 {
			was, is := a.metric[2*l+e], b.metric[2*l+e]
			same = same && was == is
		}
		if same {
			continue
		}
		d.links = append(d.links, l)
		for e := range 2 {
			was, is := a.metric[2*l+e], b.metric[2*l+e]
			d.worse = d.worse && (is == 0 || was != 0 && is >= was)
			d.better = d.better && (was == 0 || is != 0 && was >= is)
			d.gone = d.gone && is == 0
		}
	}
	for r := range s.names {
		d.bits = d.bits || a.overload[r] != b.overload[r]
	}
	return d
}

// restrain decides what the writes of a run must wait for.
func (s *sim) restrain(r int, k *run) {
	x := &s.routers[r]
	before := x.ranFrom
	for _, y := range x.runs { // one that ends at this instant
		if !x.frozen || y.complete {
			before = y.from
		}
	}
	if before == nil {
		return
	}
	d := s.differ(before, k.from)
	if s.scn.FIB.LocalDelay > 0 && len(d.links) == 1 && d.gone && !d.bits {
		k.local = slices.Contains(s.links[d.links[0]].ends[:], r)
	}
	if s.scn.FIB.Ordered.On && len(d.links) > 0 && !d.bits && d.worse != d.better {
		if rank := s.rank(r, before, k.from, d); rank >= 0 {
			k.turn = x.asked + int64(s.scn.FIB.Ordered.Hold) + int64(rank)*int64(s.scn.FIB.Ordered.Step)
		}
	}
}

// rank is the place of r in the order of writing, or -1 if there is none.
func (s *sim) rank(r int, old, new *source, d differs) int {
	ends := s.links[d.links[0]].ends
	roots, node := ends[:], false
	if len(d.links) > 1 {
		roots, node = nil, true
		for _, x := range ends {
			at := func(l int) bool { return slices.Contains(s.links[l].ends[:], x) }
			if !slices.ContainsFunc(d.links, func(l int) bool { return !at(l) }) {
				roots = append(roots, x)
				break
			}
		}
		if roots == nil {
			return -1
		}
	}
	t := s.view(old.db)
	if d.better {
		t = s.view(new.db)
	}
	rank := 0
	for _, root := range roots {
		next := s.waysTo(root, t)
		if !node && !s.leadsOver(r, root, d.links[0], next) || r == root {
			continue
		}
		switch {
		case !d.better:
			rank = max(rank, s.below(r, next))
		case node:
			rank = max(rank, s.hops(r, root, next))
		default:
			rank = max(rank, s.hops(r, root, next)-1)
		}
	}
	return rank
}

// waysTo lists the links by which each router goes on to root under t.
func (s *sim) waysTo(root int, t topology) [][]int {
	cost := make([]int64, len(s.names))
	for i := range cost {
		cost[i] = -1
	}
	cost[root] = 0
	edge := func(x, l int) (int64, bool) { // to the far end, which may carry it on
		n, m := s.far(l, x), t.metric[2*l+s.end(l, x)]
		return cost[n] + m, m > 0 && cost[n] >= 0 && (n == root || !t.overload[n])
	}
	for again := true; again; {
		again = false
		for x := range s.names {
			for _, l := range s.linksOf[x] {
				if c, ok := edge(x, l); ok && x != root && (cost[x] < 0 || c < cost[x]) {
					cost[x], again = c, true
				}
			}
		}
	}
	next := make([][]int, len(s.names))
	for x := range s.names {
		for _, l := range s.linksOf[x] {
			if c, ok := edge(x, l); ok && x != root && c == cost[x] {
				next[x] = append(next[x], l)
			}
		}
	}
	return next
}

func (s *sim) leadsOver(x, root, link int, next [][]int) bool {
	for _, l := range next[x] {
		if x != root && (l == link || s.leadsOver(s.far(l, x), root, link, next)) {
			return true
		}
	}
	return false
}

// below is the length of the longest branch of the tree that ends in x.
func (s *sim) below(x int, next [][]int) int {
	depth := 0
	for y := range s.names {
		for _, l := range next[y] {
			if s.far(l, y) == x {
				depth = max(depth, s.below(y, next)+1)
			}
		}
	}
	return depth
}

func (s *sim) hops(x, root int, next [][]int) int {
	most := 0
	for _, l := range next[x] {
		if x != root {
			most = max(most, 1+s.hops(s.far(l, x), root, next))
		}
	}
	return most
}

// mayWrite is when the writing of a run may begin.
func (s *sim) mayWrite(r int, k *run) int64 {
	x := &s.routers[r]
	start := max(s.now, x.writing, k.turn)
	if k.local {
		if held := s.now + int64(s.scn.FIB.LocalDelay); held > start {
			x.held, x.heldFor = held, held-start
			return held
		}
	}
	return start
}

// hurry ends a local delay because of another event.
func (s *sim) hurry(r int) {
	x := &s.routers[r]
	for _, k := range x.runs {
		k.local = false
	}
	if x.held > s.now {
		early := min(x.held-s.now, x.heldFor)
		x.writing -= early
		for _, w := range x.pending {
			if w.at >= x.held {
				w.at -= early
				s.plan(w.at, event{kind: evWrite, router: r, part: w.dest, write: w})
			}
		}
	}
	x.held = 0
}

// goAround begins the way around a direction whose sender lacks the adjacency.
func (s *sim) goAround(e *event) {
	r, d := e.router, e.part
	x := &s.routers[r]
	if x.epoch != e.token || s.lines[d/2].held[d%2] {
		return
	}
	if way := s.wayAround(r, d); way != nil {
		s.detours[d] = way
		s.meter.dirty = true
	}
}

func (s *sim) dropDetours(r int) {
	for _, l := range s.linksOf[r] {
		delete(s.detours, 2*l+s.end(l, r))
	}
}

// wayAround is the least-cost way of r to the far end of direction d without
// that link, by its own database and adjacencies: of equal ways, each router is
// reached from the lowest direction.
func (s *sim) wayAround(r, d int) []int {
	t := s.view(s.routers[r].db)
	to := s.far(d/2, r)
	cost, by := make([]int64, len(s.names)), make([]int, len(s.names))
	for i := range cost {
		cost[i], by[i] = -1, -1
	}
	cost[r] = 0
	use := func(y, l int) (int64, bool) {
		m := t.metric[2*l+s.end(l, y)]
		if y == r && !slices.Contains(s.heldLinks(r), l) {
			m = 0
		}
		return cost[y] + m, m > 0 && l != d/2 && cost[y] >= 0 && y != to && (y == r || !t.overload[y])
	}
	for again := true; again; {
		again = false
		for y := range s.names {
			for _, l := range s.linksOf[y] {
				n := s.far(l, y)
				if c, ok := use(y, l); ok && n != r && (cost[n] < 0 || c < cost[n]) {
					cost[n], again = c, true
				}
			}
		}
	}
	if cost[to] < 0 {
		return nil
	}
	for y := range s.names {
		for _, l := range s.linksOf[y] {
			n, out := s.far(l, y), 2*l+s.end(l, y)
			if c, ok := use(y, l); ok && n != r && c == cost[n] && (by[n] < 0 || out < by[n]) {
				by[n] = out
			}
		}
	}
	var way []int
	for y := to; y != r; y = s.links[by[y]/2].ends[by[y]%2] {
		way = append([]int{by[y]}, way...)
	}
	return way
}
