package model

import (
	"fmt"

	"halflight/model/chance"
	"halflight/model/failure"
	"halflight/model/setting"
	"halflight/scenarios"
)

func (l *lister) failures() {
	if !l.b.w.Random {
		return
	}
	if len(l.b.w.Modes) == 0 {
		l.Add("failures", "[]", true)
	}
	for i := range l.b.w.Modes {
		m := &l.b.w.Modes[i]
		from := len(l.Settings)
		g := l.failure(m.Name)
		l.mode(fmt.Sprintf("failures.%d.", i), m, g)
		l.credit(from, m)
	}
}

// failure returns the failure of the scenario with a name; one with nothing
// given when it is of the default set.
func (l *lister) failure(name string) *scenarios.Failure {
	for i := range l.b.s.Failures {
		if l.b.s.Failures[i].Name == name {
			return &l.b.s.Failures[i]
		}
	}
	return &scenarios.Failure{}
}

// credit gives the settings of a mode, from one on, the source and grade of the
// mode: its rate always, which counts as one input of the study, and what else
// the user gave. The rest keeps its own notes and counts as no input.
func (l *lister) credit(from int, m *failure.Mode) {
	source := m.Source
	if source == "" {
		source = m.Note
	}
	rated := false
	for i := from; i < len(l.Settings); i++ {
		s := &l.Settings[i]
		rate := setting.Matches("failures.*.life", s.Path) || setting.Matches("failures.*.episodes", s.Path)
		switch {
		case rate && !rated:
			s.Source, s.Grade, s.Range, s.Wide, rated = source, m.Grade, m.Range, m.Wide, true
			continue
		case rate || s.Given && !structural(s.Path):
			s.Source, s.Grade = source, m.Grade
		}
		s.Wide = -1
	}
}

// structural says whether a setting of a mode is no number that could have a
// source.
func structural(path string) bool {
	for _, key := range []string{"name", "on", "kind", "start", "light", "members", "note", "grade"} {
		if setting.Matches("failures.*."+key, path) {
			return true
		}
	}
	return false
}

func (l *lister) mode(at string, m *failure.Mode, g *scenarios.Failure) {
	given := g.Name != ""
	l.Add(at+"name", setting.Quoted(m.Name), given)
	on := m.On.String()
	if m.On == failure.OnGroup {
		on += ":" + m.Group
	}
	l.Add(at+"on", setting.Quoted(on), given)
	l.Add(at+"kind", m.Kind.String(), given)
	l.life(at, m, g)
	if m.Kind <= failure.Flapping && !(m.Kind == failure.Flapping && m.Lead.Zero() && m.HandsOn.Zero()) {
		r := g.Repair
		if r == nil {
			r = &scenarios.Repair{}
		}
		l.Law(at+"repair.lead", m.Lead, setting.Time, g.Repair != nil)
		l.Law(at+"repair.hands_on", m.HandsOn, setting.Time, g.Repair != nil)
	}
	l.condition(at, m, g)
	if m.Ports > 0 {
		l.Add(at+"members", setting.Whole(m.Ports), g.Members != nil)
	}
	note := m.Note
	if note == "" {
		note = m.Source
	}
	if note != "" {
		l.Add(at+"note", setting.Quoted(note), g.Note != "")
	}
	if m.Grade != "" {
		l.Add(at+"grade", m.Grade, g.Grade != "")
	}
}

func (l *lister) life(at string, m *failure.Mode, g *scenarios.Failure) {
	text, short := setting.ShortRate(m.EpisodesPerDay/86400, "d")
	if rate, ok := setting.RateOf(text); m.Kind == failure.Flapping && m.Life.Family == chance.Exponential && short && ok && failure.Episodes(rate).Scale == m.Life.Scale {
		l.Add(at+"episodes", text, g.Episodes != nil || g.Life != nil)
	} else {
		l.Law(at+"life", m.Life, setting.Time, g.Life != nil || g.Episodes != nil)
	}
	start := "aged"
	if !m.Aged {
		start = "new"
	}
	l.Add(at+"start", start, g.New != nil)
	if g.Frailty == nil {
		g = &scenarios.Failure{Frailty: &scenarios.Frailty{}}
	}
	l.frailty(at+"frailty.unit", m.Frailty, g.Frailty.Unit != nil)
	l.frailty(at+"frailty.batch", m.BatchFrailty, g.Frailty.Batch != nil)
}

