package twin

import (
	"maps"
	"slices"
)

// source is what an entry came from: the database a run used, and the adjacencies
// its router held then.
type source struct {
	db  map[int]*lsp
	own []int

	blamed  int // memo of S23: the fault, as of a version of the truth
	version int
}

// topology is what a router may use of a database: links by direction with the
// sender's metric, and who may not be transit.
type topology struct {
	metric   []int64 // by direction; 0: not usable
	overload map[int]bool
}

func (t topology) equal(u topology) bool {
	return slices.Equal(t.metric, u.metric) && maps.Equal(t.overload, u.overload)
}

// view is the two-way topology of a database: links that the LSPs of both ends
// list (S16).
func (s *sim) view(db map[int]*lsp) topology {
	t := topology{make([]int64, 2*len(s.links)), map[int]bool{}}
	for l, k := range s.links {
		a, b := db[k.ends[0]], db[k.ends[1]]
		if a == nil || b == nil {
			continue
		}
		m0, ok0 := a.links[l]
		m1, ok1 := b.links[l]
		if ok0 && ok1 {
			t.metric[2*l], t.metric[2*l+1] = m0, m1
		}
	}
	for r := range s.names {
		if db[r] != nil && db[r].overload {
			t.overload[r] = true
		}
	}
	return t
}

// tableFrom computes the next hops of x for every leaf from what it knows (S16).
func (s *sim) tableFrom(x int, from *source) [][]int {
	t := s.view(from.db)
	first := map[int]int64{}
	for _, l := range from.own {
		n := from.db[s.far(l, x)]
		if n == nil {
			continue
		}
		if _, listed := n.links[l]; !listed {
			continue
		}
		first[l] = s.heldMetric(x, l, -1)
		if own := from.db[x]; own != nil {
			if m, listed := own.links[l]; listed {
				first[l] = m
			}
		}
	}
	return s.dijkstra(x, first, t)
}

// dijkstra gives the next hops (links of x, in link order) for every leaf. first
// holds the usable links of x itself with their metric.
func (s *sim) dijkstra(x int, first map[int]int64, t topology) [][]int {
	n := len(s.names)
	dist := make([]int64, n)
	hops := make([]map[int]bool, n)
	done := make([]bool, n)
	for r := range n {
		dist[r], hops[r] = -1, map[int]bool{}
	}
	offer := func(r int, d int64, via map[int]bool) {
		if done[r] {
			return
		}
		if dist[r] < 0 || d < dist[r] {
			dist[r], hops[r] = d, map[int]bool{}
		}
		if d == dist[r] {
			maps.Copy(hops[r], via)
		}
	}
	dist[x], done[x] = 0, true
	for _, l := range s.linksOf[x] {
		if m, ok := first[l]; ok {
			offer(s.far(l, x), m, map[int]bool{l: true})
		}
	}
	for {
		u := -1
		for r := range n {
			if !done[r] && dist[r] >= 0 && (u < 0 || dist[r] < dist[u]) {
				u = r
			}
		}
		if u < 0 {
			break
		}
		done[u] = true
		if t.overload[u] {
			continue // never transit
		}
		for _, l := range s.linksOf[u] {
			if m := t.metric[2*l+s.end(l, u)]; m > 0 {
				offer(s.far(l, u), dist[u]+m, hops[u])
			}
		}
	}
	out := make([][]int, s.leaves)
	for d := range out {
		if d != x {
			out[d] = slices.Sorted(maps.Keys(hops[d]))
		}
	}
	return out
}
