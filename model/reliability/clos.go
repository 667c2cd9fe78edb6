package reliability

// Clos is a folded Clos in numbers. Leaves and Spines are per pod; every leaf of a pod has Parallel links to every spine
// of it; every spine has one link to each of the Tops of its plane, of which there are Spines. Without tops it is a
// 3-stage fabric of one pod, with tops 5-stage.
type Clos struct {
	Pods, Leaves, Spines, Tops, Parallel int
}

// ClosCounts is the inventory of a Clos.
type ClosCounts struct {
	Leaves, Spines, Tops, Routers   int
	LeafSpineLinks, SpineTopLinks   int
	Links, Transceivers             int // two transceivers a link
	PathsInsidePod, PathsBetween    int // shortest paths between two leaves of one pod, of two pods (0 with one pod)
	Hops                            int // links on the longest shortest path between leaves
	FromLeaf, FromSpine, FromTop    int // LSPs renewed when such a router dies: one per neighbour
	LSPCopiesLeast, LSPCopiesFlood  int // transmissions of one LSP: at least one per link; plain flooding at most 2E-N+1
	LeafSpineDemand, SpineTopDemand float64
}

// Counts takes stock. LeafSpineDemand and SpineTopDemand are the share of uniform demand between leaves that one
// direction of one such link carries. Counts re-derived (k-ary case: Al-Fares et al., SIGCOMM 2008).
func (c Clos) Counts() ClosCounts {
	require(c.Pods >= 1 && c.Leaves >= 1 && c.Spines >= 1 && c.Tops >= 0 && c.Parallel >= 1,
		"a Clos needs pods, leaves, spines and parallel of at least 1")
	require(c.Tops > 0 || c.Pods == 1, "without tops a Clos has one pod")
	n := ClosCounts{Leaves: c.Pods * c.Leaves, Spines: c.Pods * c.Spines, Tops: c.Spines * c.Tops}
	n.Routers = n.Leaves + n.Spines + n.Tops
	n.LeafSpineLinks = n.Leaves * c.Spines * c.Parallel
	n.SpineTopLinks = n.Spines * c.Tops
	n.Links = n.LeafSpineLinks + n.SpineTopLinks
	n.Transceivers = 2 * n.Links
	n.Hops = 2
	if c.Leaves > 1 {
		n.PathsInsidePod = c.Spines * c.Parallel * c.Parallel
	}
	if c.Pods > 1 {
		n.PathsBetween = c.Spines * c.Tops * c.Parallel * c.Parallel
		n.Hops = 4
	}
	n.FromLeaf, n.FromSpine, n.FromTop = c.Spines, c.Leaves+c.Tops, c.Pods
	if c.Tops == 0 {
		n.FromTop = 0
	}
	n.LSPCopiesLeast, n.LSPCopiesFlood = n.Links, 2*n.Links-n.Routers+1
	n.demand(c)
	return n
}

func (n *ClosCounts) demand(c Clos) {
	if n.Leaves < 2 {
		return
	}
	n.LeafSpineDemand = 1 / float64(n.LeafSpineLinks)
	if n.SpineTopLinks > 0 {
		away := float64(n.Leaves-c.Leaves) / float64(n.Leaves-1) // share of a leaf's demand that leaves its pod
		n.SpineTopDemand = away / float64(n.SpineTopLinks)
	}
}

// Hosts is the servers a Clos of routers with the given ports can hold, every leaf port that is no uplink a server's.
// An error of the design (more uplinks than ports) gives 0.
func (c Clos) Hosts(ports int) int {
	return max(0, c.Pods*c.Leaves*(ports-c.Spines*c.Parallel))
}