func (l *lister) frailty(path string, w chance.Law, given bool) {
	if w.Family == chance.Lognormal {
		l.Add(path+".lognormal.sigma", setting.Number(w.Shape), given)
	}
}

func (l *lister) condition(at string, m *failure.Mode, g *scenarios.Failure) {
	switch m.Kind {
	case failure.Hard:
		l.Add(at+"light", setting.Yes(m.Light == 1), g.Light != nil)
		if m.Light == 1 && m.Routers() {
			l.plane(at, m.Control, g.Plane != nil)
		}
	case failure.Lossy, failure.Silent:
		l.Law(at+"loss", m.Loss, setting.Number, g.Loss != nil)
		if m.Burst > 0 {
			l.Add(at+"burst.length", setting.Number(m.Burst), true)
			l.Add(at+"burst.bad", setting.Number(m.BurstLoss), g.Burst.Bad != nil)
		}
	case failure.Blackhole:
		l.Law(at+"share", m.Share, setting.Number, g.Share != nil)
	case failure.Oversize:
		l.Add(at+"above", setting.Number(m.Above), g.Above != nil)
	case failure.Flapping:
		l.Law(at+"flaps", m.Flaps, setting.Number, g.Flaps != nil)
		l.Law(at+"down", m.Down, setting.Time, g.Down != nil)
		l.Law(at+"gap", m.Gap, setting.Time, g.Gap != nil)
	case failure.Restart:
		l.Law(at+"down", m.Down, setting.Time, g.Down != nil)
		l.Add(at+"kept", setting.Yes(m.Kept), g.Kept != nil)
	case failure.Slow:
		l.Law(at+"factor", m.Factor, setting.Number, g.Factor != nil)
		l.Law(at+"lasts", m.Lasts, setting.Time, g.Lasts != nil)
	case failure.Unwritten:
		l.Law(at+"share", m.Share, setting.Number, g.Share != nil)
		l.Law(at+"lasts", m.Lasts, setting.Time, g.Lasts != nil)
	}
	if m.Drift > 0 {
		d := g.Drift
		if d == nil {
			d = &scenarios.Drift{}
		}
		l.Add(at+"drift.share", setting.Number(m.Drift), d.Share != nil)
		l.Law(at+"drift.over", m.DriftOver, setting.Time, d.Over != nil)
	}
	if m.Kind.Gray() && !m.Routers() {
		l.Add(at+"one_way", setting.Number(m.OneWay), g.OneWay != nil)
	}
}

// plane adds which plane of a hung router does not work.
func (l *lister) plane(at string, control, given bool) {
	plane := scenarios.DataPlane
	if control {
		plane = scenarios.ControlPlane
	}
	l.Add(at+"plane", plane.String(), given)
}

// script adds the timed faults. All of it was typed.
func (l *lister) script() {
	for i := range l.b.s.Script {
		e, f := &l.b.s.Script[i], &l.b.w.Script[i]
		l.event(fmt.Sprintf("script.%d.", i), e, f)
	}
}

func (l *lister) event(at string, e *scenarios.Event, f *failure.Scripted) {
	l.Time(at+"at", int64(e.At), true)
	l.Add(at+"on", setting.Quoted(f.On), true)
	l.Add(at+"kind", f.Kind.String(), true)
	if e.For != nil {
		l.Time(at+"for", int64(*e.For), true)
	}
	switch f.Kind {
	case failure.Hard:
		if e.Light != nil {
			l.Add(at+"light", setting.Yes(f.Light), true)
		}
		if e.Plane != nil {
			l.plane(at, f.Control, true)
		}
	case failure.Lossy, failure.Silent:
		l.Add(at+"loss", setting.Number(f.Loss), true)
	case failure.Blackhole, failure.Unwritten:
		l.Add(at+"share", setting.Number(f.Share), true)
	case failure.Restart:
		if e.Kept != nil {
			l.Add(at+"kept", setting.Yes(f.Kept), true)
		}
	case failure.Slow:
		l.Add(at+"factor", setting.Number(f.Factor), true)
	case failure.Oversize:
		l.Add(at+"above", setting.Number(f.Above), true)
	case failure.Flapping:
		for j, c := range e.Changes {
			l.Time(fmt.Sprintf("%schanges.%d", at, j), int64(c), true)
		}
		if len(e.Changes) == 0 {
			l.Time(at+"period", int64(*e.Period), true)
			l.Time(at+"off", int64(*e.Off), true)
		}
	}
}
