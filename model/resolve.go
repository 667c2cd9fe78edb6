package model

import (
	"halflight/model/control"
	"halflight/model/setting"
	"halflight/model/staffing"
	"halflight/scenarios"
)

// Resolve lists every setting in force, in a fixed order: that of the language.
// It is of use only if Build has no problem with the scenario.
func Resolve(s *scenarios.Scenario) []setting.Setting {
	b := build(s)
	if len(b.problems) > 0 {
		return nil
	}
	l := &lister{b: b}
	l.study()
	l.fabric()
	control.ListTimers(&l.List, &s.Timers, &b.w.Timers, l.mixed)
	control.List(&l.List, s, &b.w.Timers, b.w.Transport.On)
	l.groups()
	l.traffic()
	control.ListHosts(&l.List, s, &b.w.Hosts)
	l.transport()
	l.homing()
	staffing.List(&l.List, b.s, &b.w.Operation)
	staffing.ListPrices(&l.List, b.s, &b.w.Prices, names(b.w.Classes))
	l.failures()
	l.script()
	l.objectives()
	l.Keys()
	return l.Settings
}

// lister lists the settings of a World.
type lister struct {
	setting.List
	b *builder
}
