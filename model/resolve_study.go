package model

import (
	"fmt"
	"slices"

	"halflight/model/failure"
	"halflight/model/given"
	"halflight/model/setting"
	"halflight/scenarios"
)

func (l *lister) study() {
	s, w := l.b.s, l.b.w
	l.Add("name", setting.Quoted(w.Name), true)
	if w.About != "" {
		l.Add("about", setting.Quoted(w.About), true)
	}
	l.Add("seed", fmt.Sprint(w.Seed), s.Seed != nil)
	l.Add("replications", setting.Whole(w.Replications), s.Replications != nil)
	l.Time("warm_up", w.WarmUp, s.WarmUp != nil)
	l.Time("horizon", w.Horizon, s.Horizon != nil)
	l.Add("random", setting.Yes(w.Random), s.Random != nil)
	start, hashing := "rest", scenarios.Independent
	if w.Timers.LastState {
		start = "last"
	}
	if w.Polarised {
		hashing = scenarios.Polarised
	}
	l.Add("start.backoff", start, s.Start != nil)
	l.Add("hashing", hashing.String(), s.Hashing != nil)
}

func (l *lister) fabric() {
	s, w := &l.b.s.Fabric, l.b.w
	c, asked := w.Fabric.Shape, s.Clos
	typed := asked != nil
	if !typed {
		asked = &scenarios.Clos{}
	}
	l.Add("fabric.clos.pods", setting.Whole(c.Pods), asked.Pods != nil)
	l.Add("fabric.clos.leaves", setting.Whole(c.Leaves), asked.Leaves != nil)
	l.Add("fabric.clos.spines", setting.Whole(c.Spines), asked.Spines != nil)
	l.Add("fabric.clos.tops", setting.Whole(c.Tops), asked.Tops != nil)
	l.Add("fabric.clos.parallel", setting.Whole(c.Parallel), asked.Parallel != nil)
	l.Add("fabric.clos.fabrics", setting.Whole(max(w.Fabric.Fabrics, 1)), asked.Fabrics != nil)
	for _, m := range s.Metrics {
		l.Add("fabric.metrics."+l.name(m.Link), setting.Whole(m.Metric), true)
	}
	l.Add("fabric.speed.access", setting.Speed(w.Traffic.Access), s.Speed.Access != nil)
	l.Add("fabric.speed.leaf_spine", setting.Speed(given.Number(s.Speed.LeafSpine, linkSpeed)), s.Speed.LeafSpine != nil)
	l.Add("fabric.speed.spine_top", setting.Speed(given.Number(s.Speed.SpineTop, linkSpeed)), s.Speed.SpineTop != nil)
	l.Add("routers.spread", setting.Number(w.Spread), l.b.s.Routers.Spread != nil)
}

// name is a part with its numbers padded.
func (l *lister) name(p scenarios.Part) string {
	f := l.b.w.Fabric
	found, err := f.Find(p.Text)
	switch {
	case err != nil:
		panic("model: a part that was found once is gone: " + err.Error())
	case found.Router >= 0:
		return f.Routers[found.Router].Name
	case found.Link >= 0:
		return f.Links[found.Link].Name
	}
	return f.DirectionName(found.Direction)
}

// groups adds shared-risk groups: a map of rules, or a list when there are
// groups by name.
func (l *lister) groups() {
	s, r := &l.b.s.Groups, l.b.rules
	for i := range s.Named {
		g := &s.Named[i]
		at := fmt.Sprintf("groups.%d.", i)
		l.Add(at+"name", setting.Quoted(g.Name), true)
		if g.Of != scenarios.NoTarget {
			l.Add(at+"of", g.Of.String(), true)
		}
		for j, m := range g.Members {
			l.Add(fmt.Sprintf("%smembers.%d", at, j), l.name(m), true)
		}
	}
	entry := len(s.Named)
	rule := func(inForce bool, on failure.Class, key, value string, given bool) {
		at := "groups."
		if len(s.Named) > 0 {
			at = fmt.Sprintf("groups.%d.", entry)
		}
		if !inForce {
			return
		}
		l.Add(at+key, value, given)
		entry++
		if !slices.ContainsFunc(l.b.w.Modes, func(m failure.Mode) bool { return m.On == on }) {
			l.Settings[len(l.Settings)-1].Wide = -1
		}
	}
	rule(r.powerLeaves > 0, failure.OnPowerDomain, "power_domain.leaves", setting.Whole(r.powerLeaves), s.PowerDomainLeaves != nil)
	rule(r.cardPorts > 0, failure.OnLineCard, "line_card.ports", setting.Whole(r.cardPorts), s.LineCardPorts != nil)
	rule(r.breakoutPorts > 0, failure.OnBreakout, "breakout.ports", setting.Whole(r.breakoutPorts), true)
	rule(r.batchShare > 0, failure.OnBatch, "batch.share", setting.Number(r.batchShare), true)
}
