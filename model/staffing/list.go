package staffing

import (
	"fmt"
	"reflect"

	"halflight/model/chance"
	"halflight/model/operation"
	"halflight/model/setting"
	"halflight/scenarios"
	"halflight/scenarios/operator"
)

// lister lists the settings of one instrument.
type lister struct {
	*setting.List
	at string
}

func (l lister) span(key string, ns int64, given bool) { l.Time(l.at+key, ns, given) }
func (l lister) number(key string, v float64, given bool) {
	l.Add(l.at+key, setting.Number(v), given)
}
func (l lister) whole(key string, v int, given bool)    { l.Add(l.at+key, setting.Whole(v), given) }
func (l lister) rate(key string, v float64, given bool) { l.Add(l.at+key, setting.Rate(v), given) }

// List lists what watches, who acts and who repairs.
func List(l *setting.List, s *scenarios.Scenario, p *operation.Plan) {
	complaints := false
	for i := range p.Instruments {
		t := &p.Instruments[i]
		complaints = complaints || t.Kind == operation.Complaints
		given := named(s.Telemetry, t.Name)
		at := fmt.Sprintf("telemetry.%d.", i)
		l.Add(at+"name", setting.Quoted(t.Name), given != nil)
		if given == nil {
			given = &scenarios.Instrument{}
		}
		if t.From >= 0 {
			l.Time(at+"from", t.From, true)
		}
		l.Add(at+"yearly_cost", setting.Number(t.YearlyCost), given.YearlyCost != nil)
		lister{l, at + t.Kind.String() + "."}.instrument(t, given)
	}
	if !complaints {
		at := fmt.Sprintf("telemetry.%d.", len(p.Instruments))
		l.Add(at+"name", offName(s), true)
		l.Add(at+"complaints", "false", true)
	}
	operations(l, &s.Operations, p)
}

// offName is the name under which complaints were switched off.
func offName(s *scenarios.Scenario) string {
	for _, t := range s.Telemetry {
		if t.Complaints != nil {
			return setting.Quoted(t.Name)
		}
	}
	panic("staffing: complaints are off and nobody switched them off")
}

func (l lister) instrument(t *operation.Instrument, g *scenarios.Instrument) {
	switch t.Kind {
	case operation.Polling:
		p := orNew(g.Polling)
		l.span("every", t.Every, p.Every != nil)
		l.number("threshold", t.Threshold, p.Threshold != nil)
		l.whole("in_a_row", t.InARow, p.InARow != nil)
		l.alarms(t, p.FalseAlarms != nil)
		l.number("wrong_link", t.WrongLink, p.WrongLink != nil)
	case operation.Probes:
		l.probes(t, g.Probes)
	case operation.Hosts:
		p := g.Hosts
		l.span("every", t.Every, p.Every != nil)
		l.number("sample", t.Sample, p.Sample != nil)
		l.alarms(t, p.FalseAlarms != nil)
		l.number("missed", t.Missed, p.Missed != nil)
		l.number("wrong_link", t.WrongLink, p.WrongLink != nil)
	case operation.Drops:
		p := g.Drops
		l.span("every", t.Every, p.Every != nil)
		l.alarms(t, p.FalseAlarms != nil)
		l.number("silent", t.Silent, p.Silent != nil)
		l.number("holes", t.Holes, p.Holes != nil)
		l.number("missed", t.Missed, p.Missed != nil)
		l.number("wrong_link", t.WrongLink, p.WrongLink != nil)
	case operation.Optics:
		p := g.Optics
		l.span("every", t.Every, p.Every != nil)
		l.number("threshold", t.Threshold, p.Threshold != nil)
		l.whole("in_a_row", t.InARow, p.InARow != nil)
		l.alarms(t, p.FalseAlarms != nil)
		l.number("wrong_link", t.WrongLink, p.WrongLink != nil)
	default:
		p := orNew(g.Complaints)
		l.rate("rate", t.Rate, p.Rate != nil)
		l.number("threshold", t.Threshold, p.Threshold != nil)
		l.rate("at_most", t.RateMax, p.AtMost != nil)
	}
}

