package model

import (
	"fmt"
	"slices"

	"halflight/model/fabric"
	"halflight/model/given"
	"halflight/scenarios"
)

// rules are the numbers that make groups by rule; 0: none.
type rules struct {
	powerLeaves, cardPorts, breakoutPorts int
	batchShare                            float64
}

// defaultRules: two racks share power, and 16 ports a line card.
var defaultRules = rules{powerLeaves: 2, cardPorts: 16}

// groups makes the shared-risk groups: those by name first, then those by rule.
// A default rule gives way to groups of its class by name.
func (b *builder) groups() {
	g := &b.s.Groups
	for i := range g.Named {
		b.named(i, &g.Named[i])
	}
	r := defaultRules
	if b.has(fabric.PowerDomain) {
		r.powerLeaves = 0
	}
	if b.has(fabric.LineCard) {
		r.cardPorts = 0
	}
	r.powerLeaves = given.Or(g.PowerDomainLeaves, r.powerLeaves)
	r.cardPorts = given.Or(g.LineCardPorts, r.cardPorts)
	r.breakoutPorts = given.Or(g.BreakoutPorts, 0)
	r.batchShare = given.Or(g.BatchShare, 0)
	b.rules = r
	f := b.w.Fabric
	if r.powerLeaves > 0 {
		b.take(f.PowerDomains(r.powerLeaves))
	}
	if r.cardPorts > 0 {
		b.take(f.LineCards(r.cardPorts))
	}
	if r.breakoutPorts > 0 {
		b.take(f.Breakouts(r.breakoutPorts))
	}
	if r.batchShare > 0 {
		b.take([]fabric.Group{f.OpticsBatch(r.batchShare)})
	}
}

// has says whether there is a group of a class.
func (b *builder) has(class fabric.GroupClass) bool {
	return slices.ContainsFunc(b.w.Groups, func(g fabric.Group) bool { return g.Class == class })
}

// take adds groups made by rule and refuses names that are taken.
func (b *builder) take(made []fabric.Group) {
	for i := range b.s.Groups.Named {
		name := b.s.Groups.Named[i].Name
		if slices.ContainsFunc(made, func(g fabric.Group) bool { return g.Name == name }) {
			b.bad(fmt.Sprintf("groups.%d.name", i), fmt.Sprintf("%q is the name of a group made by rule", name))
		}
	}
	b.w.Groups = append(b.w.Groups, made...)
}

// named resolves one group by name.
func (b *builder) named(i int, n *scenarios.Group) {
	g := fabric.Group{Name: n.Name, Class: groupClass(n.Of)}
	for j, m := range n.Members {
		found, ok := b.find(fmt.Sprintf("groups.%d.members.%d", i, j), m)
		switch {
		case !ok:
		case found.Router >= 0:
			g.Routers = append(g.Routers, found.Router)
		case found.Link >= 0:
			g.Links = append(g.Links, found.Link)
		default:
			g.Directions = append(g.Directions, found.Direction)
		}
	}
	slices.Sort(g.Routers)
	slices.Sort(g.Links)
	slices.Sort(g.Directions)
	b.w.Groups = append(b.w.Groups, g)
}

// groupClass translates the class of a group.
func groupClass(of scenarios.TargetClass) fabric.GroupClass {
	switch of {
	case scenarios.OnPowerDomain:
		return fabric.PowerDomain
	case scenarios.OnLineCard:
		return fabric.LineCard
	case scenarios.OnBreakout:
		return fabric.Breakout
	case scenarios.OnBatch:
		return fabric.Batch
	}
	return fabric.Named
}
