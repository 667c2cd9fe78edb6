package messages

// lostShare walks every flow of every ordered pair of leaves along every path
// and adds up what is lost: S20 to S22.
func (p *play) lostShare() float64 {
	c := p.conditionNow()
	n := p.f.Leaves
	labels := 1
	if p.world.Polarised {
		labels = p.labels()
	}
	w := walker{play: p, c: &c, visited: make([]bool, len(p.routers))}
	lost := 0.0
	for s := range n {
		for d := range n {
			switch {
			case s == d:
				continue
			case c.dead[s] || c.dead[d]:
				lost++
				continue
			}
			sum := 0.0
			for label := range labels {
				w.to, w.label = d, label
				sum += w.from(int32(s), 1, 1e18)
			}
			lost += sum / float64(labels)
		}
	}
	return lost / float64(n*(n-1))
}

// labels is a common multiple of all numbers of next hops, least first.
func (p *play) labels() int {
	m := 1
	for _, x := range p.routers {
		for _, next := range x.table {
			if k := len(next); k > 0 {
				m = m / common(m, k) * k
			}
		}
	}
	return m
}

func common(a, b int) int {
	for b > 0 {
		a, b = b, a%b
	}
	return a
}

// walker follows the flows from one leaf to another.
type walker struct {
	*play
	c       *condition
	visited []bool // by this flow
	to      int
	label   int
}

// from is the share of the flows at r that is lost; passes is the share that is
// left of each when it comes there, narrow the largest size that passed. Packets
// have from 500 to 1,500 bytes, uniformly.
func (w *walker) from(r int32, passes, narrow float64) float64 {
	if int(r) == w.to {
		return 1 - passes*min(max((narrow-500)/1000, 0), 1)
	}
	next := w.routers[r].table[w.to]
	if w.visited[r] || w.c.dead[r] || len(next) == 0 {
		return 1
	}
	w.visited[r] = true
	sum := 0.0
	if w.world.Polarised {
		sum = w.over(r, next[w.label%len(next)], passes, narrow)
	} else {
		for _, c := range next {
			sum += w.over(r, c, passes, narrow)
		}
		sum /= float64(len(next))
	}
	w.visited[r] = false
	return sum
}

func (w *walker) over(r int32, c int, passes, narrow float64) float64 {
	port := w.f.Ports[r][c]
	if w.c.cut[port.Link] {
		return 1
	}
	out := port.Out()
	if passes *= w.c.passes[out]; passes == 0 {
		return 1
	}
	return w.from(port.Peer, passes, min(narrow, w.c.narrow[out]))
}
