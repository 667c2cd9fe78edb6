package control

import (
	"halflight/model/fabric"
	"halflight/model/given"
	"halflight/model/setting"
	"halflight/model/timer"
	"halflight/scenarios"
	"halflight/scenarios/control"
)

// lister lists settings.
type lister struct{ *setting.List }

// ListTimers lists the timers; mixed lists those of routers that have others.
func ListTimers(to *setting.List, s *scenarios.Timers, t *timer.Set, mixed func()) {
	l := lister{to}
	ListSPF(to, "timers.spf.", s.SPF, &t.SPF)
	mixed()
	g := s.LSPGeneration
	if g == nil {
		g = &scenarios.LSPGeneration{}
	}
	at, d := "timers.lsp_generation.", t.LSPGeneration
	l.Time(at+"first_delay", d.First, g.FirstDelay != nil)
	l.Time(at+"incremental_delay", d.Incremental, g.IncrementalDelay != nil)
	l.Time(at+"maximum_delay", d.Maximum, g.MaximumDelay != nil)
	l.Time(at+"wait_time", d.Wait, g.WaitTime != nil)
	l.Time("timers.spf_run", t.SPFRun, s.SPFRun != nil)
}

// ListSPF lists a back-off family below a key; typed is nil if none was.
func ListSPF(l *setting.List, at string, typed *scenarios.SPF, t *timer.SPF) {
	at += Key(t.Family) + "."
	switch t.Family {
	case timer.RFC8405:
		g := &scenarios.RFC8405{}
		if typed != nil {
			g = typed.RFC8405
		}
		l.Time(at+"initial_delay", t.Initial, g.InitialDelay != nil)
		l.Time(at+"short_delay", t.Short, g.ShortDelay != nil)
		l.Time(at+"long_delay", t.Long, g.LongDelay != nil)
		l.Time(at+"time_to_learn", t.TimeToLearn, g.TimeToLearn != nil)
		l.Time(at+"holddown", t.Holddown, g.Holddown != nil)
	case timer.TwoStep:
		g := typed.TwoStep
		l.Time(at+"rapid_delay", t.Rapid, g.RapidDelay != nil)
		l.Add(at+"rapid_runs", setting.Whole(t.RapidRuns), g.RapidRuns != nil)
		l.Time(at+"slow_delay", t.Slow, g.SlowDelay != nil)
		l.Time(at+"wait_time", t.Wait, g.WaitTime != nil)
	default:
		g, form := typed.Doubling, "a"
		if t.Family == timer.DoublingB {
			form = "b"
		}
		l.Add(at+"form", form, g.FormB != nil)
		l.Time(at+"first_delay", t.First, g.FirstDelay != nil)
		l.Time(at+"incremental_delay", t.Incremental, g.IncrementalDelay != nil)
		l.Time(at+"maximum_delay", t.Maximum, g.MaximumDelay != nil)
		l.Time(at+"wait_time", t.Wait, g.WaitTime != nil)
	}
}

