package forwarding

import (
	"cmp"
	"slices"
)

// Ways without a router twice are as many as the factorial of the routers of a
// part: where ten spines and eight tops of a plane all send to one another, more
// than can ever be followed. But there many routers send alike and are sent to
// alike, and then it matters only how many of each kind a flow has seen. Where
// following way by way takes too long, ways that have seen the same numbers and are
// at the same kind are taken together.

// stepsMost is how many routers are visited way by way.
const stepsMost = 1000

// waysMost is how many ways, told apart by what they have seen, are followed at a
// time. Where no two routers are alike there may be more: the rest, those that carry
// least, counts as looped.
const waysMost = 4096

// breed is routers of a part that have the same next hops, within the part and
// beyond it, over directions that pass the same (unless told apart roughly), and
// from which the same routers send to them.
type breed struct {
	routers []int32
	hops    float64
	late    bool // not innocent
	leaks   []Loss
	to      []kinHop
}

// kinHop is a next hop to each router of a breed.
type kinHop struct {
	breed int
	pass  []float64
}

// edge is a next hop within a part, as one end sees it.
type edge struct {
	peer int32
	dir  int32
}

// sortEdges sorts the edges of a router, so that those that are alike have equal lists.
func sortEdges(list []edge) {
	slices.SortFunc(list, func(a, b edge) int { return cmp.Or(cmp.Compare(a.peer, b.peer), cmp.Compare(a.dir, b.dir)) })
}

// How routers of a part are told apart.
const (
	byExits = iota // by what they deliver
	byLeaks        // and by what is lost on the way out of the part
	roughly        // but by no gray direction that drops slight or less: each is taken to lose the mean
)

const slight = 0.1

// breeds tells the routers of a part apart.
func (q *Field) breeds(d, part int32, how int) []breed {
	c := &q.circles
	members := c.parts[part]
	out, in := make([][]edge, len(members)), make([][]edge, len(members))
	lost := make([][]Loss, len(members))
	for i, x := range members {
		for _, h := range c.inner[x] {
			out[i] = append(out[i], edge(h))
			k := slices.Index(members, h.peer)
			in[k] = append(in[k], edge{x, h.dir})
		}
		if how != byExits {
			lost[i] = q.leaksOf(d, x)
		}
	}
	for i := range members {
		sortEdges(out[i])
		sortEdges(in[i])
	}
	var list []breed
	var first []int // place in members of the first router of each
	kind := make([]int, len(members))
	for i, x := range members {
		kind[i] = slices.IndexFunc(first, func(j int) bool {
			y := members[j]
			return q.hopsOf(d, x) == q.hopsOf(d, y) && q.innocent(d, x) == q.innocent(d, y) && q.sameExits(x, y) &&
				sameLeaks(lost[i], lost[j], q.hopsOf(d, x), how) && q.sameEdges(out[i], out[j], how) && q.sameEdges(in[i], in[j], how)
		})
		if kind[i] < 0 {
			kind[i] = len(list)
			list, first = append(list, breed{hops: q.hopsOf(d, x), late: !q.innocent(d, x), leaks: lost[i]}), append(first, i)
		}
		b := &list[kind[i]]
		b.routers = append(b.routers, x)
	}
	for b, i := range first {
		for _, e := range out[i] {
			if k := kind[slices.Index(members, e.peer)]; e.peer == list[k].routers[0] {
				list[b].to = append(list[b].to, kinHop{k, q.dirs[e.dir].Pass})
			}
		}
	}
	if how == roughly {
		q.average(list, members, kind, out, lost)
	}
	return list
}

// average has breeds pass and lose what their routers do on average, in plane 0.
func (q *Field) average(list []breed, members []int32, kind []int, out [][]edge, lost [][]Loss) {
	for b := range list {
		list[b].leaks = nil
		for k := range list[b].to {
			list[b].to[k].pass = []float64{0}
		}
	}
	for i, k := range kind {
		b := &list[k]
		share := 1 / float64(len(b.routers))
		for _, l := range lost[i] {
			l.Amount *= share
			j := slices.IndexFunc(b.leaks, func(m Loss) bool { return m.Kind == l.Kind && m.Cause == l.Cause && m.First == l.First })
			if j < 0 {
				b.leaks = append(b.leaks, l)
			} else {
				b.leaks[j].Amount += float64(l.Amount)
			}
		}
		for _, e := range out[i] {
			to := kind[slices.Index(members, e.peer)]
			h := slices.IndexFunc(b.to, func(h kinHop) bool { return h.breed == to })
			b.to[h].pass[0] += float64(q.dirs[e.dir].Pass[0]*share) / float64(len(list[to].routers))
		}
	}
}

func (q *Field) sameExits(x, y int32) bool {
	c := &q.circles
	for i := range c.exits {
		if c.exits[i][x] != c.exits[i][y] {
			return false
		}
	}
	return true
}

