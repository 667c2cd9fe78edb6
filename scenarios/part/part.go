package part

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"halflight/scenarios/wording"
)

var (
	routerName = regexp.MustCompile(`^(leaf|spine|top)-([0-9]{1,5})-([0-9]{1,5})$`)
	accessName = regexp.MustCompile(`^servers-([0-9]{1,5})-([0-9]{1,5})-([0-9]{1,5})$`)
	indexName  = regexp.MustCompile(`^[0-9]{1,5}$`)
)

// Parse reads the name of a part and checks it against the numbers of the fabric (nil: only its form).
func Parse(s string, n *Numbers) (Part, *wording.Fault) {
	p := Part{Text: s}
	if name, ok := strings.CutPrefix(s, "group:"); ok {
		p.Class, p.Group = GroupPart, name
		return p, nil
	}
	cut := strings.IndexAny(s, "~>")
	if cut < 0 {
		var f *wording.Fault
		p.A, f = parseRouter(s, n)
		return p, f
	}
	for _, ends := range [2][2]string{{s[:cut], s[cut+1:]}, {s[cut+1:], s[:cut]}} {
		if m := accessName.FindStringSubmatch(ends[1]); m != nil {
			return p.access(s[cut], ends[0], m, n)
		}
	}
	p.Class = LinkPart
	if s[cut] == '>' {
		p.Class = DirectionPart
	}
	far, index, numbered := strings.Cut(s[cut+1:], "#")
	var f *wording.Fault
	if p.A, f = parseRouter(s[:cut], n); f != nil {
		return p, f
	}
	if p.B, f = parseRouter(far, n); f != nil {
		return p, f
	}
	if p.Class == LinkPart && p.B.before(p.A) {
		p.A, p.B = p.B, p.A
	}
	if f = p.linked(n); f != nil {
		return p, f
	}
	return p, p.parallel(index, numbered, n)
}

// access reads the name of a link between a leaf and a group of servers, of which only the numbers of the leaves are known here.
func (p Part) access(sign byte, leaf string, servers []string, n *Numbers) (Part, *wording.Fault) {
	p.Class = AccessPart
	if sign == '>' {
		return p, wording.Wrong("is one direction of an access link, which fails as a whole", "write ~")
	}
	var f *wording.Fault
	if p.A, f = parseRouter(leaf, n); f != nil {
		return p, f
	}
	if p.A.Tier != Leaf {
		return p, wording.Wrong("names an unknown part: servers are attached to leaves", "")
	}
	p.Servers.First, _ = strconv.Atoi(servers[1])
	p.Servers.Second, _ = strconv.Atoi(servers[2])
	p.Servers.Number, _ = strconv.Atoi(servers[3])
	if n == nil {
		return p, nil
	}
	return p, Router{Leaf, p.Servers.First, p.Servers.Second}.within(n)
}

// parseRouter reads the name of a router.
func parseRouter(s string, n *Numbers) (Router, *wording.Fault) {
	m := routerName.FindStringSubmatch(s)
	if m == nil {
		return Router{}, wording.Wrong("names no part: "+wording.Quote(s)+" is not a router", Hint(s))
	}
	first, _ := strconv.Atoi(m[2])
	second, _ := strconv.Atoi(m[3])
	r := Router{Tier: tierOf(m[1]), First: first, Second: second}
	if n == nil {
		return r, nil
	}
	return r, r.within(n)
}

// Hint says how a part may have been meant.
func Hint(s string) string {
	class, rest, _ := strings.Cut(s, "-")
	if near := wording.Nearest(class, tierNames[:]); near != "" && near != class {
		return "did you mean " + near + "-" + wording.Clip(rest) + "?"
	}
	return "such as leaf-2-07, spine-2-03 or top-03-5; links are leaf-2-07~spine-2-03, one direction leaf-2-07>spine-2-03, a group group:NAME"
}

