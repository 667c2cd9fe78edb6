package load_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"halflight/model/fabric"
	"halflight/model/traffic"
	"halflight/sim/load"
	"halflight/sim/paths"
)

// stage is a fabric with parts out of use.
type stage struct {
	f     *fabric.Fabric
	table paths.Sets
	out   []bool // by link
	gone  []bool // by router
}

func clos(t *testing.T, c fabric.Clos) *stage {
	t.Helper()
	f, err := c.Build(100e9, 100e9)
	if err != nil {
		t.Fatal(err)
	}
	s := &stage{f: f, out: make([]bool, len(f.Links)), gone: make([]bool, len(f.Routers))}
	s.converge()
	return s
}

// converge computes all tables, leaves no transit.
func (s *stage) converge() {
	r := paths.NewRoutes(s.f, paths.NewLayout(s.f))
	for x := range s.f.Routers {
		r.SetOverload(int32(x), x < s.f.Leaves)
		for p, port := range s.f.Ports[x] {
			if !s.isOut(port.Link) {
				r.SetMetric(int32(x), int32(p), 1)
			}
		}
	}
	r.Apply()
	s.table = r.Next
}

func (s *stage) isOut(l int32) bool {
	return s.out[l] || s.gone[s.f.Links[l].Lower] || s.gone[s.f.Links[l].Upper]
}

func (s *stage) book(apart bool) *load.Book {
	return load.New(s.f, s.table, func(s, d int32) float64 { return 1 }, func(d int32) bool { return s.isOut(d >> 1) }, func(x int32) bool { return !s.gone[x] }, apart)
}

// fullest is how full the fullest direction is, and which it is: the first of several.
func fullest(b *load.Book, pair float64) (use float64, direction int32) {
	for dir, l := range b.Load {
		if u := b.Use(int32(dir), l, pair); u > use {
			use, direction = u, int32(dir)
		}
	}
	return use, direction
}

// paths is the dumb twin: every way of every pair, direction by direction.
func (s *stage) paths() []float64 {
	sum := make([]float64, 2*len(s.f.Links))
	var seen []int32
	var walk func(d, x int32, amount float64)
	walk = func(d, x int32, amount float64) {
		if x == d {
			return
		}
		for _, y := range seen {
			if y == x {
				return
			}
		}
		seen = append(seen, x)
		k := 0
		for p := range s.f.Ports[x] {
			if s.table.Has(d, x, int32(p)) {
				k++
			}
		}
		for p, port := range s.f.Ports[x] {
			if s.table.Has(d, x, int32(p)) && !s.isOut(port.Link) {
				sum[port.Out()] += amount / float64(k)
				walk(d, port.Peer, amount/float64(k))
			}
		}
		seen = seen[:len(seen)-1]
	}
	for d := range int32(s.f.Leaves) {
		for x := range int32(s.f.Leaves) {
			if x != d && !s.gone[x] {
				walk(d, x, 1)
			}
		}
	}
	return sum
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-12*math.Max(1, math.Abs(want)) {
		t.Errorf("%s: %.15g, want %.15g", what, got, want)
	}
}

// Closed forms of leaf and spine: with n leaves and s spines each uplink carries
// (n-1)/s of what a leaf sends to one other; with one spine lost s/(s-1) of that;
// with one uplink of one leaf lost the others of that leaf s/(s-1), and the way down
// to it by each other spine, too. At a load of 1, with as many servers as fill the
// uplinks, one of s spines lost asks each direction for s/(s-1) of what it carries
// and loses 1/s of it.
func TestClosedForms(t *testing.T) {
	const n, spines = 6, 4
	s := clos(t, fabric.Clos{Pods: 1, Leaves: n, Spines: spines, Parallel: 1})
	b := s.book(false)
	b.All()
	rest := float64(n-1) / spines
	for dir, l := range b.Load {
		near(t, "at rest "+s.f.DirectionName(int32(dir)), l, rest)
	}
	d := traffic.Default()
	pair := d.Sent(s.f, 1) / (n - 1)
	use, _ := fullest(b, pair)
	near(t, "at a load of 1", use, 1)

	s.gone[n] = true // the first spine
	s.converge()
	b = s.book(true)
	b.All()
	for dir, l := range b.Load {
		want := rest * spines / (spines - 1)
		if s.isOut(int32(dir) >> 1) {
			want = 0
		}
		near(t, "a spine lost, "+s.f.DirectionName(int32(dir)), l, want)
	}
	use, dir := fullest(b, pair)
	near(t, "use", use, spines/(spines-1.0))
	near(t, "lost", traffic.Lost(b.Use(dir, b.Load[dir], pair)), 1.0/spines)

	s.gone[n], s.out[0] = false, true // the first leaf's first uplink
	s.converge()
	b = s.book(true)
	b.All()
	for _, p := range s.f.Ports[0][1:] {
		near(t, "an uplink lost, up", b.Load[p.Out()], rest*spines/(spines-1))
		near(t, "an uplink lost, down", b.Load[p.In()], rest*spines/(spines-1))
	}
	near(t, "to another leaf by the spine that lost it", b.Load[s.f.Ports[1][0].In()], (n-2)/float64(spines))
}

