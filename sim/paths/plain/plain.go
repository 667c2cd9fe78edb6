// Package plain is what package paths is held against, in tests alone: routes
// found from nothing by gonum's Dijkstra, and small graphs to find them in.
package plain

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"pgregory.net/rapid"

	"halflight/model/fabric"
)

// Draw draws a small graph with metrics, parallel links, and routers that
// nothing reaches.
func Draw(t *rapid.T) *fabric.Fabric {
	n := rapid.IntRange(2, 12).Draw(t, "routers")
	routers := make([]fabric.Router, n)
	for i := range routers {
		routers[i] = fabric.Router{Class: fabric.Other, First: int32(i), Name: fmt.Sprint("router-", i)}
	}
	metric := rapid.SampledFrom([]uint32{1, 1, 1, 2, 2, 3, 4, 5, 1<<24 - 2})
	var links []fabric.Link
	for i := range rapid.IntRange(1, 3*n).Draw(t, "links") {
		a := rapid.Int32Range(0, int32(n-1)).Draw(t, "a")
		b := rapid.Int32Range(0, int32(n-2)).Draw(t, "b")
		if b >= a {
			b++
		}
		links = append(links, fabric.Link{Lower: a, Upper: b, Parallel: int32(i), Metric: [2]uint32{metric.Draw(t, "to b"), metric.Draw(t, "to a")}})
	}
	f, err := fabric.Graph(routers, links, rapid.IntRange(2, n).Draw(t, "destinations"))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Topology is what routes are for: a metric for every direction, 0 where it
// cannot be used, and the routers that are never transit.
type Topology struct {
	Fabric   *fabric.Fabric
	Metric   []uint32 // by direction
	Overload []bool
	Without  int32 // a router that is not there, -1 for none
}

// To finds by gonum's Dijkstra the cost from every router to d, Inf where there
// is no way. Parallel links count by their least metric.
func (y *Topology) To(d int32) []float64 {
	g := simple.NewWeightedDirectedGraph(0, math.Inf(1))
	for x := range y.Fabric.Routers {
		g.AddNode(simple.Node(x))
	}
	for dir, m := range y.Metric {
		x, n := y.Fabric.From(int32(dir)), y.Fabric.To(int32(dir))
		if m == 0 || x == y.Without || n == y.Without || (n != d && y.Overload[n]) {
			continue
		}
		from, to := simple.Node(n), simple.Node(x) // turned round: from the destination
		if had, ok := g.Weight(int64(n), int64(x)); !ok || float64(m) < had {
			g.SetWeightedEdge(simple.WeightedEdge{F: from, T: to, W: float64(m)})
		}
	}
	shortest := path.DijkstraFrom(simple.Node(d), g)
	out := make([]float64, len(y.Fabric.Routers))
	for x := range out {
		out[x] = shortest.WeightTo(int64(x))
	}
	return out
}

// Hops lists the ports of x that begin a least-cost way to d, given the costs.
func (y *Topology) Hops(x, d int32, cost []float64) (ports []int32) {
	for p, port := range y.Fabric.Ports[x] {
		m := y.Metric[port.Out()]
		if x != d && m != 0 && !math.IsInf(cost[x], 1) && (port.Peer == d || !y.Overload[port.Peer]) && float64(m)+cost[port.Peer] == cost[x] {
			ports = append(ports, int32(p))
		}
	}
	return ports
}

// Ports lists the ports of a next-hop set.
func Ports(set []uint64) (ports []int32) {
	for p := range int32(64 * len(set)) {
		if set[p>>6]>>(p&63)&1 != 0 {
			ports = append(ports, p)
		}
	}
	return ports
}
