package twin

import (
	"fmt"
	"strconv"
	"strings"
)

// link joins a lower router (end 0) and an upper router (end 1). Its direction
// 2*l+e is the one in which end e sends.
type link struct {
	name string
	ends [2]int
}

// fabric is the folded Clos of S1: routers in the order leaves, spines, tops;
// links by lower end, upper end, parallel index.
type fabric struct {
	names   []string
	leaves  int // routers 0 to leaves-1 are leaves
	links   []link
	linksOf [][]int // links of each router, in link order
	metric  []int64 // configured, by link; the same at both ends
	router  map[string]int
	link    map[string]int
}

func buildFabric(scn *scenario) (*fabric, error) {
	c := scn.Fabric.Clos
	f := &fabric{router: map[string]int{}, link: map[string]int{}}
	class := func(word string, first, second int) int {
		base := len(f.names)
		for a := range first {
			for b := range second {
				f.names = append(f.names, fmt.Sprintf("%s-%s-%s", word, padded(a, first), padded(b, second)))
			}
		}
		return base
	}
	leaf := class("leaf", c.Pods, c.Leaves)
	spine := class("spine", c.Pods, c.Spines)
	top := class("top", c.Spines, c.Tops)
	f.leaves = c.Pods * c.Leaves
	f.linksOf = make([][]int, len(f.names))
	for i, n := range f.names {
		f.router[n] = i
	}
	for p := range c.Pods {
		for n := range c.Leaves {
			for j := range c.Spines {
				f.join(leaf+p*c.Leaves+n, spine+p*c.Spines+j, c.Parallel)
			}
		}
	}
	for p := range c.Pods {
		for j := range c.Spines {
			for n := range c.Tops {
				f.join(spine+p*c.Spines+j, top+j*c.Tops+n, 1)
			}
		}
	}
	for i, l := range f.links {
		f.link[l.name] = i
		f.metric = append(f.metric, 1)
	}
	for name, m := range scn.Fabric.Metrics {
		i, ok := f.link[f.canonical(name)]
		if !ok {
			return nil, fmt.Errorf("twin: fabric.metrics: no link %q", name)
		}
		f.metric[i] = m
	}
	return f, nil
}

func (f *fabric) join(lower, upper, parallel int) {
	for k := range parallel {
		name := f.names[lower] + "~" + f.names[upper]
		if parallel > 1 {
			name += "#" + strconv.Itoa(k)
		}
		i := len(f.links)
		f.links = append(f.links, link{name, [2]int{lower, upper}})
		f.linksOf[lower] = append(f.linksOf[lower], i)
		f.linksOf[upper] = append(f.linksOf[upper], i)
	}
}

// padded writes i with the digits of the largest of n numbers from 0 (S1).
func padded(i, n int) string {
	return fmt.Sprintf("%0*d", len(strconv.Itoa(n-1)), i)
}

// canonical turns unpadded router names inside a part's name into padded ones.
func (f *fabric) canonical(name string) string {
	var out strings.Builder
	rest := name
	for rest != "" {
		cut := strings.IndexAny(rest, "~>#")
		word, mark := rest, ""
		if cut >= 0 {
			word, mark = rest[:cut], rest[cut:cut+1]
		}
		out.WriteString(f.canonicalRouter(word))
		out.WriteString(mark)
		rest = rest[len(word)+len(mark):]
	}
	return out.String()
}

func (f *fabric) canonicalRouter(word string) string {
	want := strings.Split(word, "-")
	for _, n := range f.names {
		have := strings.Split(n, "-")
		if len(want) == 3 && want[0] == have[0] && sameNumber(want[1], have[1]) && sameNumber(want[2], have[2]) {
			return n
		}
	}
	return word
}

func sameNumber(a, b string) bool {
	x, err1 := strconv.Atoi(a)
	y, err2 := strconv.Atoi(b)
	return err1 == nil && err2 == nil && x == y
}

// end is which end of link l router r is.
func (f *fabric) end(l, r int) int {
	if f.links[l].ends[0] == r {
		return 0
	}
	return 1
}

// far is the router at the other end of link l from r.
func (f *fabric) far(l, r int) int { return f.links[l].ends[1-f.end(l, r)] }

// parts finds what a script entry names: a router, a link (both directions) or
// one direction of a link.
func (f *fabric) parts(on string) (routers, links, dirs []int, err error) {
	name := f.canonical(on)
	if r, ok := f.router[name]; ok {
		return []int{r}, nil, nil, nil
	}
	if l, ok := f.link[name]; ok {
		return nil, []int{l}, []int{2 * l, 2*l + 1}, nil
	}
	for i, l := range f.links {
		tail := ""
		if k := strings.IndexByte(l.name, '#'); k >= 0 {
			tail = l.name[k:]
		}
		for e := range 2 {
			if name == f.names[l.ends[e]]+">"+f.names[l.ends[1-e]]+tail {
				return nil, nil, []int{2*i + e}, nil
			}
		}
	}
	return nil, nil, nil, fmt.Errorf("twin: script: no part %q", on)
}
