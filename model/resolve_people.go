package model

import (
	"fmt"

	"halflight/model/setting"
	"halflight/model/work"
)

func (l *lister) traffic() {
	s, w := l.b.s, l.b.w
	l.Add("traffic.load", setting.Number(w.Traffic.Load), s.Traffic.Load != nil)
	if w.Traffic.Congestion { // else it decides nothing
		l.Settings[len(l.Settings)-1].Wide = 8
	}
	l.Add("traffic.busiest", setting.Number(w.Traffic.Busiest), s.Traffic.Busiest != nil)
	if w.Traffic.Servers > 0 {
		l.Add("traffic.servers", setting.Whole(w.Traffic.Servers), true)
	}
	l.external()
	if w.Traffic.Congestion {
		l.Add("traffic.congestion", setting.Yes(true), true)
	}
	work.List(&l.List, s, w.Classes)
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
