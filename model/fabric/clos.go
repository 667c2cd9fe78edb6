package fabric

import (
	"fmt"
	"sort"
)

// Clos gives the numbers of a folded Clos: Pods pods of Leaves leaves and
// Spines spines; Spines planes of Tops tops, spine j of every pod joined to
// all tops of plane j. Every leaf is joined to every spine of its pod by
// Parallel links. Tops 0 is the 3-stage fabric of one pod.
type Clos struct {
	Pods, Leaves, Spines, Tops, Parallel int
}

// Limits of a fabric, so that ids fit the packed order of events.
const (
	RoutersMax = 1 << 14
	LinksMax   = 1 << 20
)

// Check returns an error that says what is wrong with the numbers, or nil.
func (c Clos) Check() error {
	switch {
	case c.Pods < 1 || c.Leaves < 1 || c.Spines < 1 || c.Tops < 0 || c.Parallel < 1:
		return fmt.Errorf("fabric: pods, leaves, spines and parallel must be at least 1, tops at least 0")
	case c.Tops == 0 && c.Pods != 1:
		return fmt.Errorf("fabric: %d pods need tops to join them; tops: 0 goes with pods: 1", c.Pods)
	case c.Pods*c.Leaves < 2:
		return fmt.Errorf("fabric: at least two leaves are needed, or there is no traffic")
	case c.Routers() > RoutersMax || c.Links() > LinksMax:
		return fmt.Errorf("fabric: %d routers and %d links; at most %d and %d can be simulated", c.Routers(), c.Links(), RoutersMax, LinksMax)
	}
	return nil
}

// Routers returns the number of routers.
func (c Clos) Routers() int { return c.Pods*(c.Leaves+c.Spines) + c.Spines*c.Tops }

// Links returns the number of links between routers.
func (c Clos) Links() int {
	return c.Pods*c.Leaves*c.Spines*c.Parallel + c.Pods*c.Spines*c.Tops
}

// Build makes the fabric. Every metric is 1; speeds (bit/s) are of a
// leaf-spine and of a spine-top link. It returns Check's error.
func (c Clos) Build(speedLeafSpine, speedSpineTop float64) (*Fabric, error) {
	return Division{Clos: c}.Build(speedLeafSpine, speedSpineTop)
}

// Division is a Clos that may be several fabrics of their own, with or without
// what lies outside.
type Division struct {
	Clos
	// Fabrics, if above 1, is how many fabrics the pods and the tops of each plane
	// are divided among, in order. Nothing joins them.
	Fabrics int
	// Outside is where a router outside each fabric is joined to it: to every Spine
	// or every Top of it. Leaf: there is none.
	Outside Class
}

// fabrics is how many there are.
func (c Division) fabrics() int { return max(c.Fabrics, 1) }

// Check returns an error that says what is wrong with the numbers, or nil.
func (c Division) Check() error {
	k := c.fabrics()
	whole := c.Clos
	if k > 1 && c.Tops == 0 && c.Pods == k {
		whole.Pods = 1 // each pod is a fabric of leaves and spines
	}
	switch err := whole.Check(); {
	case err != nil && c.Pods >= 1:
		return err
	case err != nil:
		return c.Clos.Check()
	case c.Pods%k != 0:
		return fmt.Errorf("fabric: %d pods cannot be divided among %d fabrics", c.Pods, k)
	case c.Tops%k != 0:
		return fmt.Errorf("fabric: %d tops of a plane cannot be divided among %d fabrics", c.Tops, k)
	case c.Pods/k*c.Leaves < 2:
		return fmt.Errorf("fabric: %d fabrics of one leaf each have no traffic", k)
	case c.Outside == Top && c.Tops == 0:
		return fmt.Errorf("fabric: there are no tops for the outside to be joined to")
	}
	return nil
}

// Build makes the fabrics, as Clos.Build does. Routers outside come last among
// the destinations, one for each fabric.
func (c Division) Build(speedLeafSpine, speedSpineTop float64) (*Fabric, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	k := c.fabrics()
	f := &Fabric{Leaves: c.Pods * c.Leaves, Shape: c.Clos, Fabrics: k}
	if c.Outside != Leaf {
		f.Outside = k
		f.Leaves += k
	}
	pods, planes := digits(c.Pods), digits(c.Spines)
	add := func(class Class, firsts, seconds, firstWidth, secondWidth int) {
		for a := range firsts {
			for b := range seconds {
				f.Routers = append(f.Routers, Router{class, int32(a), int32(b),
					fmt.Sprintf("%s-%0*d-%0*d", class, firstWidth, a, secondWidth, b)})
			}
		}
	}
	add(Leaf, c.Pods, c.Leaves, pods, digits(c.Leaves))
	for g := range f.Outside {
		f.Routers = append(f.Routers, Router{Other, int32(g), 0, fmt.Sprintf("outside-%d", g)})
	}
	add(Spine, c.Pods, c.Spines, pods, planes)
	add(Top, c.Spines, c.Tops, planes, digits(c.Tops))
	spine := func(pod, number int) int { return f.Leaves + pod*c.Spines + number }
	top := func(plane, number int) int { return f.Leaves + c.Pods*c.Spines + plane*c.Tops + number }
	for pod := range c.Pods {
		for leaf := range c.Leaves {
			for s := range c.Spines {
				for m := range c.Parallel {
					f.join(pod*c.Leaves+leaf, spine(pod, s), m, speedLeafSpine)
				}
			}
		}
	}
	for g := range f.Outside {
		for pod := g * c.Pods / k; pod < (g+1)*c.Pods/k && c.Outside == Spine; pod++ {
			for s := range c.Spines {
				f.join(c.Pods*c.Leaves+g, spine(pod, s), 0, speedLeafSpine)
			}
		}
		for s := 0; s < c.Spines && c.Outside == Top; s++ {
			for t := g * c.Tops / k; t < (g+1)*c.Tops/k; t++ {
				f.join(c.Pods*c.Leaves+g, top(s, t), 0, speedSpineTop)
			}
		}
	}
	for pod := range c.Pods {
		for s := range c.Spines {
			for t := range c.Tops {
				if pod*k/c.Pods == t*k/c.Tops {
					f.join(spine(pod, s), top(s, t), 0, speedSpineTop)
				}
			}
		}
	}
	f.connect()
	return f, nil
}

func (f *Fabric) join(lower, upper, parallel int, speed float64) {
	name := f.Routers[lower].Name + "~" + f.Routers[upper].Name
	if f.Shape.Parallel > 1 && f.Routers[lower].Class == Leaf {
		name += fmt.Sprintf("#%d", parallel)
	}
	f.Links = append(f.Links, Link{Lower: int32(lower), Upper: int32(upper), Parallel: int32(parallel),
		Metric: [2]uint32{1, 1}, Speed: speed, Name: name})
}

// digits is the width to which numbers below n are padded.
func digits(n int) int { return len(fmt.Sprint(max(n-1, 0))) }

func orderLinks(links []Link) {
	sort.SliceStable(links, func(i, j int) bool {
		a, b := &links[i], &links[j]
		if a.Lower != b.Lower {
			return a.Lower < b.Lower
		}
		if a.Upper != b.Upper {
			return a.Upper < b.Upper
		}
		return a.Parallel < b.Parallel
	})
}
