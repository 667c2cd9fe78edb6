package fabric

import (
	"fmt"
	"hash/fnv"
	"math"
)

// PowerDomains returns power domains of the given number of leaves of a pod, in
// order; the last of a pod may be smaller. Spines of a pod and tops of a plane
// share power by two, and not at all when there are fewer than four of them: no
// architect would let one domain take half of them. The names are
// power-leaf-POD-N, power-spine-POD-N and power-top-PLANE-N.
func (f *Fabric) PowerDomains(leaves int) []Group {
	var groups []Group
	var last *Router
	count := 0
	for id := range f.Routers {
		r := &f.Routers[id]
		if f.Foreign(int32(id)) {
			continue
		}
		if last == nil || last.Class != r.Class || last.First != r.First {
			count = 0
		}
		size := f.together(r.Class, leaves)
		if count%size == 0 {
			groups = append(groups, Group{Class: PowerDomain,
				Name: fmt.Sprintf("power-%s-%d-%d", r.Class, r.First, count/size)})
		}
		g := &groups[len(groups)-1]
		g.Routers = append(g.Routers, int32(id))
		last = r
		count++
	}
	return groups
}

// together is how many routers of a class share a power domain.
func (f *Fabric) together(c Class, leaves int) int {
	switch {
	case c == Leaf:
		return leaves
	case c == Spine && f.Shape.Spines >= 4, c == Top && f.Shape.Tops >= 4:
		return min(leaves, 2)
	}
	return 1
}

// LineCards returns the line cards of all routers: runs of ports links of a
// router, in link order. The names are card-ROUTER-N. Every link is a member
// of one card at each end.
func (f *Fabric) LineCards(ports int) []Group {
	var groups []Group
	for r := range f.Routers {
		if f.Foreign(int32(r)) {
			continue
		}
		groups = f.bundle(groups, LineCard, "card", r, f.Ports[r], ports)
	}
	return groups
}

// Breakouts returns the breakout bundles: runs of ports links of a spine, in
// link order, downwards (breakout-SPINE-N) and upwards (breakout-up-SPINE-N).
// Every link of a folded Clos is a member of one.
func (f *Fabric) Breakouts(ports int) []Group {
	var groups []Group
	for r := range f.Routers {
		var up, down []Port
		for _, p := range f.Ports[r] {
			switch {
			case f.Routers[r].Class != Spine:
			case p.Lower:
				up = append(up, p)
			default:
				down = append(down, p)
			}
		}
		groups = f.bundle(groups, Breakout, "breakout", r, down, ports)
		groups = f.bundle(groups, Breakout, "breakout-up", r, up, ports)
	}
	return groups
}

// bundle appends groups of runs of a router's ports.
func (f *Fabric) bundle(groups []Group, class GroupClass, name string, router int, ports []Port, size int) []Group {
	r := &f.Routers[router]
	for i := 0; i < len(ports); i += size {
		g := Group{Class: class, Name: fmt.Sprintf("%s-%s-%d-%d-%d", name, r.Class, r.First, r.Second, i/size)}
		for _, p := range ports[i:min(i+size, len(ports))] {
			g.Links = append(g.Links, p.Link)
		}
		groups = append(groups, g)
	}
	return groups
}

// OpticsBatch returns one batch, named batch-0, of about this share of all
// links. They are scattered, and a link stays in or out of it when others are
// added.
func (f *Fabric) OpticsBatch(share float64) Group {
	g := Group{Name: "batch-0", Class: Batch}
	for id := range f.Links {
		if f.scatter(id) < share {
			g.Links = append(g.Links, int32(id))
		}
	}
	return g
}

// scatter returns a number between 0 and 1 that depends on the two ends of a
// link and on nothing else.
func (f *Fabric) scatter(link int) float64 {
	l := &f.Links[link]
	a, b := &f.Routers[l.Lower], &f.Routers[l.Upper]
	h := fnv.New64a()
	fmt.Fprintf(h, "%s %d %d %s %d %d %d", a.Class, a.First, a.Second, b.Class, b.First, b.Second, l.Parallel)
	x := h.Sum64() // FNV mixes its last bytes badly upwards: finish as SplitMix64 does
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return math.Ldexp(float64((x^x>>31)>>11), -53)
}
