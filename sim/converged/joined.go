package converged

import (
	"slices"

	"halflight/model/fabric"
)

// search is working memory for Joined.
type search struct {
	sides [2]side
	marks []uint32 // by link: used in the search with this stamp though not listed
	stamp uint32
}

// side is one end of a search for a route: routers that can be reached from there, of which the
// last ones were not looked at yet.
type side struct {
	seen  []uint32 // by router: the stamp of the search
	stack []int32
}

func newSearch(f *fabric.Fabric) *search {
	s := &search{marks: make([]uint32, len(f.Links))}
	for i := range s.sides {
		s.sides[i].seen = make([]uint32, len(f.Routers))
	}
	return s
}

// Joined says whether there would be a route from source to d if some links were listed too, and some
// routers had no overload bit. It looks from both ends in turn, as where there is none one of them
// mostly sees little.
func (u *Truth) Joined(source, d int32, links, passed []int32) bool {
	if source == d {
		return true
	}
	if u.search == nil {
		u.search = newSearch(u.f)
	}
	c := u.search
	c.stamp++
	for _, l := range links {
		c.marks[l] = c.stamp
	}
	for i, x := range [2]int32{source, d} {
		c.sides[i].stack = append(c.sides[i].stack[:0], x)
		c.sides[i].seen[x] = c.stamp
	}
	for at := 1; ; at = 1 - at { // from d first: mostly nothing leads there
		here, there := &c.sides[at], &c.sides[1-at]
		last := len(here.stack) - 1
		x := here.stack[last]
		here.stack = here.stack[:last]
		for _, p := range u.f.Ports[x] {
			y := p.Peer
			switch {
			case here.seen[y] == c.stamp || !u.LinkUp[p.Link] && c.marks[p.Link] != c.stamp:
				continue
			case there.seen[y] == c.stamp:
				return true
			case u.Routes.Overloaded(y) && !slices.Contains(passed, y):
				continue
			}
			here.seen[y] = c.stamp
			here.stack = append(here.stack, y)
		}
		if len(here.stack) == 0 {
			return false
		}
	}
}
