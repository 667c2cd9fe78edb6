package fabric

import (
	"fmt"
	"math"
	"testing"
)

func clos(t *testing.T, c Clos) *Fabric {
	t.Helper()
	f, err := c.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Every router is in exactly one power domain, of its own class and pod or
// plane, and no domain of spines or tops holds more than half of them.
func TestPowerDomains(t *testing.T) {
	for _, c := range []struct {
		clos   Clos
		leaves int
		count  int
	}{
		{Clos{2, 5, 4, 3, 1}, 2, 2*3 + 2*2 + 4*3}, // tops: three to a plane, alone
		{Clos{2, 5, 4, 6, 1}, 20, 2*1 + 2*2 + 4*3},
		{Clos{1, 6, 2, 0, 1}, 3, 2 + 2},
		{Clos{1, 6, 8, 0, 1}, 1, 6 + 8},
		{Clos{10, 40, 16, 8, 1}, 2, (400 + 160 + 128) / 2},
	} {
		f := clos(t, c.clos)
		groups := f.PowerDomains(c.leaves)
		if len(groups) != c.count {
			t.Errorf("%+v by %d: %d domains, want %d", c.clos, c.leaves, len(groups), c.count)
		}
		seen := make([]int, len(f.Routers))
		for _, g := range groups {
			first := f.Routers[g.Routers[0]]
			for _, r := range g.Routers {
				seen[r]++
				if f.Routers[r].Class != first.Class || f.Routers[r].First != first.First {
					t.Errorf("%s holds %s and %s", g.Name, first.Name, f.Routers[r].Name)
				}
			}
			if most := map[Class]int{Leaf: c.leaves, Spine: max(1, c.clos.Spines/2), Top: max(1, c.clos.Tops/2)}[first.Class]; len(g.Routers) > most {
				t.Errorf("%s holds %d routers", g.Name, len(g.Routers))
			}
		}
		for r, n := range seen {
			if n != 1 {
				t.Errorf("%s is in %d domains", f.Routers[r].Name, n)
			}
		}
		unique(t, groups)
	}
}

func unique(t *testing.T, groups []Group) {
	t.Helper()
	names := map[string]bool{}
	for _, g := range groups {
		if names[g.Name] {
			t.Errorf("two groups are called %s", g.Name)
		}
		names[g.Name] = true
	}
}

// Every link is on one card at each end, cards hold at most so many ports and
// only ports of their router, in order.
func TestLineCards(t *testing.T) {
	f := clos(t, Clos{2, 5, 3, 4, 2})
	groups := f.LineCards(4)
	unique(t, groups)
	ends := make([]int, len(f.Links))
	for _, g := range groups {
		if g.Class != LineCard || len(g.Links) == 0 || len(g.Links) > 4 {
			t.Errorf("%+v", g)
		}
		for i, l := range g.Links {
			ends[l]++
			if i > 0 && g.Links[i-1] >= l {
				t.Errorf("%s is not in order", g.Name)
			}
		}
	}
	for l, n := range ends {
		if n != 2 {
			t.Errorf("%s is on %d cards", f.Links[l].Name, n)
		}
	}
	// Leaves have 6 ports, spines 14, tops 2.
	if want := 10*2 + 6*4 + 12*1; len(groups) != want {
		t.Errorf("%d cards, want %d", len(groups), want)
	}
}

// Every link is in one bundle, whose links share a spine and a direction.
func TestBreakouts(t *testing.T) {
	f := clos(t, Clos{2, 5, 3, 4, 2})
	groups := f.Breakouts(4)
	unique(t, groups)
	seen := make([]int, len(f.Links))
	for _, g := range groups {
		for _, l := range g.Links {
			seen[l]++
		}
	}
	for l, n := range seen {
		if n != 1 {
			t.Errorf("%s is in %d bundles", f.Links[l].Name, n)
		}
	}
	if want := 6 * (3 + 1); len(groups) != want { // 10 ports down, 4 up
		t.Errorf("%d bundles, want %d", len(groups), want)
	}
}

// A tenth of 7,680 links, within four standard deviations of drawing them, and
// evenly over the planes; a pod more leaves the others as they were.
func TestOpticsBatch(t *testing.T) {
	f, wider := clos(t, Clos{10, 40, 16, 8, 1}), clos(t, Clos{11, 40, 16, 8, 1})
	batch := f.OpticsBatch(0.1)
	if n, sd := float64(len(batch.Links)), math.Sqrt(7680*0.09); math.Abs(n-768) > 4*sd {
		t.Errorf("%v links in the batch", n)
	}
	planes := make([]int, 16)
	members := map[string]bool{}
	for _, l := range batch.Links {
		link := f.Links[l]
		members[identity(f, link)] = true
		if f.Routers[link.Lower].Class == Leaf {
			planes[f.Routers[link.Upper].Second]++
		}
	}
	for plane, n := range planes { // 400 links each
		if math.Abs(float64(n)-40) > 4*6 {
			t.Errorf("plane %d has %d links in the batch", plane, n)
		}
	}
	kept := 0
	for _, l := range wider.OpticsBatch(0.1).Links {
		link := wider.Links[l]
		if wider.Routers[link.Lower].First == 10 {
			continue
		}
		if !members[identity(wider, link)] {
			t.Errorf("%s came into the batch with a pod", link.Name)
		}
		kept++
	}
	if kept != len(batch.Links) {
		t.Errorf("%d links of the batch are left of %d", kept, len(batch.Links))
	}
	if all := f.OpticsBatch(1); len(all.Links) != 7680 {
		t.Errorf("a share of 1 takes %d links", len(all.Links))
	}
}

func identity(f *Fabric, l Link) string {
	a, b := f.Routers[l.Lower], f.Routers[l.Upper]
	return fmt.Sprint(a.Class, a.First, a.Second, b.Class, b.First, b.Second, l.Parallel)
}
