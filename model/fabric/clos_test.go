package fabric

import (
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
)

// Counts of k-ary folded Clos fabrics: k^2/2 leaf-spine links of a full 3-stage
// one; 5k^2/4 switches, k^3/2 links and k^2/4 paths between pods of a full
// 5-stage one (Al-Fares et al., SIGCOMM 2008, cited by RFC 7938 as ALFARES2008;
// from memory, and by arithmetic). The others by multiplication.
func TestCounts(t *testing.T) {
	for _, c := range []struct {
		name                                          string
		clos                                          Clos
		leaves, spines, tops, lower, upper, pathCount int
	}{
		{"3-stage, k=64", Clos{1, 64, 32, 0, 1}, 64, 32, 0, 2048, 0, 32},
		{"5-stage, k=4", Clos{4, 2, 2, 2, 1}, 8, 8, 4, 16, 16, 4},
		{"23 pods, 32 x 32", Clos{23, 32, 32, 32, 1}, 736, 736, 1024, 23552, 23552, 1024},
		{"23 pods, 32 x 16", Clos{23, 32, 32, 16, 1}, 736, 736, 512, 23552, 11776, 512},
		{"36 pods of 40 + 24, 24 tops a plane", Clos{36, 40, 24, 24, 1}, 1440, 864, 576, 34560, 20736, 576},
		{"10 pods of 40 + 16, 8 tops a plane", Clos{10, 40, 16, 8, 1}, 400, 160, 128, 6400, 1280, 128},
		{"parallel", Clos{1, 3, 2, 0, 2}, 3, 2, 0, 12, 0, 8},
	} {
		f, err := c.clos.Build(1, 2)
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Routers) != c.clos.Routers() || len(f.Links) != c.clos.Links() {
			t.Errorf("%s: %d routers, %d links", c.name, len(f.Routers), len(f.Links))
		}
		var classes [4]int
		for i := range f.Routers {
			classes[f.Routers[i].Class]++
		}
		lower, upper := 0, 0
		for i := range f.Links {
			if f.Links[i].Speed == 1 {
				lower++
			} else {
				upper++
			}
		}
		got := []int{classes[Leaf], classes[Spine], classes[Top], lower, upper, paths(f)}
		if want := []int{c.leaves, c.spines, c.tops, c.lower, c.upper, c.pathCount}; !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", c.name, got, want)
		}
	}
}

// paths counts the shortest paths from the first leaf to the last, level by
// level.
func paths(f *Fabric) int {
	from, to := 0, f.Leaves-1
	distance := make([]int, len(f.Routers))
	count := make([]int, len(f.Routers))
	count[from] = 1
	queue := []int{from}
	for len(queue) > 0 {
		r := queue[0]
		queue = queue[1:]
		for _, p := range f.Ports[r] {
			x := int(p.Peer)
			if x != from && distance[x] == 0 {
				distance[x] = distance[r] + 1
				queue = append(queue, x)
			}
			if x != from && distance[x] == distance[r]+1 {
				count[x] += count[r]
			}
		}
	}
	return count[to]
}

// Distances by gonum: 2 inside a pod, 4 between pods.
func TestDistancesAgainstGonum(t *testing.T) {
	f, err := Clos{3, 4, 3, 2, 1}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	g := simple.NewUndirectedGraph()
	for i := range f.Links {
		g.SetEdge(simple.Edge{F: simple.Node(f.Links[i].Lower), T: simple.Node(f.Links[i].Upper)})
	}
	all := path.DijkstraAllPaths(g)
	for a := range f.Leaves {
		for b := range f.Leaves {
			want := 4.0
			switch {
			case a == b:
				want = 0
			case a/4 == b/4:
				want = 2
			}
			if got := all.Weight(int64(a), int64(b)); got != want {
				t.Errorf("%d to %d: %v, want %v", a, b, got, want)
			}
		}
	}
}

// Routers: leaves, spines, tops, each by first then second number. Links: by
// lower end, upper end, parallel index. Ports: in link order, and their backs
// lead back.
func TestOrder(t *testing.T) {
	for _, c := range []Clos{{2, 11, 3, 2, 2}, {1, 3, 2, 0, 1}} {
		f, err := c.Build(1, 1)
		if err != nil {
			t.Fatal(err)
		}
		for i := 1; i < len(f.Routers); i++ {
			a, b := f.Routers[i-1], f.Routers[i]
			if slices.Compare([]int32{int32(a.Class), a.First, a.Second}, []int32{int32(b.Class), b.First, b.Second}) >= 0 {
				t.Errorf("%s before %s", a.Name, b.Name)
			}
		}
		sorted := slices.Clone(f.Links)
		orderLinks(sorted)
		if !slices.Equal(sorted, f.Links) {
			t.Errorf("%+v: links are not in order", c)
		}
		for r := range f.Ports {
			for i, p := range f.Ports[r] {
				if back := f.Ports[p.Peer][p.Back]; back.Link != p.Link || back.Peer != int32(r) || back.Lower == p.Lower {
					t.Errorf("port %d of %s does not lead back", i, f.Routers[r].Name)
				}
				if i > 0 && f.Ports[r][i-1].Link >= p.Link {
					t.Errorf("ports of %s are not in link order", f.Routers[r].Name)
				}
				if f.From(p.Out()) != int32(r) || f.To(p.In()) != int32(r) || f.To(p.Out()) != p.Peer {
					t.Errorf("directions of port %d of %s", i, f.Routers[r].Name)
				}
			}
		}
	}
}