// sameEdges says whether two routers have edges with the same peers, which pass the same.
func (q *Field) sameEdges(a, b []edge, how int) bool {
	return slices.EqualFunc(a, b, func(a, b edge) bool {
		x, y := q.dirs[a.dir].Pass, q.dirs[b.dir].Pass
		return a.peer == b.peer && (how == roughly && min(x[0], y[0]) >= 1-slight || slices.Equal(x, y))
	})
}

// sameLeaks says whether two routers, of so many next hops each, lose the same.
func sameLeaks(a, b []Loss, hops float64, how int) bool {
	if how != roughly {
		return slices.Equal(a, b)
	}
	isSlight := func(l Loss) bool { return l.Kind == GrayDirection && float64(l.Amount*hops) <= slight }
	i := 0
	for _, l := range a {
		if isSlight(l) {
			continue
		}
		for i < len(b) && isSlight(b[i]) {
			i++
		}
		if i == len(b) || b[i] != l {
			return false
		}
		i++
	}
	return !slices.ContainsFunc(b[i:], func(l Loss) bool { return !isSlight(l) })
}

// leaksOf is what a unit of traffic at x loses over ports out of its part and in
// directions, by itself.
func (q *Field) leaksOf(d, x int32) []Loss {
	begin := len(q.loss.part)
	each := 1 / q.hopsOf(d, x)
	for _, p := range q.circles.leaks[x] {
		q.gatherLeak(d, x, int(p), -1, each, begin)
	}
	out := slices.Clone(q.loss.part[begin:])
	q.loss.part = q.loss.part[:begin]
	return out
}

// wanderAlike computes what all routers of a part deliver, breed by breed. It returns
// false if there are too many breeds.
func (q *Field) wanderAlike(d, part int32) bool {
	c := &q.circles
	list := q.breeds(d, part, byExits)
	p, ok := packed(list)
	if !ok {
		return false
	}
	for start := range list {
		clear(c.totals)
		c.ways.follow(list, p, start, q.planes, func(w *way, left []float64, _ float64) {
			x := list[w.at].routers[0]
			for i := range left {
				c.totals[i] += float64(left[i] * c.exits[i][x])
			}
		})
		for _, x := range list[start].routers { // on a circle some flow always comes back
			q.see(d, x, q.assign(d, x, c.totals, true))
		}
	}
	return true
}

// flock is what is known of a part in which ways are bundled, since Open.
type flock struct {
	stamp uint32 // of lossTable
	ok    bool   // there are not too many breeds
	list  []breed
	p     packing
	lost  [][]Loss // by breed, of a unit at one of its routers, which startHere stands for; nil while nobody asked
}

// startHere is, for First, the router at which a unit of traffic is.
const startHere = -2

// flockOf tells the routers of a part apart, once since Open.
func (q *Field) flockOf(d, part int32) *flock {
	c := &q.circles
	for int(part) >= len(c.flocks) {
		c.flocks = append(c.flocks, flock{})
	}
	if c.flocks[part].stamp != q.loss.stamp {
		how := byLeaks
		if q.isHopeless(d, part) {
			how = roughly
		}
		list := q.breeds(d, part, how) // may ask for other parts
		p, ok := packed(list)
		c.flocks[part] = flock{q.loss.stamp, ok, list, p, make([][]Loss, len(list))}
	}
	return &c.flocks[part]
}

// isFlock says whether ways of a part had to be bundled since Open.
func (q *Field) isFlock(part int32) bool {
	c := &q.circles
	return int(part) < len(c.flocks) && c.flocks[part].stamp == q.loss.stamp && c.flocks[part].ok
}

// gatherAlike is gatherCircle, breed by breed; what a breed loses is found once.
func (q *Field) gatherAlike(d, x, part int32, begin int) bool {
	k := q.flockOf(d, part)
	if !k.ok {
		return false
	}
	start := slices.IndexFunc(k.list, func(b breed) bool { return slices.Contains(b.routers, x) })
	if k.lost[start] == nil {
		q.circles.ways.follow(k.list, k.p, start, 1, func(w *way, left []float64, looped float64) {
			if looped > 0 {
				q.addFirst(k.list, w.first, begin, Loss{Loop, -1, -1, looped})
			}
			for _, l := range k.list[w.at].leaks {
				if l.Amount = float64(l.Amount * left[0]); l.Amount > 0 {
					q.addFirst(k.list, w.first, begin, l)
				}
			}
		})
		k.lost[start] = slices.Clone(q.loss.part[begin:])
		q.loss.part = q.loss.part[:begin]
	}
	for _, l := range k.lost[start] {
		if l.First == startHere {
			l.First = x
		}
		q.loss.part = append(q.loss.part, l)
	}
	return true
}

// addFirst adds a loss to the list that begins at begin: to the first router that
// is not innocent, which may be any of its breed alike.
func (q *Field) addFirst(list []breed, first int32, begin int, l Loss) {
	switch {
	case first == startFirst:
		l.First = startHere
	case first >= 0:
		among := list[first].routers
		l.Amount /= float64(len(among))
		for _, y := range among {
			l.First = y
			q.addLoss(begin, l)
		}
		return
	}
	q.addLoss(begin, l)
}
