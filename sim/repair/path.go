package repair

// components labels the routers that reach one another over links in use by
// way of routers that pass traffic on.
type components struct {
	label []int32
	stale bool
	seen  []uint32 // by router: the last search that met it
	stamp uint32
	todo  []int32
	mark  []bool // scratch, by label
}

func (c *components) init(routers int) {
	c.label, c.seen, c.stale = make([]int32, routers), make([]uint32, routers), true
	c.mark = make([]bool, routers)
}

// transit says whether a router passes traffic on.
func (u *usage) transit(r int32) bool { return !u.clos || !u.leaf(r) }

// moved tells of a link between routers that pass traffic on. Nearly always
// there are other ways, and the labels stay.
func (u *usage) moved(a, b int32, in bool) {
	c := &u.parts
	switch {
	case c.stale:
	case in:
		c.stale = c.label[a] != c.label[b]
	default:
		c.stale = !u.reaches(a, b, -1)
	}
}

// reaches says whether a reaches b without a link.
func (u *usage) reaches(a, b, without int32) bool {
	c := &u.parts
	c.stamp++
	c.seen[a] = c.stamp
	c.todo = append(c.todo[:0], a)
	for i := 0; i < len(c.todo); i++ {
		for _, p := range u.f.Ports[c.todo[i]] {
			if !u.in[p.Link] || p.Link == without || c.seen[p.Peer] == c.stamp || !u.transit(p.Peer) {
				continue
			}
			if p.Peer == b {
				return true
			}
			c.seen[p.Peer] = c.stamp
			c.todo = append(c.todo, p.Peer)
		}
	}
	return false
}

// labels writes the components without a link and a router (-1 for none) and
// returns their number; -1 marks routers that pass nothing on.
func (u *usage) labels(label []int32, link, router int32) int {
	for i := range label {
		label[i] = -1
	}
	n := int32(0)
	for r := range label {
		if label[r] >= 0 || !u.transit(int32(r)) || int32(r) == router {
			continue
		}
		label[r] = n
		todo := append(u.parts.todo[:0], int32(r))
		for i := 0; i < len(todo); i++ {
			for _, p := range u.f.Ports[todo[i]] {
				if u.in[p.Link] && p.Link != link && p.Peer != router && u.transit(p.Peer) && label[p.Peer] < 0 {
					label[p.Peer] = n
					todo = append(todo, p.Peer)
				}
			}
		}
		u.parts.todo = todo
		n++
	}
	return int(n)
}

// lastPath says whether a link in use is on the last path of a pair of leaves.
func (u *usage) lastPath(link int32) bool {
	l := &u.f.Links[link]
	switch {
	case !u.transit(l.Upper):
		return u.losesPair(link, -1)
	case !u.transit(l.Lower):
		return u.lastOfLeaf(l.Lower, l.Upper, link)
	}
	return !u.reaches(l.Lower, l.Upper, link) && u.losesPair(link, -1)
}

// lastOfLeaf is lastPath for the link between a leaf and a spine. Only pairs of
// this leaf can lose by it, and only with leaves on that component.
func (u *usage) lastOfLeaf(leaf, spine, link int32) bool {
	c := &u.parts
	if c.stale {
		u.labels(c.label, -1, -1)
		c.stale = false
	}
	gone := c.label[spine]
	for _, p := range u.f.Ports[leaf] {
		if u.in[p.Link] && p.Link != link {
			c.mark[c.label[p.Peer]] = true
		}
	}
	last := false
	for other := int32(0); int(other) < u.f.Leaves && !last && !c.mark[gone]; other++ {
		last = other != leaf && u.only(other, gone)
	}
	for _, p := range u.f.Ports[leaf] {
		c.mark[c.label[p.Peer]] = false
	}
	return last
}

// only says whether a leaf is on the component gone and on no marked one.
func (u *usage) only(leaf, gone int32) bool {
	there := false
	for _, p := range u.f.Ports[leaf] {
		if !u.in[p.Link] {
			continue
		}
		at := u.parts.label[p.Peer]
		if u.parts.mark[at] {
			return false
		}
		there = there || at == gone
	}
	return there
}

// losesPair compares all pairs of leaves with and without a link or a router
// (-1 for none). It is slow and seldom needed.
func (u *usage) losesPair(link, router int32) bool {
	before, after := u.sets(-1, -1), u.sets(link, router)
	for a := range u.f.Leaves {
		for b := range a {
			if meet(before[a], before[b]) && !meet(after[a], after[b]) {
				return true
			}
		}
	}
	return false
}

// sets returns, by leaf, the components that it is on, as bits.
func (u *usage) sets(link, router int32) [][]uint64 {
	label := make([]int32, len(u.f.Routers))
	words := (u.labels(label, link, router) + 63) / 64
	sets := make([][]uint64, u.f.Leaves)
	for r := range sets {
		sets[r] = make([]uint64, words)
		if u.transit(int32(r)) {
			set(sets[r], label[r])
			continue
		}
		for _, p := range u.f.Ports[r] {
			if u.in[p.Link] && p.Link != link && p.Peer != router {
				set(sets[r], label[p.Peer])
			}
		}
	}
	return sets
}

func set(bits []uint64, i int32) { bits[i>>6] |= 1 << (i & 63) }

func meet(a, b []uint64) bool {
	for i := range a {
		if a[i]&b[i] != 0 {
			return true
		}
	}
	return false
}
