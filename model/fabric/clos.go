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
	if err := c.Check(); err != nil {
		return nil, err
	}
	f := &Fabric{Leaves: c.Pods * c.Leaves, Shape: c}
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
	for pod := range c.Pods {
		for s := range c.Spines {
			for t := range c.Tops {
				f.join(spine(pod, s), top(s, t), 0, speedSpineTop)
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
