package staffing

import (
	"fmt"

	"halflight/model/chance"
	"halflight/model/fabric"
	"halflight/model/given"
	"halflight/model/operation"
	"halflight/model/setting"
	"halflight/scenarios"
	"halflight/scenarios/operator"
)

type lawsOf func(*scenarios.Distribution) chance.Law

// upgrades resolves campaigns.
func upgrades(g *operator.Upgrades, lawOf lawsOf) *operation.Upgrades {
	if g == nil {
		return nil
	}
	d := operation.DefaultUpgrades()
	for t := operation.AllTiers; t <= operation.Tops; t++ {
		if g.Boxes != nil && *g.Boxes == t.String() {
			d.Tier = t
		}
	}
	d.First, d.Every, d.AtOnce = given.Span(g.First, d.First), given.Span(g.Every, d.Every), given.Or(g.AtOnce, d.AtOnce)
	if g.Window != nil {
		if d.From, d.To = int64(g.Window.From), int64(g.Window.To); d.To <= d.From {
			d.To += day
		}
	}
	d.Ahead = given.Span(g.Ahead, d.Ahead)
	if g.Work != nil {
		d.Work = lawOf(g.Work)
	}
	for k := operation.ByMetric; k <= operation.NoDrain; k++ {
		if g.Drain != nil && *g.Drain == k.String() {
			d.Drain = k
		}
	}
	d.Kept = given.Or(g.Kept, d.Kept)
	d.Undrained, d.Early, d.Dead = given.Or(g.Undrained, d.Undrained), given.Or(g.Early, d.Early), given.Or(g.Dead, d.Dead)
	return &d
}

// changes resolves changes of configuration.
func changes(g *operator.Changes, lawOf lawsOf) *operation.Changes {
	if g == nil {
		return nil
	}
	d := operation.DefaultChanges()
	d.Rate, d.Roles = given.Number(g.Rate, d.Rate), given.Or(g.Roles, d.Roles)
	d.Share, d.PerRole = given.Or(g.Share, d.Share), given.Or(g.PerRole, d.PerRole)
	d.Wide, d.Hole = given.Or(g.Wide, d.Wide), given.Or(g.Hole, d.Hole)
	if g.What != nil {
		for i, w := range g.What {
			d.What[i] = given.Or(w, 0)
		}
	}
	d.Undo, _ = reaction(g.Undo, lawOf)
	return &d
}

// planned lists planned work.
func planned(l *setting.List, s *scenarios.Operations, p *operation.Plan) {
	if u := p.Upgrades; u != nil {
		g, at := s.Upgrades, "operations.upgrades."
		l.Add(at+"boxes", u.Tier.String(), g.Boxes != nil)
		l.Time(at+"first", u.First, g.First != nil)
		l.Time(at+"every", u.Every, g.Every != nil)
		l.Add(at+"at_once", setting.Whole(u.AtOnce), g.AtOnce != nil)
		if u.From < u.To {
			l.Time(at+"window.from", u.From, true)
			l.Time(at+"window.to", (u.To-1)%day+1, true)
		}
		l.Time(at+"ahead", u.Ahead, g.Ahead != nil)
		l.Law(at+"work", u.Work, setting.Time, g.Work != nil)
		l.Add(at+"drain", u.Drain.String(), g.Drain != nil)
		l.Add(at+"kept", setting.Yes(u.Kept), g.Kept != nil)
		l.Add(at+"mistakes.undrained", setting.Number(u.Undrained), g.Undrained != nil)
		l.Add(at+"mistakes.early", setting.Number(u.Early), g.Early != nil)
		l.Add(at+"mistakes.dead", setting.Number(u.Dead), g.Dead != nil)
	}
	if c := p.Changes; c != nil {
		g, at := s.Changes, "operations.changes."
		l.Add(at+"rate", setting.Rate(c.Rate), g.Rate != nil)
		l.Add(at+"roles", setting.Whole(c.Roles), g.Roles != nil)
		at += "mistakes."
		l.Add(at+"share", setting.Number(c.Share), g.Share != nil)
		l.Add(at+"per_role", setting.Number(c.PerRole), g.PerRole != nil)
		l.Add(at+"wide", setting.Number(c.Wide), g.Wide != nil)
		for i, w := range c.What {
			l.Add(at+"what."+operator.Mistakes[i], setting.Number(w), g.What != nil)
		}
		l.Add(at+"hole", setting.Number(c.Hole), g.Hole != nil)
		acts(l, at+"undo", g.Undo, c.Undo)
	}
}

// Check refuses planned work that could never be done.
func Check(p *operation.Plan, shape fabric.Clos, random bool, horizon int64, bad Bad) {
	if (p.Upgrades != nil || p.Changes != nil) && !random {
		bad("operations", "planned work is drawn, and random: false plays the script alone")
	}
	u := p.Upgrades
	if u == nil {
		return
	}
	const at = "operations.upgrades"
	if u.Tier == operation.Tops && shape.Tops == 0 {
		bad(at+".boxes", "there are no tops in this fabric")
	}
	if length := u.Length(p.SoakTime); u.From < u.To && u.To-u.From < length {
		bad(at+".window", fmt.Sprintf("is shorter than one box is out: ahead, work and operations.soak take %s on average", setting.Span(length)))
	}
	if u.First >= horizon {
		bad(at+".first", "begins at or after the horizon, "+setting.Span(horizon))
	}
	enough := func(tier operation.Tier, boxes, links int) {
		if (u.Tier == operation.AllTiers || u.Tier == tier) && boxes > 0 && float64((boxes-1)*links) < float64(p.Floor*float64(boxes*links))-1e-9 {
			bad(at, fmt.Sprintf("none of the %s could ever be taken out: without one of %d the share left is below operations.floor, %.3g; lower the floor, or choose other boxes",
				tier, boxes, p.Floor))
		}
	}
	enough(operation.Spines, shape.Spines, shape.Parallel)
	enough(operation.Tops, shape.Tops, 1)
}
