package forwarding

import (
	"cmp"
	"slices"

	"halflight/sim/wander"
)

// Ways without a router twice are as many as the factorial of the routers of a
// part: where ten spines and eight tops of a plane all send to one another, more
// than can ever be followed. But there many routers send alike and are sent to
// alike, and then it matters only how many of each kind a flow has seen. Where
// following way by way takes too long, package wander takes ways together: breeds are
// told apart by what leads beyond the part, too.

// stepsMost is how many routers are visited way by way.
const stepsMost = 1000

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

// breeds tells the routers of a part apart; leaks are what each of a breed loses by itself.
func (q *Field) breeds(d, part int32, how int) (list []wander.Breed, leaks [][]Loss) {
	c := &q.circles
	members := c.parts[part]
	out, in := make([][]edge, len(members)), make([][]edge, len(members))
	lost := make([][]Loss, len(members))
	for i, x := range members {
		c.place[x] = int32(i)
	}
	for i, x := range members {
		for _, h := range c.inner[x] {
			out[i] = append(out[i], edge(h))
			k := c.place[h.peer]
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
			list, leaks = append(list, wander.Breed{Hops: q.hopsOf(d, x), Late: !q.innocent(d, x)}), append(leaks, lost[i])
			first = append(first, i)
		}
		b := &list[kind[i]]
		b.Routers = append(b.Routers, x)
	}
	for b, i := range first {
		for _, e := range out[i] {
			if k := kind[c.place[e.peer]]; e.peer == list[k].Routers[0] {
				list[b].To = append(list[b].To, wander.Hop{Breed: k, Pass: q.dirs[e.dir].Pass})
			}
		}
	}
	if how == roughly {
		q.average(list, leaks, kind, out, lost)
	}
	return list, leaks
}

// average has breeds pass and lose what their routers do on average, in plane 0.
func (q *Field) average(list []wander.Breed, leaks [][]Loss, kind []int, out [][]edge, lost [][]Loss) {
	for b := range list {
		leaks[b] = nil
		for k := range list[b].To {
			list[b].To[k].Pass = []float64{0}
		}
	}
	for i, k := range kind {
		b := &list[k]
		share := 1 / float64(len(b.Routers))
		for _, l := range lost[i] {
			l.Amount *= share
			j := slices.IndexFunc(leaks[k], func(m Loss) bool { return m.Kind == l.Kind && m.Cause == l.Cause && m.First == l.First })
			if j < 0 {
				leaks[k] = append(leaks[k], l)
			} else {
				leaks[k][j].Amount, leaks[k][j].Whole = leaks[k][j].Amount+float64(l.Amount), leaks[k][j].Whole || l.Whole
			}
		}
		for _, e := range out[i] {
			to := kind[q.circles.place[e.peer]]
			h := slices.IndexFunc(b.To, func(h wander.Hop) bool { return h.Breed == to })
			b.To[h].Pass[0] += float64(q.dirs[e.dir].Pass[0]*share) / float64(len(list[to].Routers))
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
	list, _ := q.breeds(d, part, byExits)
	p, ok := wander.Pack(list)
	if !ok {
		return false
	}
	for start := range list {
		clear(c.totals)
		c.ways.Follow(list, p, start, q.planes, func(w *wander.Way, left []float64, _ float64) {
			x := list[w.At].Routers[0]
			for i := range left {
				c.totals[i] += float64(left[i] * c.exits[i][x])
			}
		})
		for _, x := range list[start].Routers { // on a circle some flow always comes back
			q.see(d, x, q.assign(d, x, c.totals, true))
		}
	}
	return true
}

// flock is what is known of a part in which ways are bundled, since Open.
type flock struct {
	stamp  uint32 // of lossTable
	ok     bool   // there are not too many breeds
	inMean bool   // nothing leaves it, and it is told roughly
	list   []wander.Breed
	leaks  [][]Loss // by breed
	p      wander.Packing
	lost   [][]Loss // by breed, of a unit at one of its routers, which startHere stands for; nil while nobody asked
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
		k := flock{stamp: q.loss.stamp, inMean: q.isHopeless(d, part)}
		if k.inMean {
			k.list, k.leaks = q.breeds(d, part, roughly)
			k.ok = true
		} else {
			k.list, k.leaks = q.breeds(d, part, byLeaks) // may ask for other parts
			k.p, k.ok = wander.Pack(k.list)
		}
		k.lost = make([][]Loss, len(k.list))
		c.flocks[part] = k
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
	start := slices.IndexFunc(k.list, func(b wander.Breed) bool { return slices.Contains(b.Routers, x) })
	if k.lost[start] == nil {
		lose := func(at int, first int32, left, looped float64) {
			if looped > 0 {
				q.addFirst(k.list, first, begin, Loss{Loop, true, -1, -1, looped})
			}
			for _, l := range k.leaks[at] {
				if l.Amount = float64(l.Amount * left); l.Amount > 0 {
					q.addFirst(k.list, first, begin, l)
				}
			}
		}
		if k.inMean {
			q.circles.ways.FollowMean(k.list, start, func(at int, left, looped float64) { lose(at, wander.StartFirst, left, looped) })
		} else {
			q.circles.ways.Follow(k.list, k.p, start, 1, func(w *wander.Way, left []float64, looped float64) { lose(int(w.At), w.First, left[0], looped) })
		}
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
func (q *Field) addFirst(list []wander.Breed, first int32, begin int, l Loss) {
	switch {
	case first == wander.StartFirst:
		l.First = startHere
	case first >= 0:
		among := list[first].Routers
		l.Amount /= float64(len(among))
		for _, y := range among {
			l.First = y
			q.addLoss(begin, l)
		}
		return
	}
	q.addLoss(begin, l)
}
