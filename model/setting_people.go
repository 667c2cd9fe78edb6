package model

import (
	"fmt"
	"reflect"

	"halflight/model/chance"
	"halflight/model/operation"
	"halflight/model/traffic"
	"halflight/scenarios"
)

func (l *lister) traffic() {
	s, w := l.b.s, l.b.w
	l.add("traffic.load", number(w.Traffic.Load), s.Traffic.Load != nil)
	l.add("traffic.busiest", number(w.Traffic.Busiest), s.Traffic.Busiest != nil)
	if len(w.Classes) == 0 {
		l.add("applications", "[]", true)
	}
	for i := range w.Classes {
		c, g := &w.Classes[i], &scenarios.Request{}
		if s.ApplicationsGiven {
			g = s.Applications[i].Request
		}
		at := fmt.Sprintf("applications.%d.", i)
		l.add(at+"name", quoted(c.Name), s.ApplicationsGiven)
		at += "request."
		l.add(at+"packets", whole(c.Packets), g.Packets != nil)
		sizes := c.Sizes
		if reflect.DeepEqual(sizes, traffic.Even(c.Bytes)) {
			sizes = chance.Constant(c.Bytes)
		}
		l.law(at+"bytes", sizes, number, g.Bytes != nil)
		l.add(at+"fan_out", whole(c.FanOut), g.FanOut != nil)
		l.time(at+"time_out", c.TimeOut, g.TimeOut != nil)
		l.add(at+"budget", number(c.Budget), g.Budget != nil)
	}
}

func (l *lister) telemetry() {
	list, complaints := l.b.w.Operation.Instruments, false
	for i := range list {
		t := &list[i]
		given := l.typed(t.Name)
		at := fmt.Sprintf("telemetry.%d.", i)
		l.add(at+"name", quoted(t.Name), given != nil)
		if given == nil {
			given = &scenarios.Instrument{}
		}
		switch at += t.Kind.String() + "."; t.Kind {
		case operation.Polling:
			l.polling(at, t, given.Polling)
		case operation.Probes:
			l.probes(at, t, given.Probes)
		default:
			complaints = true
			l.complaints(at, t, given.Complaints)
		}
	}
	if !complaints {
		at := fmt.Sprintf("telemetry.%d.", len(list))
		l.add(at+"name", l.offName(), true)
		l.add(at+"complaints", "false", true)
	}
}

// typed returns the instrument of the scenario with a name, nil when it is none.
func (l *lister) typed(name string) *scenarios.Instrument {
	for i := range l.b.s.Telemetry {
		if l.b.s.Telemetry[i].Name == name {
			return &l.b.s.Telemetry[i]
		}
	}
	return nil
}

// offName is the name under which complaints were switched off.
func (l *lister) offName() string {
	for _, t := range l.b.s.Telemetry {
		if t.Complaints != nil {
			return quoted(t.Name)
		}
	}
	panic("model: complaints are off and nobody switched them off")
}

func (l *lister) polling(at string, t *operation.Instrument, g *scenarios.Polling) {
	if g == nil {
		g = &scenarios.Polling{}
	}
	l.time(at+"every", t.Every, g.Every != nil)
	l.add(at+"threshold", number(t.Threshold), g.Threshold != nil)
	l.add(at+"in_a_row", whole(t.InARow), g.InARow != nil)
	l.add(at+"wrong_link", number(t.WrongLink), g.WrongLink != nil)
}

func (l *lister) probes(at string, t *operation.Instrument, g *scenarios.Probes) {
	l.add(at+"rate", rateText(t.Rate), g.Rate != nil)
	for i, size := range t.Sizes {
		l.add(fmt.Sprintf("%ssizes.%d", at, i), number(size), g.Sizes != nil)
	}
	ports := "fixed"
	if t.PortsVaried {
		ports = "varied"
	}
	l.add(at+"ports", ports, g.PortsVaried != nil)
	l.time(at+"time_out", t.TimeOut, g.TimeOut != nil)
	if t.InARow > 0 {
		l.add(at+"in_a_row", whole(t.InARow), g.InARow != nil)
	} else {
		l.add(at+"false_alarms", rateText(t.FalseAlarms), true)
	}
	l.add(at+"wrong_link", number(t.WrongLink), g.WrongLink != nil)
}

func (l *lister) complaints(at string, t *operation.Instrument, g *scenarios.Complaints) {
	if g == nil {
		g = &scenarios.Complaints{}
	}
	l.add(at+"rate", rateText(t.Rate), g.Rate != nil)
	l.add(at+"threshold", number(t.Threshold), g.Threshold != nil)
	l.add(at+"at_most", rateText(t.RateMax), g.AtMost != nil)
}

func (l *lister) operations() {
	s, p := &l.b.s.Operations, &l.b.w.Operation
	switch {
	case p.Automatic:
		l.add("operations.reaction", "automatic", true)
	case reflect.DeepEqual(p.Reaction, operation.Reaction(false)):
		l.add("operations.reaction", "human", s.Reaction != nil)
	default:
		l.law("operations.reaction", p.Reaction, timeText, true)
	}
	l.add("operations.floor", number(p.Floor), s.Floor != nil)
	l.time("operations.soak", p.SoakTime, s.Soak != nil)
	crew := "unlimited"
	if p.Crew > 0 {
		crew = whole(p.Crew)
	}
	l.add("operations.crew", crew, s.Crew != nil)
	g := s.FirstRepair
	if g == nil {
		g = &scenarios.FirstRepair{}
	}
	l.add("operations.first_repair.blind", number(p.FirstBlind), g.Blind != nil)
	l.add("operations.first_repair.guided", number(p.FirstGuided), g.Guided != nil)
}
