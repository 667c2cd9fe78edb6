package model

import (
	"fmt"

	"halflight/model/fabric"
	"halflight/model/given"
	"halflight/model/timer"
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
	b.timers()
	b.homing()
	b.groups()
	b.mixed()
	b.traffic()
	b.transport()
	b.operation()
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
	clos := fabric.Clos{Pods: n.Pods, Leaves: n.Leaves, Spines: n.Spines, Tops: n.Tops, Parallel: n.Parallel}
	f, err := clos.Build(given.Number(s.Fabric.Speed.LeafSpine, linkSpeed), given.Number(s.Fabric.Speed.SpineTop, linkSpeed))
	if err != nil {
		b.bad("fabric.clos", trim(err))
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
		b.bad(path, trim(err))
		return found, false
	}
	return found, true
}

// timers resolves everything that times the control plane.
func (b *builder) timers() {
	s, w := b.s, b.w
	f := w.Fabric
	t := timer.Default(timer.SPFRun(len(f.Routers), len(f.Links)), w.Random)
	if s.Timers.SPF != nil {
		t.SPF = backoff(s.Timers.SPF)
	}
	if g := s.Timers.LSPGeneration; g != nil {
		t.LSPGeneration = timer.Doubling{
			First:       given.Span(g.FirstDelay, t.LSPGeneration.First),
			Incremental: given.Span(g.IncrementalDelay, t.LSPGeneration.Incremental),
			Maximum:     given.Span(g.MaximumDelay, t.LSPGeneration.Maximum),
			Wait:        given.Span(g.WaitTime, t.LSPGeneration.Wait),
		}
	}
	t.SPFRun = given.Span(s.Timers.SPFRun, t.SPFRun)
	t.Signal, t.Settle = given.Span(s.Detection.Signal, t.Signal), given.Span(s.Detection.Settle, t.Settle)
	b.hellos(&t)
	t.PerHop, t.Exchange = given.Span(s.Flooding.PerHop, t.PerHop), given.Span(s.Flooding.Exchange, t.Exchange)
	t.SecondLSPCounts = given.Or(s.Flooding.SecondLSPCounts, t.SecondLSPCounts)
	t.Lossy = given.Or(s.Flooding.Lossy, false)
	if g := s.Flooding.Window; g != nil {
		t.Window = timer.Window{On: !g.Off, Burst: given.Or(g.Burst, t.Window.Burst), Interval: given.Span(g.Interval, t.Window.Interval),
			Receive: given.Or(g.Receive, t.Window.Receive), PerAck: given.Or(g.PerAck, t.Window.PerAck), AckDelay: given.Span(g.AckDelay, t.Window.AckDelay)}
	}
	if p := s.Flooding.Pacing; p != nil {
		t.Pacing = !p.Off
		t.PacingBurst = given.Or(p.Burst, t.PacingBurst)
		t.PacingInterval = given.Span(p.Interval, t.PacingInterval)
	}
	b.tables(&t)
	t.OverloadLeaves = given.Or(s.Overload.Leaves, t.OverloadLeaves)
	t.UntilReady = given.Or(s.Overload.UntilReady, t.UntilReady)
	t.Grace = given.Span(s.Restart.Grace, t.Grace)
	t.LastState = s.Start != nil && s.Start.BackoffLast
	w.Timers = t
	b.checkTimers()
}

// tables resolves how tables are written.
func (b *builder) tables(t *timer.Set) {
	s := &b.s.FIB
	t.FIBBase, t.FIBPerPrefix = given.Span(s.Base, t.FIBBase), given.Span(s.PerPrefix, t.FIBPerPrefix)
	t.LocalPrune = given.Or(s.LocalPrune, t.LocalPrune)
	t.PruneDelay = given.Span(s.PruneDelay, t.PruneDelay)
	t.Entries = families(s) * int64(1+given.Or(s.Labels, 0))
	t.SharedGroups, t.RepairTunnel = given.Or(s.SharedGroups, false), given.Or(s.RepairTunnel, false)
	t.LocalDelay = given.Span(s.LocalDelay, 0)
	if o := s.Ordered; o != nil {
		t.Ordered = !o.Off
		t.OrderHold, t.OrderStep = given.Span(o.Hold, t.OrderHold), given.Span(o.Step, t.OrderStep)
	}
	if t.Ordered && t.LocalDelay > 0 {
		b.bad("fib.local_delay", "local_delay and ordered are two answers to one question: keep one")
	}
}

// families is how many families of prefixes tables hold.
func families(s *scenarios.FIB) int64 {
	if given.Or(s.Families, scenarios.IPv4) == scenarios.BothFamilies {
		return 2
	}
	return 1
}

