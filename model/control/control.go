// Package control resolves what a scenario says of the control plane of routers, and
// lists it as settings.
//
// It knows no fabric but its numbers, and nothing of what breaks. It is tested
// through package model, by the settings of whole scenarios.
package control

import (
	"fmt"
	"strings"

	"halflight/model/given"
	"halflight/model/timer"
	"halflight/scenarios"
)

// builder carries a scenario through its resolution.
type builder struct {
	s      *scenarios.Scenario
	random bool
	bad    func(path, text string) // told of a problem with the value at a key path
}

// Timers resolves everything that times the control plane of a fabric.
func Timers(s *scenarios.Scenario, routers, links int, random bool, bad func(path, text string)) timer.Set {
	b := &builder{s, random, bad}
	t := timer.Default(timer.SPFRun(routers, links), random)
	if s.Timers.SPF != nil {
		t.SPF = SPF(s.Timers.SPF)
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
	t.Hosts = HostsOf(s)
	t.Signal, t.Settle = given.Span(s.Detection.Signal, t.Signal), given.Span(s.Detection.Settle, t.Settle)
	b.hellos(&t)
	t.PerHop, t.Exchange = given.Span(s.Flooding.PerHop, t.PerHop), given.Span(s.Flooding.Exchange, t.Exchange)
	t.SecondLSPCounts = given.Or(s.Flooding.SecondLSPCounts, t.SecondLSPCounts)
	t.Lossy = given.Or(s.Flooding.Lossy, false)
	if r := s.Flooding.Reduced; r != nil && !r.Off {
		t.FloodingDegree, t.Redraw = given.Or(r.Degree, 2), given.Span(r.Redraw, t.Redraw)
	}
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
	b.check(&t)
	return t
}

// tables resolves how tables are written.
func (b *builder) tables(t *timer.Set) {
	s := &b.s.FIB
	t.FIBBase, t.FIBPerPrefix = given.Span(s.Base, t.FIBBase), given.Span(s.PerPrefix, t.FIBPerPrefix)
	t.LocalPrune = given.Or(s.LocalPrune, t.LocalPrune)
	t.PruneDelay = given.Span(s.PruneDelay, t.PruneDelay)
	t.Prefixes = int64(given.Or(s.Prefixes, 1+HostsOf(b.s)))
	t.Entries = t.Prefixes * families(s) * int64(1+given.Or(s.Labels, 0))
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
		if b.random {
			t.BFDJitter = given.Or(h.Jitter, t.BFDJitter)
		}
	}
	if h := b.s.Detection.Hello; h != nil {
		t.Hello = !h.Off
		t.HelloInterval = given.Span(h.Interval, t.HelloInterval)
		t.HelloMultiplier = given.Or(h.Multiplier, t.HelloMultiplier)
		t.ThreeWay = given.Or(h.ThreeWay, false)
		if b.random {
			t.HelloJitter = given.Or(h.Jitter, t.HelloJitter)
		}
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

// SPF resolves the parameters of the family that was chosen.
func SPF(s *scenarios.SPF) timer.SPF {
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

// check refuses combinations of which at least one side is a default.
func (b *builder) check(t *timer.Set) {
	CheckSPF("timers.spf.", &t.SPF, b.bad)
	if err := t.LSPGeneration.Check(); err != nil {
		b.bad("timers.lsp_generation.maximum_delay", Trim(err))
	}
	if t.Settle < t.Signal {
		b.bad("detection.settle", "must not be below detection.signal, "+scenarios.Duration(t.Signal).String())
	}
}

// Key is the key of a back-off family.
func Key(f timer.Family) string {
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
	if f == timer.RFC8405 {
		return ".holddown"
	}
	return ".rapid_runs"
}

// CheckSPF refuses parameters of a back-off below a key.
func CheckSPF(at string, p *timer.SPF, bad func(path, text string)) {
	if err := p.Check(); err != nil {
		bad(at+Key(p.Family)+checkedKey(p.Family), Trim(err))
	}
}

// Trim takes the name of the package off an error.
func Trim(err error) string {
	text := err.Error()
	if _, rest, found := strings.Cut(text, ": "); found && !strings.HasPrefix(text, `"`) {
		return rest
	}
	return text
}