func orNew[T any](p *T) *T {
	if p == nil {
		return new(T)
	}
	return p
}

// alarms lists false alarms, if there are any.
func (l lister) alarms(t *operation.Instrument, given bool) {
	if t.FalseAlarms > 0 {
		l.rate("false_alarms", t.FalseAlarms, given)
	}
}

func (l lister) probes(t *operation.Instrument, g *operator.Probes) {
	l.rate("rate", t.Rate, g.Rate != nil)
	for i, size := range t.Sizes {
		l.number(fmt.Sprintf("sizes.%d", i), size, g.Sizes != nil)
	}
	l.Add(l.at+"ports", [2]string{"fixed", "varied"}[index(t.PortsVaried)], g.PortsVaried != nil)
	l.Add(l.at+"between", [2]string{"routers", "leaves"}[index(t.Pairs)], g.Pairs != nil)
	if t.Pairs && !t.PortsVaried {
		l.whole("flows", t.Flows, g.Flows != nil)
	}
	l.span("time_out", t.TimeOut, g.TimeOut != nil)
	if t.InARow > 0 {
		l.whole("in_a_row", t.InARow, g.InARow != nil)
	} else {
		l.rate("false_alarms", t.FalseAlarms, true)
		l.whole("window", t.Window, g.Window != nil)
	}
	l.number("wrong_link", t.WrongLink, g.WrongLink != nil)
}

func index(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// acts lists how long somebody takes to act.
func acts(l *setting.List, path string, g *operator.Reaction, takes chance.Law) {
	switch {
	case g != nil && g.Who == operator.Automatic:
		l.Add(path, "automatic", true)
	case reflect.DeepEqual(takes, operation.Reaction(false)):
		l.Add(path, "human", g != nil)
	default:
		l.Law(path, takes, setting.Time, true)
	}
}

func operations(l *setting.List, s *scenarios.Operations, p *operation.Plan) {
	acts(l, "operations.reaction", s.Reaction, p.Reaction)
	l.Add("operations.floor", setting.Number(p.Floor), s.Floor != nil)
	l.Time("operations.soak", p.SoakTime, s.Soak != nil)
	for i, h := range p.Shifts {
		at := fmt.Sprintf("operations.shifts.%d.", i)
		l.Time(at+"from", h.From, true)
		l.Time(at+"to", h.To, true)
		l.Add(at+"crew", setting.Whole(h.Crew), true)
	}
	if len(p.Shifts) == 0 {
		crew := "unlimited"
		if p.Crew > 0 {
			crew = setting.Whole(p.Crew)
		}
		l.Add("operations.crew", crew, s.Crew != nil)
	}
	g := orNew(s.FirstRepair)
	l.Add("operations.first_repair.blind", setting.Number(p.FirstBlind), g.Blind != nil)
	l.Add("operations.first_repair.guided", setting.Number(p.FirstGuided), g.Guided != nil)
	if p.Replace.Tickets > 0 {
		l.Add("operations.replace.tickets", setting.Whole(p.Replace.Tickets), true)
		l.Time("operations.replace.within", p.Replace.Within, s.Replace.Within != nil)
	}
	planned(l, s, p)
}

// ListPrices lists prices.
func ListPrices(l *setting.List, s *scenarios.Scenario, p *operation.Prices, classes []string) {
	c := &s.Costs
	l.Add("costs.currency", setting.Quoted(p.Currency), true) // a label: no input
	for i, name := range classes {
		given := false
		for _, g := range c.DegradedLeafHour {
			given = given || g.Class == name
		}
		l.Add("costs.degraded_leaf_hour."+name, setting.Number(p.DegradedLeafHour[i]), given)
	}
	l.Add("costs.technician_hour", setting.Number(p.TechnicianHour), c.TechnicianHour != nil)
	l.Add("costs.visit", setting.Number(p.Visit), c.Visit != nil)
	l.Add("costs.optic", setting.Number(p.Optic), c.Optic != nil)
	l.Add("costs.port", setting.Number(p.Port), c.Port != nil)
	l.Add("costs.leaf", setting.Number(p.Leaf), c.Leaf != nil)
}
