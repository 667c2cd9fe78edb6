package scenarios

import (
	"fmt"
	"slices"
)

// defaultNumbers are those of a scenario that says nothing about its fabric: tidewater's.
var defaultNumbers = Numbers{Pods: 10, Leaves: 40, Spines: 16, Tops: 8, Parallel: 1}

// Numbers returns the numbers of the fabric: those of tidewater (10 pods of 40 leaves and 16 spines, 8 tops a plane) when no
// clos is given; otherwise leaves and spines as given, one pod, no tops and single links where not given.
func (f *Fabric) Numbers() Numbers {
	if f.Clos == nil {
		return defaultNumbers
	}
	n := Numbers{Pods: 1, Parallel: 1}
	for _, c := range []struct {
		from *int
		to   *int
	}{{f.Clos.Pods, &n.Pods}, {f.Clos.Leaves, &n.Leaves}, {f.Clos.Spines, &n.Spines}, {f.Clos.Tops, &n.Tops}, {f.Clos.Parallel, &n.Parallel}} {
		if c.from != nil {
			*c.to = *c.from
		}
	}
	return n
}

// Routers returns the number of routers.
func (n Numbers) Routers() int { return n.Pods*(n.Leaves+n.Spines) + n.Spines*n.Tops }

// Links returns the number of links.
func (n Numbers) Links() int { return n.Pods*n.Leaves*n.Spines*n.Parallel + n.Pods*n.Spines*n.Tops }

// fabric reads the fabric and sets the numbers against which parts are held.
func (o *object) fabric(f *Fabric) {
	w := o.w
	m := o.open("fabric")
	if m == nil {
		if !o.has("fabric") {
			w.n = &defaultNumbers
		}
		return
	}
	before := len(w.p.List) + w.p.More
	if c := m.open("clos"); c != nil {
		f.Clos = &Clos{}
		c.clos(f)
	}
	if before == len(w.p.List)+w.p.More {
		n := f.Numbers()
		w.n = &n
	}
	m.metrics(f)
	if s := m.open("speed"); s != nil {
		s.speed("access", &f.Speed.Access)
		s.speed("leaf_spine", &f.Speed.LeafSpine)
		s.speed("spine_top", &f.Speed.SpineTop)
		s.done()
	}
	m.done()
}

// clos reads the numbers of a folded Clos and holds them against one another.
func (o *object) clos(f *Fabric) {
	before := len(o.w.p.List) + o.w.p.More
	o.require("leaves", "spines")
	o.whole("pods", &f.Clos.Pods, 1, routersMax)
	o.whole("leaves", &f.Clos.Leaves, 1, routersMax)
	o.whole("spines", &f.Clos.Spines, 1, routersMax)
	o.whole("tops", &f.Clos.Tops, 0, routersMax)
	o.whole("parallel", &f.Clos.Parallel, 1, 64)
	o.done()
	if before != len(o.w.p.List)+o.w.p.More {
		return
	}
	n := f.Numbers()
	switch {
	case n.Tops == 0 && n.Pods > 1 && o.has("tops"):
		o.wrong("tops", "tops: 0 needs pods: 1", fmt.Sprintf("nothing joins %d pods without tops", n.Pods))
	case n.Tops == 0 && n.Pods > 1:
		o.wrong("pods", fmt.Sprintf("pods: %d needs tops", n.Pods), "nothing joins pods without tops of fabric: say how many a plane has")
	case n.Tops > 0 && !o.has("pods"):
		o.wrong("tops", "tops need pods", "say pods: n; tops join pods, tops: 0 is a fabric of leaves and spines")
	case n.Pods*n.Leaves < 2:
		o.wrong("leaves", "traffic needs two leaves", "")
	case n.Routers() > routersMax:
		o.w.bad(o.node, o.path, fmt.Sprintf("the fabric has %d routers", n.Routers()), fmt.Sprintf("at most %d", routersMax))
	case n.Links() > linksMax:
		o.w.bad(o.node, o.path, fmt.Sprintf("the fabric has %d links", n.Links()), fmt.Sprintf("at most %d", linksMax))
	}
}

