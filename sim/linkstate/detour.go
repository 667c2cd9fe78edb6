package linkstate

import "halflight/sim/paths"

// Around returns the directions of the way by which the sender of a direction
// reaches the router at its far end without that link: the least cost by the
// sender's own database, of equal ways the one of the lowest ports, no transit
// through routers with the overload bit. Empty if there is none.
func (c *Control) Around(direction int32) []int32 {
	x, to := c.f.From(direction), c.f.To(direction)
	cost := make([]uint32, len(c.routers))
	by := make([]int32, len(c.routers)) // the direction by which a router is reached
	for i := range cost {
		cost[i], by[i] = paths.Unreachable, -1
	}
	cost[x] = 0
	h := c.scratch.heap[:0]
	h.Push(0, x)
	for len(h) > 0 {
		d, y := h.Pop()
		l := c.data.holds(x, y)
		if d > cost[y] || y == to || l == nil || (l.overload && y != x) {
			continue
		}
		for p, port := range c.f.Ports[y] {
			m := l.metric[p]
			if y == x && !c.up[port.Out()] {
				m = 0
			}
			if m == 0 || port.Link == direction>>1 || !c.data.holds(x, port.Peer).lists(port.Back) {
				continue
			}
			if d+m < cost[port.Peer] || d+m == cost[port.Peer] && by[port.Peer] > port.Out() {
				cost[port.Peer], by[port.Peer] = d+m, port.Out()
				h.Push(d+m, port.Peer)
			}
		}
	}
	c.scratch.heap = h[:0]
	if by[to] < 0 {
		return nil
	}
	var way []int32
	for y := to; y != x; y = c.f.From(by[y]) {
		way = append(way, by[y])
	}
	for i, j := 0, len(way)-1; i < j; i, j = i+1, j-1 {
		way[i], way[j] = way[j], way[i]
	}
	return way
}
