package traffic

import (
	"math"
	"testing"

	"halflight/model/fabric"
)

func made(t *testing.T, d fabric.Division) *fabric.Fabric {
	t.Helper()
	f, err := d.Build(1e11, 1e11)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Small fabrics of every kind with every place of entry.
func mixes(t *testing.T, each func(name string, f *fabric.Fabric, d *Demand)) {
	for _, k := range []int{1, 2} {
		for _, at := range []Place{AtPod, AtLeaves, AtSpines, AtTops} {
			for _, share := range []float64{0, 0.25} {
				division := fabric.Division{Clos: fabric.Clos{Pods: 4, Leaves: 3, Spines: 2, Tops: 2, Parallel: 1}, Fabrics: k}
				switch {
				case share == 0:
				case at == AtSpines:
					division.Outside = fabric.Spine
				case at == AtTops:
					division.Outside = fabric.Top
				}
				f := made(t, division)
				d := Default()
				d.External = External{Share: share, At: at, Boxes: 3}
				f.Border = d.External.Border(f)
				d.Mix = NewMix(f, d.External)
				each(at.String(), f, &d)
			}
		}
	}
}

// All pairs together have the demand of as many mean pairs, the outside its share
// of it; it is the same both ways; fabrics send nothing to one another; and what a
// leaf sends to others of its kind does not depend on who they are.
func TestMixAddsUp(t *testing.T) {
	mixes(t, func(name string, f *fabric.Fabric, d *Demand) {
		m := d.Mix
		if m == nil {
			if f.Fabrics > 1 || d.External.Share > 0 {
				t.Errorf("%s: all pairs are alike", name)
			}
			return
		}
		all, out := 0.0, 0.0
		for s := range int32(f.Leaves) {
			for e := range int32(f.Leaves) {
				w, o := m.Pair(s, e), m.Outside(s, e)
				if w != m.Pair(e, s) || o > w*(1+1e-15) || w < 0 || o < 0 {
					t.Fatalf("%s: %v of %v from %d to %d, %v back", name, o, w, s, e, m.Pair(e, s))
				}
				if f.Of(s) != f.Of(e) && w != 0 {
					t.Fatalf("%s: fabrics talk", name)
				}
				if f.Foreign(s) && w != o {
					t.Fatalf("%s: from outside, and not external", name)
				}
				all, out = all+w, out+o
			}
			if math.Abs(m.Total(s, f.Leaves)-sum(f, m, s)) > 1e-9 {
				t.Fatalf("%s: %v, want %v", name, m.Total(s, f.Leaves), sum(f, m, s))
			}
		}
		if n := float64(f.Leaves * (f.Leaves - 1)); math.Abs(all-n) > 1e-9*n || math.Abs(out-d.External.Share*n) > 1e-9*n || math.Abs(m.External-out) > 1e-9*n {
			t.Errorf("%s, %d fabrics: %v of %v are external, of %v", name, f.Fabrics, out, all, n)
		}
	})
}

func sum(f *fabric.Fabric, m *Mix, s int32) (v float64) {
	for e := range int32(f.Leaves) {
		v += m.Pair(s, e)
	}
	return v
}

// What each kind of router carries at rest, by following every pair over every
// shortest path.
func TestBoxesByPaths(t *testing.T) {
	mixes(t, func(name string, f *fabric.Fabric, d *Demand) {
		load := make([]float64, len(f.Routers))
		n := float64(f.Leaves * (f.Leaves - 1))
		for s := range int32(f.Leaves) {
			for e := range int32(f.Leaves) {
				if w := d.Mix.Pair(s, e); w > 0 {
					walk(f, s, e, w/n, load)
				}
			}
		}
		seen := map[string]float64{}
		for x := range f.Routers {
			kind := f.Routers[x].Class.String()
			switch {
			case f.Foreign(int32(x)):
				continue
			case kind == "leaf" && f.Border != nil && f.Border[x]:
				kind = "border leaf"
			}
			seen[kind] = math.Max(seen[kind], load[x])
		}
		boxes := d.Boxes(f)
		if len(boxes) != len(seen) {
			t.Errorf("%s: %d kinds, want %d", name, len(boxes), len(seen))
		}
		most := 0.0
		for _, b := range boxes {
			if math.Abs(b.Share-seen[b.Name]) > 1e-12 {
				t.Errorf("%s, %d fabrics, share %v: a %s carries %v, want %v", name, f.Fabrics, d.External.Share, b.Name, b.Share, seen[b.Name])
			}
			most = math.Max(most, b.Share)
		}
		if d.Hottest(f) != most {
			t.Errorf("%s: the hottest carries %v, want %v", name, d.Hottest(f), most)
		}
	})
}

// walk adds an amount to every router on the shortest paths from s to e, split
// equally at each.
func walk(f *fabric.Fabric, s, e int32, amount float64, load []float64) {
	hops := make([]int, len(f.Routers))
	queue := []int32{e}
	hops[e] = 1
	for i := 0; i < len(queue); i++ {
		x := queue[i]
		if int(x) < f.Leaves && x != e {
			continue // leaves carry nothing of others
		}
		for _, p := range f.Ports[x] {
			if hops[p.Peer] == 0 {
				hops[p.Peer] = hops[x] + 1
				queue = append(queue, p.Peer)
			}
		}
	}
	var onward func(x int32, part float64)
	onward = func(x int32, part float64) {
		load[x] += part
		if x == e {
			return
		}
		var next []int32
		for _, p := range f.Ports[x] {
			if hops[p.Peer] == hops[x]-1 && hops[p.Peer] > 0 && (int(p.Peer) >= f.Leaves || p.Peer == e) {
				next = append(next, p.Peer)
			}
		}
		for _, y := range next {
			onward(y, part/float64(len(next)))
		}
	}
	onward(s, amount)
}
