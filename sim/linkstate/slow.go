package linkstate

import "halflight/sim/paths"

// Slow sets what a slow control plane multiplies x's times by, 1 for one that
// is not. It counts for hops that floods take and runs that start from now on,
// and for writes of runs that end from now on.
func (c *Control) Slow(x int32, factor float64, now int64) {
	r := &c.routers[x]
	if c.ahead.on && r.slow != factor && !c.dead[x] && c.takeBack(x, now) {
		defer c.listAgain(x)
	}
	if r.slow != 1 {
		c.slowed--
	}
	if r.slow = factor; factor != 1 {
		c.slowed++
	}
}

// perHop is how long LSPs that x sends take to its neighbour.
func (c *Control) perHop(x int32) int64 { return scale(c.t.PerHop, c.routers[x].slow) }

// paced is a time of x's own run or writes.
func (r *router) paced(t int64) int64 { return scale(t, r.factor*r.slow) }

// stuck is a table of which some entries are never written, although the router
// believes that they are.
type stuck struct {
	on     []bool     // by destination
	fault  []int32    // by destination: who keeps it from being written
	belief [][]uint64 // by destination: what the router believes; nil for what is in force
}

// believe returns what x believes its entry for d to be, to be changed.
func (s *stuck) believe(c *Control, x, d int32) []uint64 {
	if s.belief[d] == nil {
		s.belief[d] = append([]uint64(nil), c.Table.Of(d, x)...)
	}
	return s.belief[d]
}

// Stick says by which fault x's entry for each destination is kept from being
// written, -1 for none; nil lets all be written. What was kept back is written
// now where nothing keeps it any more.
func (c *Control) Stick(x int32, by []int32) {
	r := &c.routers[x]
	old := r.stuck
	if by == nil {
		r.stuck = nil
	} else {
		r.stuck = &stuck{on: make([]bool, c.f.Leaves), fault: by, belief: make([][]uint64, c.f.Leaves)}
		for d, f := range by {
			r.stuck.on[d] = f >= 0
		}
	}
	if old == nil {
		return
	}
	for d, set := range old.belief {
		switch {
		case set == nil:
		case by != nil && by[d] >= 0:
			r.stuck.belief[d] = set
		default:
			c.enter(x, int32(d), set, nil)
		}
	}
}

// StuckBy returns the fault that keeps x's entry for d from being what x
// believes it is, -1 for none.
func (c *Control) StuckBy(x, d int32) int32 {
	s := c.routers[x].stuck
	if s == nil || s.belief[d] == nil || paths.Same(s.belief[d], c.Table.Of(d, x)) {
		return -1
	}
	return s.fault[d]
}

// quickest finds the quickest way of a flood to every router, each hop at the
// pace of its sender, and later by what is lost on it. A level is all routers of one instant.
func (c *Control) quickest(fl *flood) {
	at := c.scratch.when
	for i := range at {
		fl.hop[i], at[i] = far, Never
	}
	at[fl.from] = 0
	todo := append(c.scratch.waves[:0], wave{0, fl.from})
	fl.reach, fl.level, fl.delay = fl.reach[:0], fl.level[:0], fl.delay[:0]
	for len(todo) > 0 {
		w := todo.pop()
		if fl.hop[w.router] != far {
			continue
		}
		if n := len(fl.delay); n <= 1 || fl.delay[n-1] != w.at { // the start alone, even if hops take no time
			fl.level, fl.delay = append(fl.level, int32(len(fl.reach))), append(fl.delay, w.at)
		}
		fl.hop[w.router] = uint16(len(fl.delay) - 1)
		fl.reach = append(fl.reach, w.router)
		if fl.late && w.router != fl.from && c.has(w.router, fl.lsps[0]) {
			continue
		}
		for p, port := range c.f.Ports[w.router] {
			if c.flooding.ports[w.router][p>>6]>>(p&63)&1 == 0 {
				continue
			}
			if then := w.at + c.perHop(w.router) + c.resent(fl, port.Out()); then < at[port.Peer] {
				at[port.Peer] = then
				todo.push(wave{then, port.Peer})
			}
		}
	}
	fl.level = append(fl.level, int32(len(fl.reach)))
	c.scratch.waves = todo
}

// has says whether x has a version, or a newer one; a router wants none of its own.
func (c *Control) has(x int32, v version) bool {
	return x == v.origin || c.data.seq[v.origin][x] >= v.seq
}

// delayOf is the time from a flood's start to its arrival at a level.
func (c *Control) delayOf(fl *flood, level int) int64 {
	if len(fl.delay) > 0 {
		return fl.delay[level]
	}
	return int64(level) * c.t.PerHop
}

// wave is a flood on its way to a router.
type wave struct {
	at     int64
	router int32
}

// waves is a heap of them by instant, then by router.
type waves []wave

func (h waves) less(i, j int) bool {
	return h[i].at < h[j].at || h[i].at == h[j].at && h[i].router < h[j].router
}

func (h *waves) push(w wave) {
	*h = append(*h, w)
	for i := len(*h) - 1; i > 0 && h.less(i, (i-1)/2); i = (i - 1) / 2 {
		(*h)[i], (*h)[(i-1)/2] = (*h)[(i-1)/2], (*h)[i]
	}
}

func (h *waves) pop() wave {
	first, n := (*h)[0], len(*h)-1
	(*h)[0] = (*h)[n]
	*h = (*h)[:n]
	for i := 0; 2*i+1 < n; {
		least := 2*i + 1
		if least+1 < n && h.less(least+1, least) {
			least++
		}
		if !h.less(least, i) {
			break
		}
		(*h)[i], (*h)[least] = (*h)[least], (*h)[i]
		i = least
	}
	return first
}
