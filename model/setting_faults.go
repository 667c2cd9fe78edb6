package model

import (
	"fmt"

	"halflight/model/chance"
	"halflight/model/failure"
	"halflight/scenarios"
)

func (l *lister) failures() {
	if !l.b.w.Random {
		return
	}
	if len(l.b.w.Modes) == 0 {
		l.add("failures", "[]", true)
	}
	for i := range l.b.w.Modes {
		m := &l.b.w.Modes[i]
		from := len(l.list)
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
	for i := from; i < len(l.list); i++ {
		s := &l.list[i]
		rate := matches("failures.*.life", s.Path) || matches("failures.*.episodes", s.Path)
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
		if matches("failures.*."+key, path) {
			return true
		}
	}
	return false
}

func (l *lister) mode(at string, m *failure.Mode, g *scenarios.Failure) {
	given := g.Name != ""
	l.add(at+"name", quoted(m.Name), given)
	on := m.On.String()
	if m.On == failure.OnGroup {
		on += ":" + m.Group
	}
	l.add(at+"on", quoted(on), given)
	l.add(at+"kind", m.Kind.String(), given)
	l.life(at, m, g)
	if m.Kind != failure.Restart && !(m.Kind == failure.Flapping && m.Lead.Zero() && m.HandsOn.Zero()) {
		r := g.Repair
		if r == nil {
			r = &scenarios.Repair{}
		}
		l.law(at+"repair.lead", m.Lead, timeText, g.Repair != nil)
		l.law(at+"repair.hands_on", m.HandsOn, timeText, g.Repair != nil)
	}
	l.condition(at, m, g)
	if m.Ports > 0 {
		l.add(at+"members", whole(m.Ports), g.Members != nil)
	}
	note := m.Note
	if note == "" {
		note = m.Source
	}
	if note != "" {
		l.add(at+"note", quoted(note), g.Note != "")
	}
	if m.Grade != "" {
		l.add(at+"grade", m.Grade, g.Grade != "")
	}
}

func (l *lister) life(at string, m *failure.Mode, g *scenarios.Failure) {
	text, short := shortRate(m.EpisodesPerDay/86400, "d")
	if rate, ok := rateOf(text); m.Kind == failure.Flapping && m.Life.Family == chance.Exponential && short && ok && failure.Episodes(rate).Scale == m.Life.Scale {
		l.add(at+"episodes", text, g.Episodes != nil || g.Life != nil)
	} else {
		l.law(at+"life", m.Life, timeText, g.Life != nil || g.Episodes != nil)
	}
	start := "aged"
	if !m.Aged {
		start = "new"
	}
	l.add(at+"start", start, g.New != nil)
	if g.Frailty == nil {
		g = &scenarios.Failure{Frailty: &scenarios.Frailty{}}
	}
	l.frailty(at+"frailty.unit", m.Frailty, g.Frailty.Unit != nil)
	l.frailty(at+"frailty.batch", m.BatchFrailty, g.Frailty.Batch != nil)
}

func (l *lister) frailty(path string, w chance.Law, given bool) {
	if w.Family == chance.Lognormal {
		l.add(path+".lognormal.sigma", number(w.Shape), given)
	}
}

func (l *lister) condition(at string, m *failure.Mode, g *scenarios.Failure) {
	switch m.Kind {
	case failure.Hard:
		l.add(at+"light", yes(m.Light == 1), g.Light != nil)
	case failure.Lossy, failure.Silent:
		l.law(at+"loss", m.Loss, number, g.Loss != nil)
		if m.Burst > 0 {
			l.add(at+"burst.length", number(m.Burst), true)
			l.add(at+"burst.bad", number(m.BurstLoss), g.Burst.Bad != nil)
		}
	case failure.Blackhole:
		l.law(at+"share", m.Share, number, g.Share != nil)
	case failure.Oversize:
		l.add(at+"above", number(m.Above), g.Above != nil)
	case failure.Flapping:
		l.law(at+"flaps", m.Flaps, number, g.Flaps != nil)
		l.law(at+"down", m.Down, timeText, g.Down != nil)
		l.law(at+"gap", m.Gap, timeText, g.Gap != nil)
	case failure.Restart:
		l.law(at+"down", m.Down, timeText, g.Down != nil)
	}
	if m.Kind.Gray() && !m.Routers() {
		l.add(at+"one_way", number(m.OneWay), g.OneWay != nil)
	}
}

// script adds the timed faults. All of it was typed.
func (l *lister) script() {
	for i := range l.b.s.Script {
		e, f := &l.b.s.Script[i], &l.b.w.Script[i]
		l.event(fmt.Sprintf("script.%d.", i), e, f)
	}
}

func (l *lister) event(at string, e *scenarios.Event, f *failure.Scripted) {
	l.time(at+"at", int64(e.At), true)
	l.add(at+"on", quoted(f.On), true)
	l.add(at+"kind", f.Kind.String(), true)
	if e.For != nil {
		l.time(at+"for", int64(*e.For), true)
	}
	switch f.Kind {
	case failure.Hard:
		if e.Light != nil {
			l.add(at+"light", yes(f.Light), true)
		}
		if e.Plane != nil {
			l.add(at+"plane", "data", true)
		}
	case failure.Lossy, failure.Silent:
		l.add(at+"loss", number(f.Loss), true)
	case failure.Blackhole:
		l.add(at+"share", number(f.Share), true)
	case failure.Oversize:
		l.add(at+"above", number(f.Above), true)
	case failure.Flapping:
		for j, c := range e.Changes {
			l.time(fmt.Sprintf("%schanges.%d", at, j), int64(c), true)
		}
		if len(e.Changes) == 0 {
			l.time(at+"period", int64(*e.Period), true)
			l.time(at+"off", int64(*e.Off), true)
		}
	}
}