// metrics reads the metrics of single links or directions.
func (o *object) metrics(f *Fabric) {
	m := o.open("metrics")
	if m == nil {
		return
	}
	seen := map[string]bool{}
	for _, k := range m.keys {
		m.asked = append(m.asked, k.Value)
		p, bad := parsePart(k.Value, o.w.n)
		if bad == nil && p.Class != LinkPart && p.Class != DirectionPart {
			bad = &fault{"is " + p.Class.String() + ": metrics belong to links", "such as leaf-0-01~spine-0-02: 10"}
		}
		if bad == nil && seen[p.String()] {
			bad = &fault{"has its metric twice", ""}
		}
		if bad != nil {
			o.w.bad(k, m.path, quote(k.Value)+" "+bad.text, bad.hint)
			continue
		}
		seen[p.String()] = true
		var v *int
		if m.whole(k.Value, &v, 1, 1<<24-2); v != nil {
			f.Metrics = append(f.Metrics, LinkMetric{p, *v})
		}
	}
}

// groups reads shared-risk groups: a map of rules, or a list of rules and of groups by name.
func (o *object) groups(g *Groups) {
	n, path := o.take("groups")
	switch {
	case n == nil:
	case n.Kind == seqKind:
		used := map[string]int{}
		for i, c := range n.Content {
			if e := o.w.object(c, index(path, i)); e != nil {
				e.group(g, used)
			}
		}
	default:
		if r := o.w.object(n, path); r != nil {
			r.rules(g)
			r.done()
		}
	}
}

// rules reads groups made by rule.
func (o *object) rules(g *Groups) {
	if d := o.rule("power_domain", g.PowerDomainLeaves != nil); d != nil {
		d.require("leaves")
		d.whole("leaves", &g.PowerDomainLeaves, 1, routersMax)
		d.done()
	}
	if d := o.rule("line_card", g.LineCardPorts != nil); d != nil {
		d.require("ports")
		d.whole("ports", &g.LineCardPorts, 1, routersMax)
		d.done()
	}
	if d := o.rule("breakout", g.BreakoutPorts != nil); d != nil {
		d.require("ports")
		d.whole("ports", &g.BreakoutPorts, 1, 64)
		d.done()
	}
	if d := o.rule("batch", g.BatchShare != nil); d != nil {
		d.require("share")
		d.positive("share", &g.BatchShare)
		d.done()
	}
}

// rule opens a rule that must not have been given before.
func (o *object) rule(key string, given bool) *object {
	if o.has(key) && given {
		o.w.bad(o.keyNode(key), o.path, key+" has a rule already", "")
	}
	return o.open(key)
}

// group reads one entry of the list of groups.
func (o *object) group(g *Groups, used map[string]int) {
	if !o.has("name") && !o.has("members") && !o.has("of") {
		o.rules(g)
		o.asked = append(o.asked, "name", "of", "members")
		o.done()
		return
	}
	o.require("name", "members")
	e := Group{Name: o.name(used)}
	classes := []string{OnPowerDomain.String(), OnLineCard.String(), OnBreakout.String(), OnBatch.String()}
	if i := o.word("of", classes...); i >= 0 {
		e.Of = []TargetClass{OnPowerDomain, OnLineCard, OnBreakout, OnBatch}[i]
	}
	items, path, given := o.items("members")
	if given && len(items) == 0 {
		o.wrong("members", "a group needs members", "")
	}
	for i, c := range items {
		p, ok := o.w.part(c, index(path, i))
		if bad := e.misfit(p); ok && bad != nil {
			o.w.reject(c, index(path, i), bad)
		} else if ok {
			e.Members = append(e.Members, p)
		}
	}
	o.done()
	g.Named = append(g.Named, e)
}

// misfit says why a part cannot be a member of a group.
func (g *Group) misfit(p Part) *fault {
	switch {
	case p.Class == GroupPart:
		return &fault{"is a group: groups hold routers and links", ""}
	case slices.ContainsFunc(g.Members, func(m Part) bool { return m.String() == p.String() }):
		return &fault{"is a member already", ""}
	case g.Of == OnPowerDomain && p.Class != RouterPart:
		return &fault{"is " + p.Class.String() + ": routers share a power domain", ""}
	case g.Of != NoTarget && g.Of != OnPowerDomain && p.Class != LinkPart:
		return &fault{"is " + p.Class.String() + ": links share a " + g.Of.String(), ""}
	}
	return nil
}
