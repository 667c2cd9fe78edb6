package repair

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"halflight/model/fabric"
)

// twin knows the rules and nothing else: it counts and searches anew whenever
// it is asked.
type twin struct {
	f     *fabric.Fabric
	floor float64
	up    []bool // by direction
	links []bool // drained
	nodes []bool
	worst float64
}

func (w *twin) in(l int) bool {
	link := &w.f.Links[l]
	return w.up[2*l] && w.up[2*l+1] && !w.links[l] && !w.nodes[link.Lower] && !w.nodes[link.Upper]
}

func (w *twin) isUplink(r int32, l int) bool {
	link := &w.f.Links[l]
	if w.f.Shape.Pods > 0 {
		return link.Lower == r
	}
	return int(r) < w.f.Leaves && (link.Lower == r || link.Upper == r)
}

// uplinks counts a router's uplinks in use, and all.
func (w *twin) uplinks(r int32) (used, all int) {
	for l := range w.f.Links {
		if w.isUplink(r, l) {
			all++
			if w.in(l) {
				used++
			}
		}
	}
	return used, all
}

// paths lists which leaves have a path to each other, by trying all ways.
func (w *twin) paths() [][]bool {
	n := w.f.Leaves
	reach := make([][]bool, n)
	for a := range n {
		seen := make([]bool, len(w.f.Routers))
		var visit func(r int32)
		visit = func(r int32) {
			seen[r] = true
			if int(r) != a && (w.f.Shape.Pods > 0 && int(r) < n || w.nodes[r]) {
				return // no third leaf in a Clos, and no drained router, passes traffic on
			}
			for l := range w.f.Links {
				link := &w.f.Links[l]
				switch {
				case !w.in(l):
				case link.Lower == r && !seen[link.Upper]:
					visit(link.Upper)
				case link.Upper == r && !seen[link.Lower]:
					visit(link.Lower)
				}
			}
		}
		visit(int32(a))
		reach[a] = seen[:n]
	}
	return reach
}

// allows tries the drain and looks at what is left.
func (w *twin) allows(p part) bool {
	if p.router && int(p.id) < w.f.Leaves {
		return false
	}
	type count struct{ used, all int }
	before := make([]count, len(w.f.Routers))
	for r := range before {
		before[r].used, before[r].all = w.uplinks(int32(r))
	}
	paths := w.paths()
	flag := w.links
	if p.router {
		flag = w.nodes
	}
	flag[p.id] = true
	defer func() { flag[p.id] = false }()
	for r := range before {
		used, all := w.uplinks(int32(r))
		if used == before[r].used || p.router && int32(r) == p.id {
			continue
		}
		if rat(float64(used)).Cmp(new(big.Rat).Mul(decimal(w.floor), rat(float64(all)))) < 0 {
			return false
		}
	}
	left := w.paths()
	for a := range paths {
		for b := range paths[a] {
			if paths[a][b] && !left[a][b] {
				return false
			}
		}
	}
	return true
}

func rat(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }

// decimal is the floor as it is written: hundredths.
func decimal(x float64) *big.Rat { return big.NewRat(int64(math.Round(x*100)), 100) }

func (w *twin) measure() {
	for r := range w.f.Leaves {
		if used, all := w.uplinks(int32(r)); used > 0 {
			w.worst = min(w.worst, float64(used)/float64(all))
		}
	}
}