// List lists detection, flooding, tables, overload and restart. Of tables it leaves
// out what the transport says, if there is one.
func List(to *setting.List, s *scenarios.Scenario, t *timer.Set, transport bool) {
	l := lister{to}
	l.Time("detection.signal", t.Signal, s.Detection.Signal != nil)
	l.Time("detection.settle", t.Settle, s.Detection.Settle != nil)
	l.hellos("detection.bfd", s.Detection.BFD, t.BFD, t.BFDInterval, t.BFDMultiplier)
	if t.BFD {
		l.bfdEnds(t)
		l.Add("detection.bfd.jitter", setting.Number(t.BFDJitter), s.Detection.BFD != nil && s.Detection.BFD.Jitter != nil)
	}
	l.hellos("detection.hello", s.Detection.Hello, t.Hello, t.HelloInterval, t.HelloMultiplier)
	if t.Hello {
		l.Add("detection.hello.jitter", setting.Number(t.HelloJitter), s.Detection.Hello != nil && s.Detection.Hello.Jitter != nil)
		l.Add("detection.hello.three_way", setting.Yes(t.ThreeWay), s.Detection.Hello != nil && s.Detection.Hello.ThreeWay != nil)
	}
	l.damping(s.Detection.Damping, t.Damping)
	l.Time("flooding.per_hop", t.PerHop, s.Flooding.PerHop != nil)
	if !t.Window.On {
		l.Time("flooding.exchange", t.Exchange, s.Flooding.Exchange != nil)
	}
	if t.Pacing {
		l.Add("flooding.pacing.burst", setting.Whole(t.PacingBurst), true)
		l.Time("flooding.pacing.interval", t.PacingInterval, true)
	} else {
		l.Add("flooding.pacing", "false", s.Flooding.Pacing != nil)
	}
	l.window(s.Flooding.Window, t.Window)
	if r := s.Flooding.Reduced; t.FloodingDegree > 0 {
		l.Add("flooding.reduced.degree", setting.Whole(t.FloodingDegree), r.Degree != nil)
		l.Time("flooding.reduced.redraw", t.Redraw, r.Redraw != nil)
	} else {
		l.Add("flooding.reduced", "false", r != nil)
	}
	l.Add("flooding.lossy", setting.Yes(t.Lossy), s.Flooding.Lossy != nil)
	l.Add("flooding.second_lsp_counts", setting.Yes(t.SecondLSPCounts), s.Flooding.SecondLSPCounts != nil)
	l.Time("fib.base", t.FIBBase, s.FIB.Base != nil)
	l.Time("fib.per_prefix", t.FIBPerPrefix, s.FIB.PerPrefix != nil)
	l.Add("fib.local_prune", setting.Yes(t.LocalPrune), s.FIB.LocalPrune != nil)
	l.Time("fib.prune_delay", t.PruneDelay, s.FIB.PruneDelay != nil)
	l.Add("fib.prefixes", setting.Whole(int(t.Prefixes)), s.FIB.Prefixes != nil)
	if !transport { // which says both
		l.Add("fib.families", given.Or(s.FIB.Families, scenarios.IPv4).String(), s.FIB.Families != nil)
		l.Add("fib.labels", setting.Whole(given.Or(s.FIB.Labels, 0)), s.FIB.Labels != nil)
	}
	l.Add("fib.shared_groups", setting.Yes(t.SharedGroups), s.FIB.SharedGroups != nil)
	l.Add("fib.repair_tunnel", setting.Yes(t.RepairTunnel), s.FIB.RepairTunnel != nil)
	l.Time("fib.local_delay", t.LocalDelay, s.FIB.LocalDelay != nil)
	if t.Ordered {
		l.Time("fib.ordered.hold", t.OrderHold, s.FIB.Ordered.Hold != nil)
		l.Time("fib.ordered.step", t.OrderStep, s.FIB.Ordered.Step != nil)
	} else {
		l.Add("fib.ordered", "false", s.FIB.Ordered != nil)
	}
	l.Add("overload.leaves", setting.Yes(t.OverloadLeaves), s.Overload.Leaves != nil)
	l.Add("overload.until_ready", setting.Yes(t.UntilReady), s.Overload.UntilReady != nil)
	l.Time("restart.grace", t.Grace, s.Restart.Grace != nil)
}

// bfdEnds adds how BFD differs from tier to tier. All of it was typed.
func (l *lister) bfdEnds(t *timer.Set) {
	if t.BFDReceive > 0 {
		l.Time("detection.bfd.receive", t.BFDReceive, true)
	}
	for i, e := range t.BFDAt[:3] {
		at := "detection.bfd.at." + fabric.Class(i).String()
		if e.Transmit > 0 {
			l.Time(at+".interval", e.Transmit, true)
		}
		if e.Receive > 0 {
			l.Time(at+".receive", e.Receive, true)
		}
		if e.Multiplier > 0 {
			l.Add(at+".multiplier", setting.Whole(e.Multiplier), true)
		}
	}
}

// window adds how LSPs go out on one interface.
func (l *lister) window(g *control.Window, w timer.Window) {
	if !w.On {
		l.Add("flooding.window", "false", g != nil)
		return
	}
	at := "flooding.window."
	l.Add(at+"burst", setting.Whole(w.Burst), g.Burst != nil)
	l.Time(at+"interval", w.Interval, g.Interval != nil)
	l.Add(at+"receive", setting.Whole(w.Receive), g.Receive != nil)
	l.Add(at+"per_ack", setting.Whole(w.PerAck), g.PerAck != nil)
	l.Time(at+"ack_delay", w.AckDelay, g.AckDelay != nil)
}

// damping adds how links that go down again and again are kept out of use.
func (l *lister) damping(g *control.Damping, d timer.Damping) {
	if !d.On {
		l.Add("detection.damping", "false", g != nil)
		return
	}
	at := "detection.damping."
	l.Add(at+"increment", setting.Number(d.Increment), g.Increment != nil)
	l.Add(at+"cut_off", setting.Number(d.CutOff), g.CutOff != nil)
	l.Add(at+"reuse", setting.Number(d.Reuse), g.Reuse != nil)
	l.Time(at+"half_life", d.HalfLife, g.HalfLife != nil)
	l.Time(at+"hold", d.Hold, g.Hold != nil)
}

func (l *lister) hellos(path string, given *scenarios.Hellos, on bool, interval int64, multiplier int) {
	if !on {
		l.Add(path, "false", true)
		return
	}
	if given == nil {
		given = &scenarios.Hellos{}
	}
	l.Time(path+".interval", interval, given.Interval != nil)
	l.Add(path+".multiplier", setting.Whole(multiplier), given.Multiplier != nil)
}
