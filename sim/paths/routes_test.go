package paths

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"halflight/model/fabric"
	"halflight/sim/paths/plain"
)

// hold compares costs and next-hop sets, all destinations from all routers.
func hold(t *rapid.T, y *plain.Topology, r *Routes, when string) {
	for d := range int32(y.Fabric.Leaves) {
		cost := y.To(d)
		for x := range int32(len(y.Fabric.Routers)) {
			got, want := float64(r.Cost(d, x)), cost[x]
			if r.Cost(d, x) == Unreachable {
				got = math.Inf(1)
			}
			if got != want {
				t.Fatalf("%s: cost of %d to %d is %v, by gonum %v", when, x, d, got, want)
			}
			if hops, expected := plain.Ports(r.Next.Of(d, x)), y.Hops(x, d, cost); !slices.Equal(hops, expected) {
				t.Fatalf("%s: next hops of %d to %d are ports %v, by gonum %v", when, x, d, hops, expected)
			}
		}
	}
}

// Routes against gonum's Dijkstra: from nothing, and after any sequence of
// changes of metrics (one direction or both, to unusable and back, the same
// more than once before they are carried out) and overload bits. What changed
// is among Touched.
func TestRoutesAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := plain.Draw(t)
		y := &plain.Topology{Fabric: f, Metric: make([]uint32, 2*len(f.Links)), Overload: make([]bool, len(f.Routers)), Without: -1}
		r := NewRoutes(f, NewLayout(f))
		set := func(dir int32, m uint32) {
			y.Metric[dir] = m
			r.SetMetric(f.From(dir), f.PortOf(f.From(dir), dir>>1), m)
		}
		for x := range y.Overload {
			if y.Overload[x] = rapid.IntRange(0, 3).Draw(t, "overload") == 0; y.Overload[x] {
				r.SetOverload(int32(x), true)
			}
		}
		even := rapid.Bool().Draw(t, "even") // costs are hops
		for i, l := range f.Links {
			if even {
				l.Metric = [2]uint32{1, 1}
			}
			set(int32(2*i), l.Metric[0])
			set(int32(2*i+1), l.Metric[1])
		}
		if rapid.Bool().Draw(t, "fill") {
			r.Fill()
		} else {
			r.Apply()
		}
		hold(t, y, r, "at first")
		metric := rapid.SampledFrom([]uint32{0, 0, 0, 1, 1, 2, 3, 5, 1<<24 - 2})
		for step := range rapid.IntRange(1, 12).Draw(t, "steps") {
			was := NewSets(r.Next.Layout)
			was.Copy(r.Next)
			for x := range r.Touched {
				r.Touched[x], r.Full[x] = r.Touched[x][:0], false
			}
			for range rapid.IntRange(1, 5).Draw(t, "changes") {
				link := rapid.Int32Range(0, int32(len(f.Links)-1)).Draw(t, "link")
				switch rapid.IntRange(0, 3).Draw(t, "what") {
				case 0:
					set(2*link+rapid.Int32Range(0, 1).Draw(t, "direction"), metric.Draw(t, "metric"))
				case 1: // as configured
					set(2*link, f.Links[link].Metric[0])
					set(2*link+1, f.Links[link].Metric[1])
				case 2: // listed by one end only
					set(2*link, 0)
					set(2*link+1, 0)
				default:
					x := rapid.Int32Range(0, int32(len(f.Routers)-1)).Draw(t, "router")
					y.Overload[x] = rapid.Bool().Draw(t, "bit")
					r.SetOverload(x, y.Overload[x])
				}
			}
			r.Apply()
			hold(t, y, r, fmt.Sprint("after step ", step))
			for d := range int32(f.Leaves) {
				for x := range int32(len(f.Routers)) {
					if !Same(was.Of(d, x), r.Next.Of(d, x)) && !r.Full[x] && !slices.Contains(r.Touched[x], d) {
						t.Fatalf("step %d: the entry of %d for %d changed and is not among Touched", step, x, d)
					}
				}
			}
		}
	})
}

// The smallest change that makes a router lose all its next hops and find as
// near ones in the same stroke: of two parallel links one goes down and the
// other comes up. Its neighbour keeps it beside the other way it has.
func TestRoutesParallelLinksChangePlaces(t *testing.T) {
	name := []string{"d", "y", "x", "z"}
	var routers []fabric.Router
	for i, n := range name {
		routers = append(routers, fabric.Router{Class: fabric.Other, First: int32(i), Name: n})
	}
	one := [2]uint32{1, 1}
	f, err := fabric.Graph(routers, []fabric.Link{{Lower: 0, Upper: 2, Metric: one}, {Lower: 0, Upper: 2, Parallel: 1, Metric: one},
		{Lower: 0, Upper: 3, Metric: one}, {Lower: 1, Upper: 2, Metric: one}, {Lower: 1, Upper: 3, Metric: one}}, 2)
	if err != nil {
		t.Fatal(err)
	}
	r := NewRoutes(f, NewLayout(f))
	both := func(link int32, m uint32) {
		r.SetMetric(f.From(2*link), f.PortOf(f.From(2*link), link), m)
		r.SetMetric(f.To(2*link), f.PortOf(f.To(2*link), link), m)
	}
	for _, link := range []int32{0, 2, 3, 4} {
		both(link, 1)
	}
	r.Apply()
	both(0, 0)
	both(1, 1)
	r.Apply()
	if got := plain.Ports(r.Next.Of(0, 1)); !slices.Equal(got, []int32{0, 1}) {
		t.Errorf("y to d by ports %v, want by x and by z", got)
	}
}

// Leaves that could change places are filled one from the other: against finding
// the same routes change by change.
func TestFillOfTwins(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, most int) int { return rapid.IntRange(1, most).Draw(t, name) }
		c := fabric.Clos{Pods: draw("pods", 3), Leaves: 1 + draw("leaves", 3), Spines: draw("spines", 3), Tops: draw("tops", 2), Parallel: draw("parallel", 2)}
		f, err := c.Build(1, 1)
		if err != nil {
			t.Fatal(err)
		}
		fill, step := NewRoutes(f, NewLayout(f)), NewRoutes(f, NewLayout(f))
		transit := rapid.Bool().Draw(t, "transit")
		for x := range int32(f.Leaves) {
			bit := !transit || rapid.IntRange(0, 3).Draw(t, "bit") == 0
			fill.SetOverload(x, bit)
			step.SetOverload(x, bit)
		}
		whole := rapid.Bool().Draw(t, "whole")
		for x := range f.Ports {
			for p := range f.Ports[x] {
				if whole || rapid.IntRange(0, 9).Draw(t, "out") > 0 {
					fill.SetMetric(int32(x), int32(p), 1)
					step.SetMetric(int32(x), int32(p), 1)
				}
			}
		}
		fill.Fill()
		step.Apply()
		for d := range int32(f.Leaves) {
			for x := range int32(len(f.Routers)) {
				if got, want := fill.Cost(d, x), step.Cost(d, x); got != want {
					t.Fatalf("cost of %s to %s: %d, step by step %d", f.Routers[x].Name, f.Routers[d].Name, got, want)
				}
				if got, want := fill.Next.Of(d, x), step.Next.Of(d, x); !slices.Equal(got, want) {
					t.Fatalf("next hops of %s to %s: %v, step by step %v", f.Routers[x].Name, f.Routers[d].Name, got, want)
				}
			}
		}
	})
}
