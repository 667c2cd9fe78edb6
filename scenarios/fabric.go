package scenarios

import (
	"fmt"
	"slices"

	"halflight/scenarios/outline"
	"halflight/scenarios/part"
	"halflight/scenarios/wording"
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

// fabric reads the fabric and sets the numbers against which parts are held.
func (o *object) fabric(f *Fabric) {
	w := o.w
	m := o.open("fabric")
	if m == nil {
		if !o.Has("fabric") {
			w.n = &defaultNumbers
		}
		return
	}
	before := w.Problems.Count()
	if c := m.open("clos"); c != nil {
		f.Clos = &Clos{}
		c.clos(f)
	}
	if before == w.Problems.Count() {
		n := f.Numbers()
		w.n = &n
	}
	m.metrics(f)
	if s := m.open("speed"); s != nil {
		s.Speed("access", &f.Speed.Access)
		s.Speed("leaf_spine", &f.Speed.LeafSpine)
		s.Speed("spine_top", &f.Speed.SpineTop)
		s.Done()
	}
	m.Done()
}

// clos reads the numbers of a folded Clos and holds them against one another.
func (o *object) clos(f *Fabric) {
	before := o.w.Problems.Count()
	o.Require("leaves", "spines")
	o.Whole("pods", &f.Clos.Pods, 1, routersMax)
	o.Whole("leaves", &f.Clos.Leaves, 1, routersMax)
	o.Whole("spines", &f.Clos.Spines, 1, routersMax)
	o.Whole("tops", &f.Clos.Tops, 0, routersMax)
	o.Whole("parallel", &f.Clos.Parallel, 1, 64)
	o.Whole("fabrics", &f.Clos.Fabrics, 1, fabricsMax)
	o.Done()
	if before != o.w.Problems.Count() {
		return
	}
	n := f.Numbers()
	k := 1
	if f.Clos.Fabrics != nil {
		k = *f.Clos.Fabrics
	}
	switch {
	case n.Pods%k != 0:
		o.Wrong("fabrics", fmt.Sprintf("%d pods cannot be divided among %d fabrics", n.Pods, k), "pods and tops of a plane are shared out evenly")
	case n.Tops%k != 0:
		o.Wrong("fabrics", fmt.Sprintf("%d tops of a plane cannot be divided among %d fabrics", n.Tops, k), "pods and tops of a plane are shared out evenly")
	case n.Pods/k*n.Leaves < 2 && n.Pods*n.Leaves >= 2:
		o.Wrong("fabrics", "a fabric of one leaf has no traffic", "")
	case n.Tops == 0 && n.Pods > 1 && n.Pods == k: // fabrics of leaves and spines
	case n.Tops == 0 && n.Pods > 1 && o.Has("tops"):
		o.Wrong("tops", "tops: 0 needs pods: 1", fmt.Sprintf("nothing joins %d pods without tops", n.Pods))
	case n.Tops == 0 && n.Pods > 1:
		o.Wrong("pods", fmt.Sprintf("pods: %d needs tops", n.Pods), "nothing joins pods without tops of fabric: say how many a plane has")
	case n.Tops > 0 && !o.Has("pods"):
		o.Wrong("tops", "tops need pods", "say pods: n; tops join pods, tops: 0 is a fabric of leaves and spines")
	case n.Pods*n.Leaves < 2:
		o.Wrong("leaves", "traffic needs two leaves", "")
	case n.Routers() > routersMax:
		o.w.Bad(o.Node, o.Path, fmt.Sprintf("the fabric has %d routers", n.Routers()), fmt.Sprintf("at most %d", routersMax))
	case n.Links() > linksMax:
		o.w.Bad(o.Node, o.Path, fmt.Sprintf("the fabric has %d links", n.Links()), fmt.Sprintf("at most %d", linksMax))
	}
}

// metrics reads the metrics of single links or directions.
func (o *object) metrics(f *Fabric) {
	m := o.open("metrics")
	if m == nil {
		return
	}
	seen := map[string]bool{}
	for _, k := range m.Keys {
		m.Know(k.Value)
		p, bad := part.Parse(k.Value, o.w.n)
		if bad == nil && p.Class != LinkPart && p.Class != DirectionPart {
			bad = wording.Wrong("is "+p.Class.String()+": metrics belong to links", "such as leaf-0-01~spine-0-02: 10")
		}
		if bad == nil && seen[p.String()] {
			bad = wording.Wrong("has its metric twice", "")
		}
		if bad != nil {
			o.w.Bad(k, m.Path, wording.Quote(k.Value)+" "+bad.Text, bad.Hint)
			continue
		}
		seen[p.String()] = true
		var v *int
		if m.Whole(k.Value, &v, 1, 1<<24-2); v != nil {
			f.Metrics = append(f.Metrics, LinkMetric{p, *v})
		}
	}
}

// groups reads shared-risk groups: a map of rules, or a list of rules and of groups by name.
func (o *object) groups(g *Groups) {
	n, path := o.Take("groups")
	switch {
	case n == nil:
	case n.Kind == seqKind:
		used := map[string]int{}
		for i, c := range n.Content {
			if e := o.w.object(c, outline.Index(path, i)); e != nil {
				e.group(g, used)
			}
		}
	default:
		if r := o.w.object(n, path); r != nil {
			r.rules(g)
			r.Done()
		}
	}
}

// rules reads groups made by rule.
func (o *object) rules(g *Groups) {
	if d := o.rule("power_domain", g.PowerDomainLeaves != nil); d != nil {
		d.Require("leaves")
		d.Whole("leaves", &g.PowerDomainLeaves, 1, routersMax)
		d.Done()
	}
	if d := o.rule("line_card", g.LineCardPorts != nil); d != nil {
		d.Require("ports")
		d.Whole("ports", &g.LineCardPorts, 1, routersMax)
		d.Done()
	}
	if d := o.rule("breakout", g.BreakoutPorts != nil); d != nil {
		d.Require("ports")
		d.Whole("ports", &g.BreakoutPorts, 1, 64)
		d.Done()
	}
	if d := o.rule("batch", g.BatchShare != nil); d != nil {
		d.Require("share")
		d.Positive("share", &g.BatchShare)
		d.Done()
	}
}

// rule opens a rule that must not have been given before.
func (o *object) rule(key string, given bool) *object {
	if o.Has(key) && given {
		o.w.Bad(o.KeyNode(key), o.Path, key+" has a rule already", "")
	}
	return o.open(key)
}

// group reads one entry of the list of groups.
func (o *object) group(g *Groups, used map[string]int) {
	if !o.Has("name") && !o.Has("members") && !o.Has("of") {
		o.rules(g)
		o.Know("name", "of", "members")
		o.Done()
		return
	}
	o.Require("name", "members")
	e := Group{Name: o.Name(used)}
	classes := []string{OnPowerDomain.String(), OnLineCard.String(), OnBreakout.String(), OnBatch.String()}
	if i := o.Word("of", classes...); i >= 0 {
		e.Of = []TargetClass{OnPowerDomain, OnLineCard, OnBreakout, OnBatch}[i]
	}
	items, path, given := o.Items("members")
	if given && len(items) == 0 {
		o.Wrong("members", "a group needs members", "")
	}
	for i, c := range items {
		p, ok := o.w.part(c, outline.Index(path, i))
		if bad := e.misfit(p); ok && bad != nil {
			o.w.Reject(c, outline.Index(path, i), bad)
		} else if ok {
			e.Members = append(e.Members, p)
		}
	}
	o.Done()
	g.Named = append(g.Named, e)
}

// misfit says why a part cannot be a member of a group.
func (g *Group) misfit(p Part) *wording.Fault {
	switch {
	case p.Class == GroupPart:
		return wording.Wrong("is a group: groups hold routers and links", "")
	case p.Class == AccessPart:
		return wording.Wrong("is "+p.Class.String()+": groups hold routers and links between them", "")
	case slices.ContainsFunc(g.Members, func(m Part) bool { return m.String() == p.String() }):
		return wording.Wrong("is a member already", "")
	case g.Of == OnPowerDomain && p.Class != RouterPart:
		return wording.Wrong("is "+p.Class.String()+": routers share a power domain", "")
	case g.Of != NoTarget && g.Of != OnPowerDomain && p.Class != LinkPart:
		return wording.Wrong("is "+p.Class.String()+": links share a "+g.Of.String(), "")
	}
	return nil
}
