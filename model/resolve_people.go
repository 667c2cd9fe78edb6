package model

import (
	"fmt"
	"reflect"

	"halflight/model/chance"
	"halflight/model/operation"
	"halflight/model/setting"
	"halflight/model/traffic"
	"halflight/scenarios"
)

func (l *lister) traffic() {
	s, w := l.b.s, l.b.w
	l.Add("traffic.load", setting.Number(w.Traffic.Load), s.Traffic.Load != nil)
	l.Add("traffic.busiest", setting.Number(w.Traffic.Busiest), s.Traffic.Busiest != nil)
	if len(w.Classes) == 0 {
		l.Add("applications", "[]", true)
	}
	for i := range w.Classes {
		c, g := &w.Classes[i], &scenarios.Request{}
		if s.ApplicationsGiven {
			g = s.Applications[i].Request
		}
		at := fmt.Sprintf("applications.%d.", i)
		l.Add(at+"name", setting.Quoted(c.Name), s.ApplicationsGiven)
		at += "request."
		l.Add(at+"packets", setting.Whole(c.Packets), g.Packets != nil)
		sizes := c.Sizes
		if reflect.DeepEqual(sizes, traffic.Even(c.Bytes)) {
			sizes = chance.Constant(c.Bytes)
		}
		l.Law(at+"bytes", sizes, setting.Number, g.Bytes != nil)
		l.Add(at+"fan_out", setting.Whole(c.FanOut), g.FanOut != nil)
		l.Time(at+"time_out", c.TimeOut, g.TimeOut != nil)
		l.Add(at+"budget", setting.Number(c.Budget), g.Budget != nil)
	}
}

func (l *lister) telemetry() {
	list, complaints := l.b.w.Operation.Instruments, false
	for i := range list {
		t := &list[i]
		given := l.typed(t.Name)
		at := fmt.Sprintf("telemetry.%d.", i)
		l.Add(at+"name", setting.Quoted(t.Name), given != nil)
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
		l.Add(at+"name", l.offName(), true)
		l.Add(at+"complaints", "false", true)
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
			return setting.Quoted(t.Name)
		}
	}
	panic("model: complaints are off and nobody switched them off")
}

func (l *lister) polling(at string, t *operation.Instrument, g *scenarios.Polling) {
	if g == nil {
		g = &scenarios.Polling{}
	}
	l.Time(at+"every", t.Every, g.Every != nil)
	l.Add(at+"threshold", setting.Number(t.Threshold), g.Threshold != nil)
	l.Add(at+"in_a_row", setting.Whole(t.InARow), g.InARow != nil)
	l.Add(at+"wrong_link", setting.Number(t.WrongLink), g.WrongLink != nil)
}

func (l *lister) probes(at string, t *operation.Instrument, g *scenarios.Probes) {
	l.Add(at+"rate", setting.Rate(t.Rate), g.Rate != nil)
	for i, size := range t.Sizes {
		l.Add(fmt.Sprintf("%ssizes.%d", at, i), setting.Number(size), g.Sizes != nil)
	}
	ports := "fixed"
	if t.PortsVaried {
		ports = "varied"
	}
	l.Add(at+"ports", ports, g.PortsVaried != nil)
	l.Time(at+"time_out", t.TimeOut, g.TimeOut != nil)
	if t.InARow > 0 {
		l.Add(at+"in_a_row", setting.Whole(t.InARow), g.InARow != nil)
	} else {
		l.Add(at+"false_alarms", setting.Rate(t.FalseAlarms), true)
	}
	l.Add(at+"wrong_link", setting.Number(t.WrongLink), g.WrongLink != nil)
}

func (l *lister) complaints(at string, t *operation.Instrument, g *scenarios.Complaints) {
	if g == nil {
		g = &scenarios.Complaints{}
	}
	l.Add(at+"rate", setting.Rate(t.Rate), g.Rate != nil)
	l.Add(at+"threshold", setting.Number(t.Threshold), g.Threshold != nil)
	l.Add(at+"at_most", setting.Rate(t.RateMax), g.AtMost != nil)
}

func (l *lister) operations() {
	s, p := &l.b.s.Operations, &l.b.w.Operation
	switch {
	case p.Automatic:
		l.Add("operations.reaction", "automatic", true)
	case reflect.DeepEqual(p.Reaction, operation.Reaction(false)):
		l.Add("operations.reaction", "human", s.Reaction != nil)
	default:
		l.Law("operations.reaction", p.Reaction, setting.Time, true)
	}
	l.Add("operations.floor", setting.Number(p.Floor), s.Floor != nil)
	l.Time("operations.soak", p.SoakTime, s.Soak != nil)
	crew := "unlimited"
	if p.Crew > 0 {
		crew = setting.Whole(p.Crew)
	}
	l.Add("operations.crew", crew, s.Crew != nil)
	g := s.FirstRepair
	if g == nil {
		g = &scenarios.FirstRepair{}
	}
	l.Add("operations.first_repair.blind", setting.Number(p.FirstBlind), g.Blind != nil)
	l.Add("operations.first_repair.guided", setting.Number(p.FirstGuided), g.Guided != nil)
}

// objectives lists what figures are held against, as typed: they decide nothing
// of what happens.
func (l *lister) objectives() {
	for i, o := range l.b.s.Objectives {
		at := fmt.Sprintf("objectives.%d.", i)
		l.Add(at+"measure", setting.Quoted(o.Measure), true)
		if o.AtMost != nil {
			l.Add(at+"at_most", o.AtMost.Text, true)
		}
		if o.AtLeast != nil {
			l.Add(at+"at_least", o.AtLeast.Text, true)
		}
		if o.Confidence != nil {
			l.Add(at+"confidence", setting.Number(*o.Confidence), true)
		}
	}
}