// Numbers are padded to the width of the largest of their class; unpadded names
// are found too.
func TestNames(t *testing.T) {
	f, err := Clos{11, 40, 16, 8, 2}.Build(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"leaf-2-7": "leaf-02-07", "leaf-10-39": "leaf-10-39", "spine-2-3": "spine-02-03", "top-3-5": "top-03-5",
		"leaf-2-7~spine-2-3#1": "leaf-02-07~spine-02-03#1", "spine-2-03~leaf-02-7#0": "leaf-02-07~spine-02-03#0",
		"leaf-2-7>spine-2-3#1": "leaf-02-07>spine-02-03#1", "spine-2-3>leaf-2-7#1": "spine-02-03>leaf-02-07#1",
		"spine-2-3~top-3-5": "spine-02-03~top-03-5", "top-3-5>spine-2-3": "top-03-5>spine-02-03",
	} {
		p, err := f.Find(name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var got string
		switch {
		case p.Router >= 0:
			got = f.Routers[p.Router].Name
		case p.Link >= 0:
			got = f.Links[p.Link].Name
		default:
			got = f.DirectionName(p.Direction)
		}
		if got != want {
			t.Errorf("%s is %s, want %s", name, got, want)
		}
	}
	for name, say := range map[string]string{
		"leaf-11-0": "no router", "root-0-0": "no router", "leaf-0": "no router", "leaf-0-0~spine-1-0#0": "not joined",
		"leaf-0-0~spine-0-0": "in parallel", "leaf-0-0~spine-0-0#2": "not joined", "leaf-0-0~spine-0-0#x": "number", "spine-0-0~top-1-0": "not joined",
	} {
		if _, err := f.Find(name); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("%s: %v, want %q", name, err, say)
		}
	}
}

func TestRefused(t *testing.T) {
	for _, c := range []Clos{{}, {2, 3, 2, 0, 1}, {1, 1, 2, 0, 1}, {1, 3, 2, 0, 0}, {1, 3, 2, -1, 1}, {100, 100, 100, 100, 1}, {1, 8000, 200, 0, 1}} {
		if _, err := c.Build(1, 1); err == nil {
			t.Errorf("%+v was built", c)
		}
	}
}

// Any graph: a triangle with a tail, links given backwards and out of order.
func TestGraph(t *testing.T) {
	routers := []Router{{Class: Other, Name: "a"}, {Class: Other, Name: "b"}, {Class: Other, Name: "c"}, {Class: Other, Name: "d"}}
	links := []Link{
		{Lower: 3, Upper: 2, Metric: [2]uint32{7, 9}, Name: "dc"},
		{Lower: 0, Upper: 1, Metric: [2]uint32{1, 1}, Name: "ab"},
		{Lower: 2, Upper: 0, Metric: [2]uint32{2, 3}, Name: "ca"},
		{Lower: 1, Upper: 2, Metric: [2]uint32{1, 1}, Name: "bc"},
	}
	f, err := Graph(routers, links, 2)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, l := range f.Links {
		names = append(names, l.Name)
	}
	if !slices.Equal(names, []string{"ab", "ca", "bc", "dc"}) {
		t.Errorf("order %v", names)
	}
	if l := f.Links[3]; l.Lower != 2 || l.Upper != 3 || l.Metric != [2]uint32{9, 7} {
		t.Errorf("a link given backwards: %+v", l)
	}
	if id, err := f.FindRouter("c"); err != nil || id != 2 {
		t.Errorf("c is %d, %v", id, err)
	}
	for what, bad := range map[string]Link{"itself": {Lower: 1, Upper: 1, Metric: [2]uint32{1, 1}}, "nowhere": {Lower: 1, Upper: 4, Metric: [2]uint32{1, 1}},
		"no metric": {Lower: 1, Upper: 2, Metric: [2]uint32{0, 1}}} {
		if _, err := Graph(routers, []Link{bad}, 2); err == nil {
			t.Errorf("a link to %s was accepted", what)
		}
	}
	if _, err := Graph(routers, links, 1); err == nil {
		t.Error("one destination was accepted")
	}
}
