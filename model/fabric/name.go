package fabric

import (
	"fmt"
	"strconv"
	"strings"
)

// Part is something a name can mean: a router, a link (both directions) or one
// direction of a link. Those it does not mean are -1.
type Part struct {
	Router, Link, Direction int32
}

// Find returns the part of a name: "leaf-0-3", "leaf-0-3~spine-0-1",
// "spine-0-1>leaf-0-3", with "#n" for the n-th of parallel links. Numbers need
// not be padded, and the two ends of "~" may be in either order. The error
// says what is wrong.
func (f *Fabric) Find(name string) (Part, error) {
	none := Part{-1, -1, -1}
	sep := strings.IndexAny(name, "~>")
	if sep < 0 {
		r, err := f.FindRouter(name)
		return Part{r, -1, -1}, err
	}
	rest, parallel := name[sep+1:], 0
	if i := strings.IndexByte(rest, '#'); i >= 0 {
		n, err := strconv.Atoi(rest[i+1:])
		if err != nil || n < 0 {
			return none, fmt.Errorf("%q is not the number of a parallel link", rest[i+1:])
		}
		rest, parallel = rest[:i], n
	} else if f.Shape.Parallel > 1 && strings.Contains(name, Leaf.String()) {
		return none, fmt.Errorf("there are %d links in parallel: say which, %s#0 to #%d", f.Shape.Parallel, name, f.Shape.Parallel-1)
	}
	a, err := f.FindRouter(name[:sep])
	if err != nil {
		return none, err
	}
	b, err := f.FindRouter(rest)
	if err != nil {
		return none, err
	}
	for _, p := range f.Ports[a] {
		if p.Peer == b && int(f.Links[p.Link].Parallel) == parallel {
			if name[sep] == '>' {
				return Part{-1, -1, p.Out()}, nil
			}
			return Part{-1, p.Link, -1}, nil
		}
	}
	return none, fmt.Errorf("%s and %s are not joined by such a link", name[:sep], name[sep+1:])
}

// FindRouter returns the id of a router by name, padded or not.
func (f *Fabric) FindRouter(name string) (int32, error) {
	fields := strings.Split(name, "-")
	if len(fields) == 3 && f.Shape.Pods > 0 {
		a, errA := strconv.Atoi(fields[1])
		b, errB := strconv.Atoi(fields[2])
		if errA == nil && errB == nil && a >= 0 && b >= 0 {
			if id, ok := f.closID(fields[0], a, b); ok {
				return id, nil
			}
		}
		return -1, fmt.Errorf("there is no router %q in this fabric", name)
	}
	for id := range f.Routers {
		if f.Routers[id].Name == name {
			return int32(id), nil
		}
	}
	return -1, fmt.Errorf("there is no router %q in this fabric", name)
}

func (f *Fabric) closID(class string, a, b int) (int32, bool) {
	c := f.Shape
	switch {
	case class == "leaf" && a < c.Pods && b < c.Leaves:
		return int32(a*c.Leaves + b), true
	case class == "spine" && a < c.Pods && b < c.Spines:
		return int32(f.Leaves + a*c.Spines + b), true
	case class == "top" && a < c.Spines && b < c.Tops:
		return int32(f.Leaves + c.Pods*c.Spines + a*c.Tops + b), true
	}
	return -1, false
}