// tierOf returns the tier with this name, which exists.
func tierOf(name string) Tier {
	for i, t := range tierNames {
		if t == name {
			return Tier(i)
		}
	}
	panic("scenarios: no tier " + name)
}

// within says what is wrong with a router that the fabric does not have.
func (r Router) within(n *Numbers) *wording.Fault {
	firsts, seconds, place := n.Pods, n.Leaves, "pods"
	switch r.Tier {
	case Spine:
		seconds = n.Spines
	case Top:
		firsts, seconds, place = n.Spines, n.Tops, "planes"
		if n.Tops == 0 {
			return wording.Wrong("names an unknown part: this fabric has no tops", "")
		}
	}
	switch {
	case r.First >= firsts:
		return wording.Wrong(fmt.Sprintf("names an unknown part: %s are numbered 0 to %d", place, firsts-1), "")
	case r.Second >= seconds:
		return wording.Wrong(fmt.Sprintf("names an unknown part: %s of a %s are numbered 0 to %d", tierPlurals[r.Tier],
			strings.TrimSuffix(place, "s"), seconds-1), "")
	}
	return nil
}

// before is the order of routers: leaves, spines, tops, each by first then second number.
func (r Router) before(o Router) bool {
	if r.Tier != o.Tier {
		return r.Tier < o.Tier
	}
	if r.First != o.First {
		return r.First < o.First
	}
	return r.Second < o.Second
}

// linked says what is wrong with a link between two routers that have none.
func (p *Part) linked(n *Numbers) *wording.Fault {
	low, high := p.A, p.B
	if high.before(low) {
		low, high = high, low
	}
	none := "names an unknown part: there is no link between them"
	switch {
	case low.Tier == Leaf && high.Tier == Spine:
		if low.First != high.First {
			return wording.Wrong(none, fmt.Sprintf("%s is in pod %d, %s in pod %d", low, low.First, high, high.First))
		}
	case low.Tier == Spine && high.Tier == Top:
		if low.Second != high.First {
			return wording.Wrong(none, fmt.Sprintf("%s is in plane %d, %s in plane %d", low, low.Second, high, high.First))
		}
	default:
		return wording.Wrong(none, "links go from a leaf to a spine of its pod and from a spine to a top of its plane")
	}
	return nil
}

// parallel reads the index among parallel links.
func (p *Part) parallel(index string, given bool, n *Numbers) *wording.Fault {
	if given && !indexName.MatchString(index) {
		return wording.Wrong("names no part: "+wording.Quote("#"+index)+" is not an index", "parallel links are #0, #1 ...")
	}
	p.Parallel, _ = strconv.Atoi(index)
	if n == nil {
		return nil
	}
	count := 1
	if p.A.Tier == Leaf || p.B.Tier == Leaf {
		count = n.Parallel
	}
	switch {
	case !given && count > 1:
		return wording.Wrong(fmt.Sprintf("names %d parallel links", count), "say which: "+wording.Clip(p.Text)+"#0")
	case p.Parallel >= count:
		return wording.Wrong(fmt.Sprintf("names an unknown part: the last parallel link is #%d", count-1), "")
	}
	return nil
}

// IsRouter reports whether a name has the form of a router's.
func IsRouter(s string) bool { return routerName.MatchString(s) }

// String returns the name of a router, unpadded.
func (r Router) String() string {
	return fmt.Sprintf("%s-%d-%d", tierNames[r.Tier], r.First, r.Second)
}

// String returns the name of a part, unpadded, ends of a link in order. Parts that are the same have the same name.
func (p Part) String() string {
	switch p.Class {
	case RouterPart:
		return p.A.String()
	case GroupPart:
		return "group:" + p.Group
	case AccessPart:
		return fmt.Sprintf("%s~servers-%d-%d-%d", p.A, p.Servers.First, p.Servers.Second, p.Servers.Number)
	case DirectionPart:
		return fmt.Sprintf("%s>%s#%d", p.A, p.B, p.Parallel)
	}
	return fmt.Sprintf("%s~%s#%d", p.A, p.B, p.Parallel)
}
