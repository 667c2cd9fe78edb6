package linkstate

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"pgregory.net/rapid"

	"halflight/model/fabric"
	"halflight/model/timer"
)

// drawFabric draws a small graph with metrics, parallel links, and routers that
// nothing reaches.
func drawFabric(t *rapid.T) *fabric.Fabric {
	n := rapid.IntRange(2, 12).Draw(t, "routers")
	routers := make([]fabric.Router, n)
	for i := range routers {
		routers[i] = fabric.Router{Class: fabric.Other, First: int32(i), Name: fmt.Sprint("router-", i)}
	}
	metric := rapid.SampledFrom([]uint32{1, 1, 1, 2, 2, 3, 4, 5, Drained})
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

// topology is what routes are for: a metric for every direction, 0 where it
// cannot be used, and the routers that are never transit.
type topology struct {
	f        *fabric.Fabric
	metric   []uint32 // by direction
	overload []bool
	without  int32 // a router that is not there, -1 for none
}

// to finds by gonum's Dijkstra the cost from every router to d, Inf where there
// is no way. Parallel links count by their least metric.
func (y *topology) to(d int32) []float64 {
	g := simple.NewWeightedDirectedGraph(0, math.Inf(1))
	for x := range y.f.Routers {
		g.AddNode(simple.Node(x))
	}
	for dir, m := range y.metric {
		x, n := y.f.From(int32(dir)), y.f.To(int32(dir))
		if m == 0 || x == y.without || n == y.without || (n != d && y.overload[n]) {
			continue
		}
		from, to := simple.Node(n), simple.Node(x) // turned round: from the destination
		if had, ok := g.Weight(int64(n), int64(x)); !ok || float64(m) < had {
			g.SetWeightedEdge(simple.WeightedEdge{F: from, T: to, W: float64(m)})
		}
	}
	shortest := path.DijkstraFrom(simple.Node(d), g)
	out := make([]float64, len(y.f.Routers))
	for x := range out {
		out[x] = shortest.WeightTo(int64(x))
	}
	return out
}

// hops lists the ports of x that begin a least-cost way to d, given the costs.
func (y *topology) hops(x, d int32, cost []float64) (ports []int32) {
	for p, port := range y.f.Ports[x] {
		m := y.metric[port.Out()]
		if x != d && m != 0 && !math.IsInf(cost[x], 1) && (port.Peer == d || !y.overload[port.Peer]) && float64(m)+cost[port.Peer] == cost[x] {
			ports = append(ports, int32(p))
		}
	}
	return ports
}

// drawControl draws routers whose databases hold any mixture of versions, of
// which some list less than others, with other metrics or the overload bit, or
// nothing of a router at all.
func drawControl(t *rapid.T) *Control {
	f := drawFabric(t)
	p := timer.Default(ms, false)
	c := New(f, &p, Options{})
	metric := rapid.SampledFrom([]uint32{0, 0, 1, 1, 2, 3, Drained})
	for range rapid.IntRange(0, 10).Draw(t, "versions") {
		o := rapid.Int32Range(0, int32(len(f.Routers)-1)).Draw(t, "origin")
		l := c.compose(o)
		for p := range l.metric {
			if rapid.Bool().Draw(t, "other") {
				l.metric[p] = metric.Draw(t, "metric")
			}
		}
		l.overload = rapid.IntRange(0, 3).Draw(t, "overload") == 0
		seq := c.data.logs[o].add(l)
		c.routers[o].origin = l
		c.behind = append(c.behind, o)
		for x := range int32(len(f.Routers)) {
			if x == o || rapid.Bool().Draw(t, "has") {
				c.data.put(x, o, seq)
			}
		}
	}
	if rapid.IntRange(0, 4).Draw(t, "lost") == 0 { // a router that returned
		x := rapid.Int32Range(0, int32(len(f.Routers)-1)).Draw(t, "returned")
		for o := range int32(len(f.Routers)) {
			if o != x && rapid.Bool().Draw(t, "lacks") {
				c.data.put(x, o, 0)
			}
		}
	}
	return c
}

// viewOf is the topology that router x sees: links that the LSPs of both ends
// list, metrics of the sending end; from x itself the adjacencies it holds, if
// the neighbour lists the link, with the metric of its own last LSP, or the one
// it holds while that does not list the link.
func viewOf(c *Control, x int32) *topology {
	y := &topology{f: c.f, metric: make([]uint32, 2*len(c.f.Links)), overload: make([]bool, len(c.f.Routers)), without: -1}
	for o := range int32(len(c.f.Routers)) {
		l := c.data.holds(x, o)
		y.overload[o] = l != nil && l.overload
		for p, port := range c.f.Ports[o] {
			if l.lists(int32(p)) && c.data.holds(x, port.Peer).lists(port.Back) {
				y.metric[port.Out()] = l.metric[p]
			}
		}
	}
	for p, port := range c.f.Ports[x] {
		y.metric[port.Out()] = 0
		if c.up[port.Out()] && c.data.holds(x, port.Peer).lists(port.Back) {
			y.metric[port.Out()] = c.metricOf(x, int32(p))
			if own := c.data.holds(x, x); own.lists(int32(p)) {
				y.metric[port.Out()] = own.metric[p]
			}
		}
	}
	return y
}

// compareAlone compares next hops of x, as alone and gonum have them. No way of
// least cost comes back to x, so that x is left out of the ways beyond.
func compareAlone(t *rapid.T, c *Control, x int32) {
	y := viewOf(c, x)
	row := c.alone(x)
	words := int(c.lay.Words[x])
	for d := range int32(c.f.Leaves) {
		if d == x {
			continue
		}
		got, want := listed(row[int(d)*words:(int(d)+1)*words]), y.hops(x, d, y.to(d))
		if !slices.Equal(got, want) {
			t.Fatalf("next hops of %d to %d alone are ports %v, by gonum %v", x, d, got, want)
		}
	}
}

// A router's own database against gonum, with adjacencies that it holds and
// does not list, or lists and does not hold.
func TestAloneAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawControl(t)
		for range rapid.IntRange(0, 4).Draw(t, "adjacencies lost") {
			c.up[rapid.IntRange(0, len(c.up)-1).Draw(t, "end")] = false
		}
		for x := range int32(len(c.f.Routers)) {
			compareAlone(t, c, x)
		}
	})
}
