package model

import (
	"fmt"

	"halflight/model/control"
	"halflight/model/fabric"
	"halflight/model/setting"
	"halflight/model/timer"
	"halflight/scenarios"
)

// Mixed is another SPF back-off of some routers of the area (RFC 8405, section 7).
type Mixed struct {
	On      string // a tier, a router, or group:NAME
	Routers []int32
	SPF     timer.SPF
}

// mixed resolves which routers have another SPF back-off.
func (b *builder) mixed() {
	for i := range b.s.Mixed {
		s, path := &b.s.Mixed[i], fmt.Sprintf("timers.mixed.%d", i)
		if s.SPF == nil {
			continue // refused by scenarios
		}
		m := Mixed{SPF: control.SPF(s.SPF)}
		control.CheckSPF(path+".spf.", &m.SPF, b.bad)
		switch {
		case s.Tier != scenarios.NoTarget:
			class := fabric.Class(s.Tier - scenarios.OnLeaf)
			m.On = class.String()
			for x := range b.w.Fabric.Routers {
				if b.w.Fabric.Routers[x].Class == class {
					m.Routers = append(m.Routers, int32(x))
				}
			}
		case s.Part.Class == scenarios.GroupPart:
			g := b.group(s.Part.Group)
			if g == nil || len(g.Links)+len(g.Directions) > 0 {
				b.bad(path+".on", fmt.Sprintf("there is no group %q of routers alone", s.Part.Group))
				continue
			}
			m.On, m.Routers = "group:"+g.Name, g.Routers
		default:
			found, ok := b.find(path+".on", s.Part)
			if !ok {
				continue
			}
			m.On, m.Routers = b.w.Fabric.Routers[found.Router].Name, []int32{found.Router}
		}
		if len(m.Routers) == 0 {
			b.bad(path+".on", "names no router of this fabric")
		}
		b.w.Mixed = append(b.w.Mixed, m)
	}
}

// SPFOf returns the SPF back-off by router; nil if it is that of Timers for all.
func (w *World) SPFOf() []*timer.SPF {
	if len(w.Mixed) == 0 {
		return nil
	}
	out := make([]*timer.SPF, len(w.Fabric.Routers))
	for x := range out {
		out[x] = &w.Timers.SPF
	}
	for i := range w.Mixed {
		for _, x := range w.Mixed[i].Routers {
			out[x] = &w.Mixed[i].SPF
		}
	}
	return out
}

// BackoffStates returns the names of the states of the SPF back-off, the first one first
// and that of the longest wait last. Where families are mixed the first and the
// last state of each are counted together.
func (w *World) BackoffStates() []string {
	for _, p := range w.SPFOf() {
		if !timer.SameStates(p.Family, w.Timers.SPF.Family) {
			return timer.MixedStates
		}
	}
	return w.Timers.SPF.Family.States()
}

// mixed adds the SPF back-off of routers that have another.
func (l *lister) mixed() {
	for i := range l.b.w.Mixed {
		s, m := &l.b.s.Mixed[i], &l.b.w.Mixed[i]
		at := fmt.Sprintf("timers.mixed.%d.", i)
		l.Add(at+"on", setting.Quoted(m.On), true)
		control.ListSPF(&l.List, at+"spf.", s.SPF, &m.SPF)
	}
}
