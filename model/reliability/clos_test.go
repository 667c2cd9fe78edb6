package reliability

import (
	"fmt"
	"testing"
)

// Counts of RFC 7938 style folded Clos builds (k-ary case Al-Fares et al., SIGCOMM 2008, from memory), re-derived and
// checked on generated graphs by their source. Radix k: k/2 leaves a pod.
func TestClosTable(t *testing.T) {
	for _, c := range []struct {
		clos                                              Clos
		radix                                             int
		leaves, spines, tops, routers, low, high, links   int
		transceivers, hosts, between, inside, flood, hops int
	}{
		{Clos{4, 2, 2, 2, 1}, 4, 8, 8, 4, 20, 16, 16, 32, 64, 16, 4, 2, 45, 4},
		{Clos{64, 32, 32, 32, 1}, 64, 2048, 2048, 1024, 5120, 65536, 65536, 131072, 262144, 65536, 1024, 32, 257025, 4},
		{Clos{23, 32, 32, 32, 1}, 64, 736, 736, 1024, 2496, 23552, 23552, 47104, 94208, 23552, 1024, 32, 91713, 4},
		{Clos{23, 32, 32, 16, 1}, 64, 736, 736, 512, 1984, 23552, 11776, 35328, 70656, 23552, 512, 32, 68673, 4},
		{Clos{1, 64, 32, 0, 1}, 64, 64, 32, 0, 96, 2048, 0, 2048, 4096, 2048, 0, 32, 4001, 2},
	} {
		n := c.clos.Counts()
		want := ClosCounts{Leaves: c.leaves, Spines: c.spines, Tops: c.tops, Routers: c.routers, LeafSpineLinks: c.low,
			SpineTopLinks: c.high, Links: c.links, Transceivers: c.transceivers, PathsInsidePod: c.inside, PathsBetween: c.between,
			Hops: c.hops, FromLeaf: n.FromLeaf, FromSpine: n.FromSpine, FromTop: n.FromTop, LSPCopiesLeast: c.links,
			LSPCopiesFlood: c.flood, LeafSpineDemand: n.LeafSpineDemand, SpineTopDemand: n.SpineTopDemand}
		if n != want {
			t.Errorf("%+v:\n got %+v\nwant %+v", c.clos, n, want)
		}
		if h := c.clos.Hosts(c.radix); h != c.hosts {
			t.Errorf("%+v: %d hosts, want %d", c.clos, h, c.hosts)
		}
	}
	n := Clos{23, 32, 32, 32, 1}.Counts()
	if n.FromLeaf != 32 || n.FromSpine != 64 || n.FromTop != 23 {
		t.Errorf("LSPs renewed: %d, %d, %d, want 32, 64, 23", n.FromLeaf, n.FromSpine, n.FromTop)
	}
	printed(t, "share of demand", n.LeafSpineDemand, 4.246e-5, 4, 1e-9)
	printed(t, "share of demand", n.SpineTopDemand, 4.067e-5, 4, 1e-9)
	printed(t, "one over the other", n.SpineTopDemand/n.LeafSpineDemand, 0.9578, 4, 1e-9)
	// 36 pods of 40 leaves and 24 spines, 24 planes of 24 tops.
	n = Clos{36, 40, 24, 24, 1}.Counts()
	if n.Routers != 2880 || n.Links != 55296 || n.Transceivers != 110592 || n.PathsBetween != 576 {
		t.Errorf("36 pods: %+v", n)
	}
}

// Second method: the graph built and walked; demand sent over it path by path.
func TestClosAgainstGraph(t *testing.T) {
	for _, c := range []Clos{{1, 3, 2, 0, 1}, {1, 4, 3, 0, 2}, {2, 2, 2, 1, 1}, {3, 2, 2, 3, 1}, {2, 3, 2, 2, 2}, {1, 2, 2, 2, 1}, {4, 1, 1, 2, 3}} {
		g := buildClos(c)
		n := c.Counts()
		what := fmt.Sprintf("%+v", c)
		if len(g.near) != n.Routers || g.links != n.Links {
			t.Errorf("%s: %d routers and %d links, counted %d and %d", what, len(g.near), g.links, n.Routers, n.Links)
		}
		paths, hops, load := g.walk(0)
		if c.Leaves > 1 && paths[1] != n.PathsInsidePod {
			t.Errorf("%s: %d paths inside a pod, counted %d", what, paths[1], n.PathsInsidePod)
		}
		if c.Pods > 1 {
			if other := c.Leaves; paths[other] != n.PathsBetween || hops[other] != n.Hops {
				t.Errorf("%s: %d paths of %d between pods, counted %d of %d", what, paths[other], hops[other], n.PathsBetween, n.Hops)
			}
		}
		// Demand of leaf 0 over all leaves, by its own uplink; by symmetry one leaf of all.
		within(t, what+" uplink", load[[2]int{0, n.Leaves}]/float64(n.Leaves), n.LeafSpineDemand, 1e-12)
		if c.Tops > 0 && c.Pods > 1 {
			spineTop := load[[2]int{n.Leaves, n.Leaves + n.Spines}] * float64(c.Leaves) / float64(n.Leaves)
			within(t, what+" spine to top", spineTop, n.SpineTopDemand, 1e-12)
		}
	}
}

// closGraph has leaves first, then spines, then tops; near lists a neighbour once per link.
type closGraph struct {
	near   [][]int
	links  int
	leaves int
}

func buildClos(c Clos) closGraph {
	g := closGraph{leaves: c.Pods * c.Leaves}
	spines := c.Pods * c.Spines
	g.near = make([][]int, g.leaves+spines+c.Spines*c.Tops)
	link := func(a, b int) {
		g.near[a] = append(g.near[a], b)
		g.near[b] = append(g.near[b], a)
		g.links++
	}
	for p := range c.Pods {
		for s := range c.Spines {
			spine := g.leaves + p*c.Spines + s
			for l := range c.Leaves {
				for range c.Parallel {
					link(p*c.Leaves+l, spine)
				}
			}
			for top := range c.Tops {
				link(spine, g.leaves+spines+s*c.Tops+top)
			}
		}
	}
	return g
}

// walk counts shortest paths from a router, and the load per link of a unit sent from it evenly to all other leaves,
// evenly over shortest paths (by symmetry what equal splitting at each router gives).
func (g closGraph) walk(from int) (paths, hops []int, load map[[2]int]float64) {
	paths, hops = make([]int, len(g.near)), make([]int, len(g.near))
	paths[from] = 1
	order := []int{from}
	seen := map[int]bool{from: true}
	for i := 0; i < len(order); i++ {
		a := order[i]
		for _, b := range g.near[a] {
			if !seen[b] {
				seen[b], hops[b] = true, hops[a]+1
				order = append(order, b)
			}
			if hops[b] == hops[a]+1 {
				paths[b] += paths[a]
			}
		}
	}
	load = map[[2]int]float64{}
	carried := make([]float64, len(g.near))
	for l := range g.leaves {
		if l != from {
			carried[l] = 1 / float64(g.leaves-1)
		}
	}
	for i := len(order) - 1; i > 0; i-- {
		b := order[i]
		for _, a := range g.near[b] {
			if hops[a] == hops[b]-1 {
				share := carried[b] * float64(paths[a]) / float64(paths[b])
				carried[a] += share
				load[[2]int{a, b}] = share // every parallel link carries this much
			}
		}
	}
	return paths, hops, load
}