// Three tiers by the loads at rest of package traffic, and with a top lost: the
// other tops of its plane carry tops/(tops-1).
func TestThreeTiers(t *testing.T) {
	s := clos(t, fabric.Clos{Pods: 3, Leaves: 4, Spines: 2, Tops: 3, Parallel: 1})
	d := traffic.Default()
	sent := d.Sent(s.f, 0.6)
	pair := sent / float64(s.f.Leaves-1)
	at := d.Rest(s.f, 0.6)
	b := s.book(false)
	b.All()
	for dir, l := range b.Load {
		want := at.LeafSpine
		if int(s.f.Links[dir>>1].Lower) >= s.f.Leaves {
			want = at.SpineTop
		}
		near(t, s.f.DirectionName(int32(dir)), l*pair/1e9, want/1e9)
	}
	top := int32(len(s.f.Routers)) - 1
	s.gone[top] = true
	s.converge()
	b = s.book(false)
	b.All()
	plane := s.f.Routers[top].First
	for _, x := range []int32{top - 1, top - 2} {
		if s.f.Routers[x].First != plane {
			t.Fatal("not of one plane")
		}
		for _, p := range s.f.Ports[x] {
			near(t, "the other tops", b.Load[p.In()]*pair/1e9, at.SpineTop*3/2/1e9)
		}
	}
}

// Random tables, with circles, holes and dead parts: against every path, to 1e-12;
// found anew destination by destination as from nothing; and no more comes out than
// went in, all of it where tables are converged.
func TestAgainstPaths(t *testing.T) {
	sent := 0
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 9))
		s := clos(t, fabric.Clos{Pods: 2, Leaves: 1 + r.IntN(3), Spines: 2, Tops: 1 + r.IntN(2), Parallel: 1})
		b := s.book(true)
		b.All()
		for range 6 {
			for l := range s.out {
				s.out[l] = r.IntN(8) == 0
			}
			for x := range s.gone {
				s.gone[x] = r.IntN(12) == 0
			}
			for d := range int32(s.f.Leaves) {
				if r.IntN(2) == 0 {
					continue
				}
				for x := range int32(len(s.f.Routers)) {
					if r.IntN(3) > 0 {
						continue
					}
					s.table.Put(d, x, []uint64{r.Uint64() & (1<<len(s.f.Ports[x]) - 1)}) // any next hops at all
				}
			}
			b.All()
			want := s.paths()
			for dir := range want {
				near(t, "by paths", b.Load[dir], want[dir])
			}
			whole := s.book(false)
			whole.All()
			for dir := range want {
				near(t, "all at once", whole.Load[dir], b.Load[dir])
			}
			in := 0.0
			for d := range int32(s.f.Leaves) {
				for _, p := range s.f.Ports[d] {
					in += b.Load[p.In()]
				}
			}
			if in > 0 {
				sent++
			}
		}
		clear(s.out)
		clear(s.gone)
		s.converge()
		b = s.book(true)
		for d := range int32(s.f.Leaves) {
			b.One(d)
			b.One(d)
		}
		for d := range int32(s.f.Leaves) {
			in, out := 0.0, 0.0
			for _, p := range s.f.Ports[d] {
				in, out = in+b.Load[p.In()], out+b.Load[p.Out()]
			}
			near(t, "what a leaf gets", in, float64(s.f.Leaves-1))
			near(t, "what a leaf sends", out, float64(s.f.Leaves-1))
		}
	}
	if sent < 300 {
		t.Errorf("of 360 times something arrived %d", sent)
	}
}

// The bound is never below the fullest direction, whatever is out of use; and is how
// full that is where nothing is.
func TestBound(t *testing.T) {
	finite, slack := 0, 0.0
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 4))
		shape := fabric.Clos{Pods: 1 + r.IntN(3), Leaves: 2 + r.IntN(3), Spines: 2 + r.IntN(5), Parallel: 1 + r.IntN(2)}
		if shape.Pods > 1 || r.IntN(2) == 0 {
			shape.Tops = 1 + r.IntN(4)
		}
		s := clos(t, shape)
		d := traffic.Default()
		pair := d.Sent(s.f, 1) / float64(s.f.Leaves-1)
		gone := func(x int32) bool { return s.gone[x] }
		ls, st := d.Uses(s.f, 1)
		if one := load.Bound(s.f, ls, st, s.isOut, gone); math.Abs(one-max(ls, st)) > 1e-12 {
			t.Fatalf("a bound of %v where all is in use, and the fullest is %v", one, max(ls, st))
		}
		for range 4 {
			for l := range s.out {
				s.out[l] = r.IntN(25) == 0
			}
			for x := range s.gone {
				s.gone[x] = r.IntN(40) == 0
			}
			s.converge()
			b := s.book(false)
			b.All()
			use, dir := fullest(b, pair)
			bound := load.Bound(s.f, ls, st, s.isOut, gone)
			if use > bound*(1+1e-12) {
				t.Errorf("seed %d: %s is %v full, the bound says %v", seed, s.f.DirectionName(dir), use, bound)
			}
			if !math.IsInf(bound, 1) && use > 0 {
				finite++
				slack += bound / use
			}
		}
	}
	t.Logf("%d of 1200 times the bound said something, and %.3f times the load in the mean", finite, slack/float64(finite))
	if finite < 300 {
		t.Errorf("the bound said something %d times", finite)
	}
}
