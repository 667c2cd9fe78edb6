package model

import (
	"fmt"
	"slices"

	"halflight/model/failure"
	"halflight/model/timer"
	"halflight/scenarios"
)

func (l *lister) study() {
	s, w := l.b.s, l.b.w
	l.add("name", quoted(w.Name), true)
	if w.About != "" {
		l.add("about", quoted(w.About), true)
	}
	l.add("seed", fmt.Sprint(w.Seed), s.Seed != nil)
	l.add("replications", whole(w.Replications), s.Replications != nil)
	l.time("warm_up", w.WarmUp, s.WarmUp != nil)
	l.time("horizon", w.Horizon, s.Horizon != nil)
	l.add("random", yes(w.Random), s.Random != nil)
	start, hashing := "rest", scenarios.Independent
	if w.Timers.LastState {
		start = "last"
	}
	if w.Polarised {
		hashing = scenarios.Polarised
	}
	l.add("start.backoff", start, s.Start != nil)
	l.add("hashing", hashing.String(), s.Hashing != nil)
}

func (l *lister) fabric() {
	s, w := &l.b.s.Fabric, l.b.w
	c, given := w.Fabric.Shape, s.Clos
	typed := given != nil
	if !typed {
		given = &scenarios.Clos{}
	}
	l.add("fabric.clos.pods", whole(c.Pods), given.Pods != nil)
	l.add("fabric.clos.leaves", whole(c.Leaves), given.Leaves != nil)
	l.add("fabric.clos.spines", whole(c.Spines), given.Spines != nil)
	l.add("fabric.clos.tops", whole(c.Tops), given.Tops != nil)
	l.add("fabric.clos.parallel", whole(c.Parallel), given.Parallel != nil)
	for _, m := range s.Metrics {
		l.add("fabric.metrics."+l.name(m.Link), whole(m.Metric), true)
	}
	l.add("fabric.speed.access", speedText(w.Traffic.Access), s.Speed.Access != nil)
	l.add("fabric.speed.leaf_spine", speedText(speed(s.Speed.LeafSpine, linkSpeed)), s.Speed.LeafSpine != nil)
	l.add("fabric.speed.spine_top", speedText(speed(s.Speed.SpineTop, linkSpeed)), s.Speed.SpineTop != nil)
	l.add("routers.spread", number(w.Spread), l.b.s.Routers.Spread != nil)
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

func (l *lister) timers() {
	s, t := &l.b.s.Timers, &l.b.w.Timers
	l.spf(s, &t.SPF)
	g := s.LSPGeneration
	if g == nil {
		g = &scenarios.LSPGeneration{}
	}
	at, d := "timers.lsp_generation.", t.LSPGeneration
	l.time(at+"first_delay", d.First, g.FirstDelay != nil)
	l.time(at+"incremental_delay", d.Incremental, g.IncrementalDelay != nil)
	l.time(at+"maximum_delay", d.Maximum, g.MaximumDelay != nil)
	l.time(at+"wait_time", d.Wait, g.WaitTime != nil)
	l.time("timers.spf_run", t.SPFRun, s.SPFRun != nil)
}

func (l *lister) spf(s *scenarios.Timers, t *timer.SPF) {
	at := "timers.spf." + l.b.spfKey() + "."
	switch t.Family {
	case timer.RFC8405:
		g := &scenarios.RFC8405{}
		if s.SPF != nil {
			g = s.SPF.RFC8405
		}
		l.time(at+"initial_delay", t.Initial, g.InitialDelay != nil)
		l.time(at+"short_delay", t.Short, g.ShortDelay != nil)
		l.time(at+"long_delay", t.Long, g.LongDelay != nil)
		l.time(at+"time_to_learn", t.TimeToLearn, g.TimeToLearn != nil)
		l.time(at+"holddown", t.Holddown, g.Holddown != nil)
	case timer.TwoStep:
		g := s.SPF.TwoStep
		l.time(at+"rapid_delay", t.Rapid, g.RapidDelay != nil)
		l.add(at+"rapid_runs", whole(t.RapidRuns), g.RapidRuns != nil)
		l.time(at+"slow_delay", t.Slow, g.SlowDelay != nil)
		l.time(at+"wait_time", t.Wait, g.WaitTime != nil)
	default:
		g, form := s.SPF.Doubling, "a"
		if t.Family == timer.DoublingB {
			form = "b"
		}
		l.add(at+"form", form, g.FormB != nil)
		l.time(at+"first_delay", t.First, g.FirstDelay != nil)
		l.time(at+"incremental_delay", t.Incremental, g.IncrementalDelay != nil)
		l.time(at+"maximum_delay", t.Maximum, g.MaximumDelay != nil)
		l.time(at+"wait_time", t.Wait, g.WaitTime != nil)
	}
}

// control adds detection, flooding, tables, overload and restart.
func (l *lister) control() {
	s, t := l.b.s, &l.b.w.Timers
	l.time("detection.signal", t.Signal, s.Detection.Signal != nil)
	l.time("detection.settle", t.Settle, s.Detection.Settle != nil)
	l.hellos("detection.bfd", s.Detection.BFD, t.BFD, t.BFDInterval, t.BFDMultiplier)
	if t.BFD {
		l.add("detection.bfd.jitter", number(t.BFDJitter), s.Detection.BFD != nil && s.Detection.BFD.Jitter != nil)
	}
	l.hellos("detection.hello", s.Detection.Hello, t.Hello, t.HelloInterval, t.HelloMultiplier)
	l.time("flooding.per_hop", t.PerHop, s.Flooding.PerHop != nil)
	l.time("flooding.exchange", t.Exchange, s.Flooding.Exchange != nil)
	if t.Pacing {
		l.add("flooding.pacing.burst", whole(t.PacingBurst), true)
		l.time("flooding.pacing.interval", t.PacingInterval, true)
	} else {
		l.add("flooding.pacing", "false", s.Flooding.Pacing != nil)
	}
	l.add("flooding.second_lsp_counts", yes(t.SecondLSPCounts), s.Flooding.SecondLSPCounts != nil)
	l.time("fib.base", t.FIBBase, s.FIB.Base != nil)
	l.time("fib.per_prefix", t.FIBPerPrefix, s.FIB.PerPrefix != nil)
	l.add("fib.local_prune", yes(t.LocalPrune), s.FIB.LocalPrune != nil)
	l.time("fib.prune_delay", t.PruneDelay, s.FIB.PruneDelay != nil)
	l.add("overload.leaves", yes(t.OverloadLeaves), s.Overload.Leaves != nil)
	l.add("overload.until_ready", yes(t.UntilReady), s.Overload.UntilReady != nil)
	l.time("restart.grace", t.Grace, s.Restart.Grace != nil)
}

func (l *lister) hellos(path string, given *scenarios.Hellos, on bool, interval int64, multiplier int) {
	if !on {
		l.add(path, "false", true)
		return
	}
	if given == nil {
		given = &scenarios.Hellos{}
	}
	l.time(path+".interval", interval, given.Interval != nil)
	l.add(path+".multiplier", whole(multiplier), given.Multiplier != nil)
}

// groups adds shared-risk groups: a map of rules, or a list when there are
// groups by name.
func (l *lister) groups() {
	s, r := &l.b.s.Groups, l.b.rules
	for i := range s.Named {
		g := &s.Named[i]
		at := fmt.Sprintf("groups.%d.", i)
		l.add(at+"name", quoted(g.Name), true)
		if g.Of != scenarios.NoTarget {
			l.add(at+"of", g.Of.String(), true)
		}
		for j, m := range g.Members {
			l.add(fmt.Sprintf("%smembers.%d", at, j), l.name(m), true)
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
		l.add(at+key, value, given)
		entry++
		if !slices.ContainsFunc(l.b.w.Modes, func(m failure.Mode) bool { return m.On == on }) {
			l.list[len(l.list)-1].Wide = -1
		}
	}
	rule(r.powerLeaves > 0, failure.OnPowerDomain, "power_domain.leaves", whole(r.powerLeaves), s.PowerDomainLeaves != nil)
	rule(r.cardPorts > 0, failure.OnLineCard, "line_card.ports", whole(r.cardPorts), s.LineCardPorts != nil)
	rule(r.breakoutPorts > 0, failure.OnBreakout, "breakout.ports", whole(r.breakoutPorts), true)
	rule(r.batchShare > 0, failure.OnBatch, "batch.share", number(r.batchShare), true)
}