// hellos resolves BFD and hellos. Without chance nothing is jittered.
func (b *builder) hellos(t *timer.Set) {
	if h := b.s.Detection.BFD; h != nil {
		t.BFD = !h.Off
		t.BFDInterval = given.Span(h.Interval, t.BFDInterval)
		t.BFDMultiplier = given.Or(h.Multiplier, t.BFDMultiplier)
		t.BFDReceive = given.Span(h.Receive, 0)
		for i, e := range h.At {
			if e != nil {
				t.BFDAt[i] = timer.Sends{Transmit: given.Span(e.Interval, 0), Receive: given.Span(e.Receive, 0), Multiplier: given.Or(e.Multiplier, 0)}
			}
		}
		if b.w.Random {
			t.BFDJitter = given.Or(h.Jitter, t.BFDJitter)
		}
	}
	if h := b.s.Detection.Hello; h != nil {
		t.Hello = !h.Off
		t.HelloInterval = given.Span(h.Interval, t.HelloInterval)
		t.HelloMultiplier = given.Or(h.Multiplier, t.HelloMultiplier)
		t.ThreeWay = given.Or(h.ThreeWay, false)
	}
	b.damping(t)
}

// damping resolves how links that go down again and again are kept out of use.
func (b *builder) damping(t *timer.Set) {
	d := b.s.Detection.Damping
	if d == nil {
		return
	}
	t.Damping = timer.Damping{On: !d.Off, Increment: given.Or(d.Increment, t.Damping.Increment), CutOff: given.Or(d.CutOff, t.Damping.CutOff),
		Reuse: given.Or(d.Reuse, t.Damping.Reuse), HalfLife: given.Span(d.HalfLife, t.Damping.HalfLife), Hold: given.Span(d.Hold, t.Damping.Hold)}
	switch {
	case t.Damping.Reuse >= t.Damping.CutOff:
		b.bad("detection.damping.reuse", "must be below cut_off")
	case t.Damping.On && t.Damping.Ceiling() <= t.Damping.CutOff:
		b.bad("detection.damping.cut_off", fmt.Sprintf("is never exceeded: the penalty stops at reuse x 2^(hold/half_life) = %.6g (RFC 2439 section 4.2)", t.Damping.Ceiling()))
	}
}

// backoff resolves the parameters of the family that was chosen.
func backoff(s *scenarios.SPF) timer.SPF {
	if p := s.Doubling; p != nil {
		family := timer.DoublingA
		if given.Or(p.FormB, false) {
			family = timer.DoublingB
		}
		d := timer.DefaultSPF(family)
		d.First, d.Incremental = given.Span(p.FirstDelay, d.First), given.Span(p.IncrementalDelay, d.Incremental)
		d.Maximum, d.Wait = given.Span(p.MaximumDelay, d.Maximum), given.Span(p.WaitTime, d.Wait)
		return d
	}
	if p := s.TwoStep; p != nil {
		d := timer.DefaultSPF(timer.TwoStep)
		d.Rapid, d.Slow, d.Wait = given.Span(p.RapidDelay, d.Rapid), given.Span(p.SlowDelay, d.Slow), given.Span(p.WaitTime, d.Wait)
		d.RapidRuns = given.Or(p.RapidRuns, d.RapidRuns)
		return d
	}
	d, p := timer.DefaultSPF(timer.RFC8405), s.RFC8405
	d.Initial, d.Short, d.Long = given.Span(p.InitialDelay, d.Initial), given.Span(p.ShortDelay, d.Short), given.Span(p.LongDelay, d.Long)
	d.TimeToLearn, d.Holddown = given.Span(p.TimeToLearn, d.TimeToLearn), given.Span(p.Holddown, d.Holddown)
	return d
}

// checkTimers refuses combinations of which at least one side is a default.
func (b *builder) checkTimers() {
	t := &b.w.Timers
	if err := t.SPF.Check(); err != nil {
		b.bad("timers.spf."+spfKey(t.SPF.Family)+checkedKey(t.SPF.Family), trim(err))
	}
	if err := t.LSPGeneration.Check(); err != nil {
		b.bad("timers.lsp_generation.maximum_delay", trim(err))
	}
	if t.Settle < t.Signal {
		b.bad("detection.settle", "must not be below detection.signal, "+scenarios.Duration(t.Signal).String())
	}
}

// spfKey is the key of a back-off family.
func spfKey(f timer.Family) string {
	switch f {
	case timer.RFC8405:
		return "rfc8405"
	case timer.TwoStep:
		return "two_step"
	}
	return "doubling"
}

// checkedKey is the key that SPF.Check is about.
func checkedKey(f timer.Family) string {
	switch f {
	case timer.RFC8405:
		return ".holddown"
	case timer.TwoStep:
		return ".rapid_runs"
	}
	return ".maximum_delay"
}
