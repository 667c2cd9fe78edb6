package model

import (
	"halflight/model/control"
	"halflight/model/fabric"
	"halflight/model/given"
	"halflight/model/traffic"
	"halflight/scenarios"
)

// Problem is something wrong with a scenario that only shows once defaults and
// the fabric are known. Path is a key path as scenarios writes it.
type Problem struct{ Path, Text string }

// Build resolves a scenario. Problems are all there are; with any, the World is
// incomplete and must not be run.
func Build(s *scenarios.Scenario) (*World, []Problem) {
	b := build(s)
	return b.w, b.problems
}

// builder carries a scenario through its resolution.
type builder struct {
	s        *scenarios.Scenario
	w        *World
	rules    rules
	problems []Problem
}

func build(s *scenarios.Scenario) *builder {
	b := &builder{s: s, w: &World{}}
	b.study()
	if !b.fabric() {
		return b
	}
	f, hosts := b.w.Fabric, control.HostsOf(s)*b.w.Fabric.Leaves // which count as routers with one link
	b.w.Timers = control.Timers(s, (len(f.Routers)+hosts)/max(f.Fabrics, 1), (len(f.Links)+hosts)/max(f.Fabrics, 1), b.w.Random, b.bad)
	b.w.Hosts = control.ResolveHosts(s, lawOf)
	b.homing()
	b.groups()
	b.mixed()
	b.traffic()
	b.transport()
	b.operation()
	b.events()
	b.failures()
	b.script()
	return b
}

// bad adds a problem.
func (b *builder) bad(path, text string) { b.problems = append(b.problems, Problem{path, text}) }

const (
	second = int64(1e9)
	day    = 86400 * second
)

// study resolves what a study is: how long, how often, from which seed. A
// scenario without chance is played once, without warm-up.
func (b *builder) study() {
	s, w := b.s, b.w
	w.Name, w.About = s.Name, s.About
	w.Random = given.Or(s.Random, true)
	w.Seed = given.Or(s.Seed, 1)
	replications, warmUp := 20, 90*day
	if !w.Random {
		replications, warmUp = 1, 0
	}
	w.Replications = given.Or(s.Replications, replications)
	w.WarmUp = given.Span(s.WarmUp, warmUp)
	w.Horizon = given.Span(s.Horizon, 90*day)
	if w.Random {
		w.Spread = given.Or(s.Routers.Spread, 0.5)
	}
	if s.Hashing != nil {
		w.Polarised = *s.Hashing == scenarios.Polarised
	}
	if w.WarmUp > maxTime-w.Horizon {
		b.bad("warm_up", "warm_up and horizon together exceed 146 years")
	}
}

// maxTime is the longest simulated time, so that sums of two times fit.
const maxTime = int64(1) << 62

// linkSpeed in bit/s is that of links between routers of which nothing is said;
// assumed.
const linkSpeed = 100e9

// fabric builds the graph. It returns false when there is none.
func (b *builder) fabric() bool {
	s, w := b.s, b.w
	n := s.Fabric.Numbers()
	clos := fabric.Division{Clos: fabric.Clos{Pods: n.Pods, Leaves: n.Leaves, Spines: n.Spines, Tops: n.Tops, Parallel: n.Parallel}}
	if c := s.Fabric.Clos; c != nil {
		clos.Fabrics = given.Or(c.Fabrics, 1)
	}
	if x := s.Traffic.External; x != nil && !x.Off {
		switch traffic.Place(x.At) {
		case traffic.AtSpines:
			clos.Outside = fabric.Spine
		case traffic.AtTops:
			clos.Outside = fabric.Top
		}
		if clos.Outside == fabric.Top && n.Tops == 0 {
			b.bad("traffic.external.at", "this fabric has no tops for the outside to be joined to")
			return false
		}
	}
	f, err := clos.Build(given.Number(s.Fabric.Speed.LeafSpine, linkSpeed), given.Number(s.Fabric.Speed.SpineTop, linkSpeed))
	if err != nil {
		b.bad("fabric.clos", control.Trim(err))
		return false
	}
	w.Fabric = f
	for _, m := range s.Fabric.Metrics {
		b.metric(m)
	}
	return true
}

// metric sets the metric of a link, or of one direction.
func (b *builder) metric(m scenarios.LinkMetric) {
	path := "fabric.metrics." + m.Link.Text
	p, ok := b.find(path, m.Link)
	if !ok {
		return
	}
	links := b.w.Fabric.Links
	switch {
	case p.Direction >= 0:
		links[p.Direction>>1].Metric[p.Direction&1] = uint32(m.Metric)
	case p.Link >= 0:
		links[p.Link].Metric = [2]uint32{uint32(m.Metric), uint32(m.Metric)}
	default:
		b.bad(path, "only links and directions have a metric")
	}
}

// find returns the ids of a part that is no group.
func (b *builder) find(path string, p scenarios.Part) (fabric.Part, bool) {
	found, err := b.w.Fabric.Find(p.Text)
	if err != nil {
		b.bad(path, control.Trim(err))
		return found, false
	}
	return found, true
}
