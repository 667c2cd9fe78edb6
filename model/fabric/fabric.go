// Package fabric describes the network that is simulated: routers, links and
// the groups of parts that fail together. A Fabric is a general graph with
// dense integer ids; the folded Clos is one way of building it.
//
// It may not know what fails, who sends traffic or what routers believe. It is
// tested against the counts of published Clos arithmetic and by its own order
// and naming rules.
package fabric

import "fmt"

// Class is the level of a router in the fabric (words of RFC 9692, section 3.1).
type Class uint8

// The classes, from the servers upwards. Other is for graphs that are no Clos.
const (
	Leaf Class = iota
	Spine
	Top
	Other
)

// String returns the class as it begins a router's name.
func (c Class) String() string {
	return [...]string{"leaf", "spine", "top", "router"}[c]
}

// Router is one router. For a leaf or spine First is the pod and Second the
// number in the pod; for a top First is the plane and Second the number in the
// plane, both from 0.
type Router struct {
	Class         Class
	First, Second int32
	Name          string
}

// Link is one point-to-point link between two routers. Lower < Upper are
// router ids. Parallel counts links between the same two routers from 0.
type Link struct {
	Lower, Upper int32
	Parallel     int32
	Metric       [2]uint32 // routing metric as sent by Lower and by Upper, at least 1
	Speed        float64   // bit/s in each direction
	Name         string
}

// Port is one router's end of a link.
type Port struct {
	Link  int32 // link id
	Peer  int32 // router at the other end
	Back  int32 // index of this link among the peer's ports
	Lower bool  // whether this router is the link's Lower end
}

// Out returns the direction that sends away from the port's router:
// 2*link for Lower to Upper, 2*link+1 for Upper to Lower.
func (p Port) Out() int32 {
	if p.Lower {
		return 2 * p.Link
	}
	return 2*p.Link + 1
}

// In returns the direction that arrives at the port's router.
func (p Port) In() int32 { return p.Out() ^ 1 }

// Fabric is an immutable graph. Ids are dense: leaves first, then spines, then
// tops, each by first and second number; links by lower end, upper end and
// parallel index. The first Leaves routers are the destinations of traffic.
type Fabric struct {
	Routers []Router
	Links   []Link
	Ports   [][]Port // by router, in link order
	Leaves  int
	Access  int    // links between servers and leaves, 0 if they are not followed; no part of the graph
	Shape   Clos   // zero value for a graph that is no Clos
	Fabrics int    // that the Clos is divided among; 0 and 1: one
	Outside int    // routers outside, the last of the Leaves: of class Other, with no fault of their own
	Border  []bool // by router: traffic from outside enters there; nil: nowhere
}

// Ways is how many of a Clos's equal ways lie between two pods: each takes another
// spine and top.
func (f *Fabric) Ways() int { return f.Shape.Spines * max(f.Shape.Tops/max(f.Fabrics, 1), 1) }

// Of is the fabric that a router belongs to, from 0.
func (f *Fabric) Of(x int32) int {
	r, k := &f.Routers[x], max(f.Fabrics, 1)
	switch r.Class {
	case Leaf, Spine:
		return int(r.First) * k / max(f.Shape.Pods, 1)
	case Top:
		return int(r.Second) * k / f.Shape.Tops
	}
	return int(r.First)
}

// Foreign says whether a router lies outside: it fails by nobody's mode.
func (f *Fabric) Foreign(x int32) bool {
	return int(x) < f.Leaves && int(x) >= f.Leaves-f.Outside
}

// From returns the sending router of a direction.
func (f *Fabric) From(direction int32) int32 {
	l := &f.Links[direction>>1]
	if direction&1 == 0 {
		return l.Lower
	}
	return l.Upper
}

// To returns the receiving router of a direction.
func (f *Fabric) To(direction int32) int32 { return f.From(direction ^ 1) }

// PortOf is the port of a link at one of its ends.
func (f *Fabric) PortOf(x, link int32) int32 {
	ports := f.Ports[x]
	low, high := 0, len(ports)
	for low < high {
		if mid := (low + high) / 2; ports[mid].Link < link {
			low = mid + 1
		} else {
			high = mid
		}
	}
	return int32(low)
}

// DirectionName returns "a>b", with "#n" for parallel links.
func (f *Fabric) DirectionName(direction int32) string {
	l := &f.Links[direction>>1]
	name := f.Routers[f.From(direction)].Name + ">" + f.Routers[f.To(direction)].Name
	if f.Shape.Parallel > 1 && f.Routers[l.Lower].Class == Leaf {
		name += fmt.Sprintf("#%d", l.Parallel)
	}
	return name
}

// connect fills Ports from Links. Links must be in their final order.
func (f *Fabric) connect() {
	f.Ports = make([][]Port, len(f.Routers))
	for id := range f.Links {
		l := &f.Links[id]
		a, b := l.Lower, l.Upper
		f.Ports[a] = append(f.Ports[a], Port{Link: int32(id), Peer: b, Back: int32(len(f.Ports[b])), Lower: true})
		f.Ports[b] = append(f.Ports[b], Port{Link: int32(id), Peer: a, Back: int32(len(f.Ports[a]) - 1), Lower: false})
	}
}

// Graph builds a fabric from any routers and links. The first leaves routers
// are destinations. Links are put into order; names are kept. It returns an
// error for a link that joins a router to itself or to one that is not there,
// or that has no metric.
func Graph(routers []Router, links []Link, leaves int) (*Fabric, error) {
	if leaves < 2 || leaves > len(routers) {
		return nil, fmt.Errorf("fabric: %d destinations among %d routers: at least 2 are needed", leaves, len(routers))
	}
	f := &Fabric{Routers: routers, Leaves: leaves}
	for _, l := range links {
		if l.Lower > l.Upper {
			l.Lower, l.Upper = l.Upper, l.Lower
			l.Metric[0], l.Metric[1] = l.Metric[1], l.Metric[0]
		}
		if l.Lower < 0 || int(l.Upper) >= len(routers) || l.Lower == l.Upper {
			return nil, fmt.Errorf("fabric: link %q joins routers %d and %d of %d", l.Name, l.Lower, l.Upper, len(routers))
		}
		if l.Metric[0] == 0 || l.Metric[1] == 0 {
			return nil, fmt.Errorf("fabric: link %q needs a metric of at least 1 at both ends", l.Name)
		}
		f.Links = append(f.Links, l)
	}
	orderLinks(f.Links)
	f.connect()
	return f, nil
}
