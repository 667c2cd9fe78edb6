package linkstate

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"halflight/model/timer"
	"halflight/sim/paths"
	"halflight/sim/paths/plain"
)

// drawControl draws routers whose databases hold any mixture of versions, of
// which some list less than others, with other metrics or the overload bit, or
// nothing of a router at all.
func drawControl(t *rapid.T) *Control {
	f := plain.Draw(t)
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
func viewOf(c *Control, x int32) *plain.Topology {
	y := &plain.Topology{Fabric: c.f, Metric: make([]uint32, 2*len(c.f.Links)), Overload: make([]bool, len(c.f.Routers)), Without: -1}
	for o := range int32(len(c.f.Routers)) {
		l := c.data.holds(x, o)
		y.Overload[o] = l != nil && l.overload
		for p, port := range c.f.Ports[o] {
			if l.lists(int32(p)) && c.data.holds(x, port.Peer).lists(port.Back) {
				y.Metric[port.Out()] = l.metric[p]
			}
		}
	}
	for p, port := range c.f.Ports[x] {
		y.Metric[port.Out()] = 0
		if c.up[port.Out()] && c.data.holds(x, port.Peer).lists(port.Back) {
			y.Metric[port.Out()] = c.metricOf(x, int32(p))
			if own := c.data.holds(x, x); own.lists(int32(p)) {
				y.Metric[port.Out()] = own.metric[p]
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
		got, want := plain.Ports(row[int(d)*words:(int(d)+1)*words]), y.Hops(x, d, y.To(d))
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

// The routes that all routers share, moved from one database to the next in any
// order, against each router's own.
func TestSharedRoutesAgainstAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawControl(t)
		for x := range int32(len(c.f.Routers)) { // each holds what it lists
			for p, port := range c.f.Ports[x] {
				c.up[port.Out()] = c.data.holds(x, x).lists(int32(p))
			}
		}
		for range rapid.IntRange(1, 20).Draw(t, "runs") {
			x := rapid.Int32Range(0, int32(len(c.f.Routers)-1)).Draw(t, "router")
			if !c.seek(x) {
				continue
			}
			row, words := c.alone(x), int(c.lay.Words[x])
			for d := range int32(c.f.Leaves) {
				if d != x && !paths.Same(row[int(d)*words:(int(d)+1)*words], c.view.Next.Of(d, x)) {
					t.Fatalf("next hops of %d to %d: shared %v, alone %v", x, d, plain.Ports(c.view.Next.Of(d, x)), plain.Ports(row[int(d)*words:(int(d)+1)*words]))
				}
			}
		}
	})
}