// anyFabric draws a Clos of either height, or some other graph.
func anyFabric(t *rapid.T) *fabric.Fabric {
	n := func(name string, low, high int) int { return rapid.IntRange(low, high).Draw(t, name) }
	var f *fabric.Fabric
	var err error
	switch n("shape", 0, 2) {
	case 0:
		f, err = fabric.Clos{Pods: 1, Leaves: n("leaves", 2, 4), Spines: n("spines", 1, 5), Parallel: n("parallel", 1, 2)}.Build(1, 1)
	case 1:
		f, err = fabric.Clos{Pods: n("pods", 1, 3), Leaves: n("leaves", 2, 3), Spines: n("spines", 1, 3), Tops: n("tops", 1, 3), Parallel: n("parallel", 1, 2)}.Build(1, 1)
	default:
		routers := n("routers", 2, 7)
		var links []fabric.Link
		for range n("links", 1, 14) {
			a := n("a", 0, routers-2)
			links = append(links, fabric.Link{Lower: int32(a), Upper: int32(n("b", a+1, routers-1)), Parallel: int32(len(links)), Metric: [2]uint32{1, 1}})
		}
		f, err = fabric.Graph(make([]fabric.Router, routers), links, n("destinations", 2, routers))
	}
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Random sightings and adjacencies that come and go: every drain and refusal is
// the twin's, at once and when tried again, and so is the worst capacity. So
// the floor is never broken and the last path never taken.
func TestRulesAgainstTwin(t *testing.T) {
	var n tally
	for range 10 {
		rapid.Check(t, n.world)
	}
	if n.drains < 1000 || n.refused < 1000 || n.late < 20 {
		t.Errorf("%+v: the worlds are too tame", n)
	}
}

// tally counts what happened in all worlds; late drains had been refused.
type tally struct{ drains, late, refused int }

// pair is an operator and its twin in one world.
type pair struct {
	*play
	t        *rapid.T
	w        *twin
	n        *tally
	retrying bool
}

func (n *tally) world(t *rapid.T) {
	f := anyFabric(t)
	rules := plan(rapid.IntRange(0, 2).Draw(t, "crew"))
	rules.Floor = rapid.SampledFrom([]float64{0, 0.34, 0.5, 0.7, 0.75}).Draw(t, "floor")
	w := &twin{f: f, floor: rules.Floor, up: make([]bool, 2*len(f.Links)), links: make([]bool, len(f.Links)), nodes: make([]bool, len(f.Routers)), worst: 1}
	for i := range w.up {
		w.up[i] = true
	}
	p := &pair{play: newPlay(f, rules), t: t, w: w, n: n}
	p.seen = p.check
	var open []int32
	for range rapid.IntRange(1, 25).Draw(t, "steps") {
		switch rapid.IntRange(0, 5).Draw(t, "step") {
		case 0, 1:
			end := rapid.Int32Range(0, int32(2*len(f.Links)-1)).Draw(t, "end")
			w.up[end] = rapid.Bool().Draw(t, "up")
			p.o.Believe(end, w.up[end], p.now)
			p.collect()
		case 2:
			if len(open) > 0 {
				p.o.End(rapid.SampledFrom(open).Draw(t, "ticket"), p.now)
				p.collect()
			}
		default:
			open = append(open, p.open(anyTicket(t, f)))
		}
		p.playTo(p.now + rapid.Int64Range(0, 300).Draw(t, "wait")*second)
	}
	p.playTo(p.now + 24*hour)
	if got := p.o.Capacity(p.now); got != w.worst {
		t.Fatalf("worst capacity %v, want %v", got, w.worst)
	}
	if p.o.OpenTickets() != 0 || p.o.Busy() != 0 || p.o.Queue() != 0 || len(p.o.wants) != 0 {
		t.Fatalf("something is left: %d tickets, %d at work, %d wait, %d wants", p.o.OpenTickets(), p.o.Busy(), p.o.Queue(), len(p.o.wants))
	}
}

func anyTicket(t *rapid.T, f *fabric.Fabric) Ticket {
	parts := func(n int) []int32 {
		return rapid.SliceOfNDistinct(rapid.Int32Range(0, int32(n-1)), 0, min(3, n), rapid.ID[int32]).Draw(t, "parts")
	}
	s := rapid.Int64Range(0, 40)
	tk := Ticket{Links: parts(len(f.Links)), Wrong: rapid.Bool().Draw(t, "wrong"), Reaction: s.Draw(t, "reaction") * second,
		Attempts: []Attempt{{s.Draw(t, "lead") * second, s.Draw(t, "work") * second, true}}}
	if rapid.Bool().Draw(t, "routers") {
		tk.Routers = parts(len(f.Routers))
	}
	return tk
}

// check asks the twin about one action.
func (p *pair) check(a Action) {
	of := part{a.Part, a.Deed == DrainRouter || a.Deed == RefuseRouter || a.Deed == UndrainRouter}
	flag := p.w.links
	if of.router {
		flag = p.w.nodes
	}
	switch a.Deed {
	case DrainLink, DrainRouter:
		if flag[a.Part] || !p.w.allows(of) {
			p.t.Fatalf("%+v breaks a rule", a)
		}
		flag[a.Part] = true
		p.n.drains++
		if p.retrying {
			p.n.late++
		}
	case RefuseLink, RefuseRouter:
		if flag[a.Part] || p.w.allows(of) {
			p.t.Fatalf("%+v, but no rule forbids it", a)
		}
		p.n.refused++
	case UndrainLink, UndrainRouter:
		if !flag[a.Part] {
			p.t.Fatalf("%+v was not drained", a)
		}
		flag[a.Part] = false
	}
}

// playTo goes on to an instant and compares after every step.
func (p *pair) playTo(end int64) {
	for len(p.queue) > 0 && p.queue[0].At <= end {
		if p.queue[0].At > p.now {
			p.w.measure()
		}
		p.retrying = p.queue[0].Kind == Retry
		p.step()
		p.retrying = false
		for _, wish := range p.o.wants {
			if (len(p.queue) == 0 || p.queue[0].At > p.now) && p.w.allows(wish.part) {
				p.t.Fatalf("%+v is still refused", wish)
			}
		}
		for l := range p.w.f.Links {
			if p.o.InUse(int32(l)) != p.w.in(l) {
				p.t.Fatalf("link %d: in use %v", l, p.o.InUse(int32(l)))
			}
		}
	}
	if end > p.now { // else more is to happen at this instant
		p.w.measure()
	}
	p.now = end
}
