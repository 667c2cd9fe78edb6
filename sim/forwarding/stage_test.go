package forwarding_test

import (
	"testing"

	"halflight/model/fabric"
	"halflight/sim/forwarding"
	"halflight/sim/paths"
)

// stage is a fabric with tables, set up by hand, and its field.
type stage struct {
	f            *fabric.Fabric
	lay          *paths.Layout
	table, truth paths.Sets
	field        *forwarding.Field
	classes      int
	overload     []bool
	dirs         []forwarding.Direction // as last set
	alive        []bool
	pending      []int32
}

// view is a topology that a router computes on: what it leaves out.
type view struct {
	links   []int32
	routers []int32
}

// tables are the next hops of all routers over a view.
func (s *stage) tables(v view) *paths.Routes {
	r := paths.NewRoutes(s.f, s.lay)
	out := make([]bool, len(s.f.Links))
	for _, l := range v.links {
		out[l] = true
	}
	for _, x := range v.routers {
		for _, p := range s.f.Ports[x] {
			out[p.Link] = true
		}
	}
	for x := range s.f.Routers {
		if s.overload[x] {
			r.SetOverload(int32(x), true)
		}
		for p, port := range s.f.Ports[x] {
			if !out[port.Link] {
				m := s.f.Links[port.Link].Metric[1]
				if port.Lower {
					m = s.f.Links[port.Link].Metric[0]
				}
				r.SetMetric(int32(x), int32(p), m)
			}
		}
	}
	r.Apply()
	return r
}

// settings of a stage.
type settings struct {
	polarised, overloadLeaves, core bool
	classes                         int
}

func newStage(f *fabric.Fabric, o settings) *stage {
	s := &stage{f: f, lay: paths.NewLayout(f), classes: o.classes, overload: make([]bool, len(f.Routers)),
		dirs: make([]forwarding.Direction, 2*len(f.Links)), alive: make([]bool, len(f.Routers))}
	for x := range s.alive {
		s.alive[x] = true
		s.overload[x] = o.overloadLeaves && x < f.Leaves
	}
	for d := range s.dirs {
		s.dirs[d] = forwarding.Direction{Pass: s.pass(1), Cause: -1}
	}
	s.table, s.truth = paths.NewSets(s.lay), paths.NewSets(s.lay)
	first := s.tables(view{})
	s.table.Copy(first.Next)
	s.truth.Copy(first.Next)
	s.field = forwarding.New(f, o.classes, o.polarised, s.table, s.truth, first.Cost)
	if o.core {
		s.field.SetCore()
	}
	return s
}

func clos(t testing.TB, pods, leaves, spines, tops int) *fabric.Fabric {
	t.Helper()
	f, err := fabric.Clos{Pods: pods, Leaves: leaves, Spines: spines, Tops: tops, Parallel: 1}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// pass is the same share on every plane.
func (s *stage) pass(share float64) []float64 {
	out := make([]float64, 1+s.classes)
	for i := range out {
		out[i] = share
	}
	return out
}

func (s *stage) setDirection(dir int32, state forwarding.Direction) {
	s.dirs[dir] = state
	s.field.SetDirection(dir, state)
}

// lossy has a direction drop a share; all of it as a link that is dead.
func (s *stage) lossy(dir int32, p float64) {
	s.setDirection(dir, forwarding.Direction{Dead: p == 1, Pass: s.pass(1 - p), Cause: 0})
}

// kill takes a router out; no direction to or from it carries anything.
func (s *stage) kill(x int32) {
	s.alive[x] = false
	s.field.SetRouter(x, false)
	for _, p := range s.f.Ports[x] {
		s.lossy(p.Out(), 1)
		s.lossy(p.In(), 1)
	}
}

// compute gives a router the table of a view.
func (s *stage) compute(v view, routers ...int32) {
	next := s.tables(v).Next
	for _, x := range routers {
		for d := range int32(s.f.Leaves) {
			s.enter(d, x, next.Of(d, x))
		}
	}
}

// enter puts an entry into a router's table.
func (s *stage) enter(d, x int32, set []uint64) {
	s.table.Put(d, x, set)
	s.field.EntryChanged(x, d)
}

// settle brings the field up to date.
func (s *stage) settle() {
	s.pending = s.field.Pending(s.pending)
	for _, d := range s.pending {
		s.field.Settle(d)
	}
}

// lost settles and returns the lost share of all demand between leaves.
func (s *stage) lost() float64 {
	s.settle()
	sum, n := 0.0, s.f.Leaves
	for d := range int32(n) {
		for x := range int32(n) {
			if x != d {
				sum += 1 - s.field.Delivered(0, x, d)
			}
		}
	}
	return sum / float64(n*(n-1))
}

// all lists the routers from one on, n of them.
func all(from, n int) (out []int32) {
	for i := range n {
		out = append(out, int32(from+i))
	}
	return out
}

// between is the direction from one router to another.
func (s *stage) between(a, b int32) int32 {
	for _, p := range s.f.Ports[a] {
		if p.Peer == b {
			return p.Out()
		}
	}
	panic("forwarding: no link between the routers of a check")
}
