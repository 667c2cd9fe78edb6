package work

import (
	"fmt"
	"reflect"

	"halflight/model/chance"
	"halflight/model/setting"
	"halflight/model/traffic"
	"halflight/scenarios"
)

// List lists the classes of a scenario.
func List(l *setting.List, s *scenarios.Scenario, classes []traffic.Class) {
	if len(classes) == 0 {
		l.Add("applications", "[]", true)
	}
	for i := range classes {
		c, a := &classes[i], &scenarios.Application{}
		if s.ApplicationsGiven {
			a = &s.Applications[i]
		}
		at := fmt.Sprintf("applications.%d.", i)
		l.Add(at+"name", setting.Quoted(c.Name), s.ApplicationsGiven)
		if c.Flow != nil {
			flow(l, at, c, a)
			continue
		}
		g := a.Request
		if g == nil {
			g = &scenarios.Request{}
		}
		at += "request."
		l.Add(at+"packets", setting.Whole(c.Packets), g.Packets != nil)
		sizes := c.Sizes
		if reflect.DeepEqual(sizes, traffic.Even(c.Bytes)) {
			sizes = chance.Constant(c.Bytes)
		}
		l.Law(at+"bytes", sizes, setting.Number, g.Bytes != nil)
		l.Add(at+"fan_out", setting.Whole(c.FanOut), g.FanOut != nil)
		l.Time(at+"time_out", c.TimeOut, g.TimeOut != nil)
		if c.Deadline > 0 {
			l.Time(at+"deadline", c.Deadline, true)
			l.Add(at+"repath", setting.Yes(c.Repath), g.Repath != nil)
		}
		if c.TimeOuts > 0 {
			l.Add(at+"time_outs", setting.Whole(c.TimeOuts), true)
		}
		l.Add(at+"budget", setting.Number(c.Budget), g.Budget != nil)
		burn(l, at, c.Burn, g.Burn != nil)
	}
}

// flow lists a class of long flows.
func flow(l *setting.List, at string, c *traffic.Class, a *scenarios.Application) {
	g, key := a.Bulk, "bulk."
	if g == nil {
		g, key = a.Collective, "collective."
	}
	at += key
	f := c.Flow
	l.Add(at+"law", f.Law.String(), g.Law != nil)
	l.Time(at+"round_trip", int64(float64(f.RoundTrip*1e9)+0.5), g.RoundTrip != nil)
	l.Add(at+"segment", setting.Number(f.Segment), g.Segment != nil)
	l.Add(at+"rate", setting.Speed(f.Rate), g.Rate != nil)
	l.Add(at+"least", setting.Number(f.Least), g.Least != nil)
	l.Time(at+"time_out", c.TimeOut, g.TimeOut != nil)
	if a.Collective != nil {
		l.Add(at+"flows", setting.Whole(c.FanOut), g.Flows != nil)
	}
	l.Add(at+"budget", setting.Number(c.Budget), g.Budget != nil)
	burn(l, at, c.Burn, g.Burn != nil)
}

// burn lists the windows of an error budget.
func burn(l *setting.List, at string, list []traffic.Burn, given bool) {
	if len(list) == 0 {
		l.Add(at+"burn", "[]", given)
	}
	for i, b := range list {
		l.Time(fmt.Sprintf("%sburn.%d.window", at, i), b.Window, given)
		l.Add(fmt.Sprintf("%sburn.%d.rate", at, i), setting.Number(b.Rate), given)
	}
}
