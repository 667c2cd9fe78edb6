package sim

import (
	"cmp"
	"slices"

	"halflight/model/failure"
	"halflight/sim/kernel"
)

// draw is the uniform of a fault's k-th draw for a purpose.
func (c *chanceState) draw(p kernel.Purpose, u *unit, k int) float64 {
	return c.stream.Uniform(p, u.owner, uint64(u.count)<<20|uint64(k))
}

// strike is the onset of a unit's next fault: all that chance decides of its
// course is drawn here, whether it will be needed or not.
func (e *engine) strike(id int32, number uint32) {
	c := e.chance
	u := &c.units[id]
	if u.count+1 != number {
		return // it was repaired before it came to that
	}
	u.count++
	m, p := &e.w.Modes[u.mode], &c.modes[u.mode]
	both, none := e.sharesFault(m, u)
	if none {
		e.renew(id)
		return
	}
	f := fault{mode: u.mode, unit: id, onset: e.now, end: Never}
	f.Kind, f.Above = m.Kind, m.Above
	f.Light = c.draw(p.light, u, 0) < m.Light
	f.Control = m.Control && f.Light
	switch m.Kind {
	case failure.Lossy, failure.Silent:
		f.Loss = min(quantile(&m.Loss, c.draw(p.loss, u, 0)), 1)
		f.BurstMean, f.BurstLoss = m.Burst, m.BurstLoss
	case failure.Blackhole:
		f.Share = min(quantile(&m.Share, c.draw(p.share, u, 0)), 1)
		f.randomHold = true
		f.held = [2]bool{c.draw(p.hold, u, 0) < f.Share, c.draw(p.hold, u, 1) < f.Share}
	case failure.Restart:
		f.Kept = m.Kept
		f.end = e.now + max(1, kernel.Nanoseconds(quantile(&m.Down, c.draw(p.down, u, 0))))
	case failure.Slow:
		f.Factor = max(1, quantile(&m.Factor, c.draw(p.loss, u, 0)))
	case failure.Unwritten:
		f.Share = min(quantile(&m.Share, c.draw(p.share, u, 0)), 1)
		for d := range e.f.Leaves {
			if c.draw(p.pick, u, d) < f.Share {
				f.destinations = append(f.destinations, int32(d))
			}
		}
	case failure.Flapping:
		e.drawFlaps(&f, u)
	}
	if m.Kind == failure.Slow || m.Kind == failure.Unwritten {
		f.end = e.now + max(1, kernel.Nanoseconds(quantile(&m.Lasts, c.draw(p.down, u, 0))))
	}
	e.aim(&f, m, p, u)
	if mate := e.w.Homing.Mate(u.part); both {
		f.routers = []int32{min(u.part, mate), max(u.part, mate)}
		f.on = e.f.Routers[f.routers[0]].Name + " and " + e.f.Routers[f.routers[1]].Name
	}
	f.background = uint8(e.background(&f))
	e.addFault(f)
}

func (e *engine) drawFlaps(f *fault, u *unit) {
	c := e.chance
	m, p := &e.w.Modes[u.mode], &c.modes[u.mode]
	n := int(quantile(&m.Flaps, c.draw(p.flaps, u, 0)))
	at := int64(0)
	for i := range max(1, n) {
		if i > 0 {
			at += max(1, kernel.Nanoseconds(quantile(&m.Gap, c.draw(p.gap, u, i))))
		}
		f.Changes = append(f.Changes, at)
		at += max(1, kernel.Nanoseconds(quantile(&m.Down, c.draw(p.down, u, i))))
		f.Changes = append(f.Changes, at)
	}
	f.end = f.onset + at
}

// aim finds the parts that a fault is on.
func (e *engine) aim(f *fault, m *failure.Mode, p *modePurposes, u *unit) {
	c := e.chance
	oneWay := f.Kind.Gray() && c.draw(p.oneWay, u, 0) < m.OneWay
	side := int32(0)
	if c.draw(p.side, u, 0) < 0.5 {
		side = 1
	}
	switch {
	case m.On == failure.OnLink && oneWay:
		f.directions = []int32{2*u.part + side}
		f.on = e.f.DirectionName(f.directions[0])
	case m.On == failure.OnLink:
		f.links = []int32{u.part}
		f.on = e.f.Links[u.part].Name
	case m.On == failure.OnAccess:
		f.access = []int32{u.part}
		f.on = e.w.Homing.Name(e.f, u.part)
	case m.Routers() && f.Kind.Gray():
		for _, port := range e.f.Ports[u.part] {
			f.links = append(f.links, port.Link)
		}
		f.on = e.f.Routers[u.part].Name
	case m.Routers():
		f.routers = []int32{u.part}
		f.on = e.f.Routers[u.part].Name
	default:
		g := &e.w.Groups[u.part]
		f.on = "group:" + g.Name
		if f.Kind.Gray() || f.Kind == failure.Flapping {
			f.links = e.members(g.Links, m.Ports, p, u)
			for _, x := range g.Routers {
				for _, port := range e.f.Ports[x] {
					f.links = append(f.links, port.Link)
				}
			}
		} else {
			f.routers, f.links = e.members(g.Routers, m.Ports, p, u), e.members(g.Links, m.Ports, p, u)
		}
		slices.Sort(f.links)
		f.links = slices.Compact(f.links)
	}
}

// members picks so many members of a group, all of them for 0.
func (e *engine) members(all []int32, n int, p *modePurposes, u *unit) []int32 {
	if n == 0 || n >= len(all) {
		return slices.Clone(all)
	}
	type ranked struct {
		key float64
		id  int32
	}
	var list []ranked
	for i, id := range all {
		list = append(list, ranked{e.chance.draw(p.pick, u, i), id})
	}
	slices.SortFunc(list, func(a, b ranked) int { return cmp.Compare(a.key, b.key) })
	var out []int32
	for _, r := range list[:n] {
		out = append(out, r.id)
	}
	slices.Sort(out)
	return out
}

// samePart is how long the timers that a part wound are its own doing.
const samePart = 600_000_000_000

// background says how busy the routers are as a fault begins.
func (e *engine) background(f *fault) int {
	if e.routerless() {
		return 0
	}
	if e.control.AtRest(e.now) {
		return 0
	}
	last := int64(-samePart)
	if e.chance != nil {
		e.eachPart(f, func(i int) { last = max(last, e.chance.lastOn[i]) })
	}
	if e.now-last < samePart {
		return 2
	}
	return 1
}

// eachPart calls back for each link and router that a fault is on, by its place
// in lastOn.
func (e *engine) eachPart(f *fault, visit func(int)) {
	for _, l := range e.linksOf(f) {
		visit(int(l))
	}
	for _, x := range f.routers {
		visit(len(e.f.Links) + int(x))
	}
}
