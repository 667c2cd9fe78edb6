package sim

import (
	"slices"

	"halflight/model"
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/operation"
	"halflight/sim/kernel"
	"halflight/sim/record"
	"halflight/sim/repair"
)

// What is due of planned work: A of the event.
const (
	campaignDue = iota // B: its number
	changeDue          // B: its number
)

// modesOf is how many modes the records have, before upgrades, changes, and in all but
// for demand: the world's, drains, the script, and the former two if there are any.
func modesOf(w *model.World) (upgrade, change, all int32) {
	upgrade = int32(len(w.Modes)) + 2
	change = upgrade
	if w.Operation.Upgrades != nil {
		change++
	}
	all = change
	if w.Operation.Changes != nil {
		all++
	}
	return upgrade, change, all
}

// isUpgrade says whether a fault is an upgrade.
func (e *engine) isUpgrade(f *fault) bool {
	upgrade, change, _ := modesOf(e.w)
	return f.mode >= upgrade && f.mode < change
}

// isMistake says whether a fault is a mistake in a change.
func (e *engine) isMistake(f *fault) bool {
	_, change, all := modesOf(e.w)
	return f.mode >= change && f.mode < all
}

// plan makes the first campaign and the first change due, at the end of the
// warm-up or later.
func (e *engine) plan() {
	if u := e.w.Operation.Upgrades; u != nil {
		e.push(e.w.WarmUp+u.First, rankOperator, 0, 0, kernel.Event{Kind: planned, A: campaignDue})
	}
	if e.w.Operation.Changes != nil {
		e.nextChange(0, e.w.WarmUp)
	}
}

// plannedWork begins a campaign or makes a change.
func (e *engine) plannedWork(what, number int32) {
	if what == changeDue {
		e.change(number)
		return
	}
	u := e.w.Operation.Upgrades
	e.push(e.now+u.Every, rankOperator, 0, 0, kernel.Event{Kind: planned, A: campaignDue, B: number + 1})
	e.chance.operator.StartCampaign(e.visitsOf(u, uint64(number)), e.now)
}

// visitsOf draws what happens to each box of a campaign. A box is its own owner, so
// that neither their number nor their order counts.
func (e *engine) visitsOf(u *operation.Upgrades, number uint64) []repair.Visit {
	c := e.chance
	lead, hands := failure.DefaultRepair(failure.Hard, failure.OnRouter)
	var list []repair.Visit
	for x := range e.f.Routers {
		r := &e.f.Routers[x]
		if !upgraded(u.Tier, r.Class) {
			continue
		}
		draw := func(what string) float64 {
			return c.stream.Uniform(kernel.PurposeOf("upgrade", what), routerOwner(r), number)
		}
		v := repair.Visit{Box: int32(x), Works: max(1, e.lasts(&u.Work, draw("work"))), Undrained: draw("undrained") < u.Undrained, Early: draw("early") < u.Early}
		v.Serves = u.Kept && u.Drain == operation.NoDrain && v.Works <= e.t.Grace // neighbours drop it otherwise
		out := e.lasts(&lead, draw("lead")) + e.lasts(&hands, draw("hands on"))
		if draw("dead") < u.Dead {
			v.Dead, v.Serves = max(1, out), false // it keeps nothing
		}
		list = append(list, v)
	}
	return list
}

func upgraded(t operation.Tier, c fabric.Class) bool {
	switch t {
	case operation.Leaves:
		return c == fabric.Leaf
	case operation.Spines:
		return c == fabric.Spine
	case operation.Tops:
		return c == fabric.Top
	}
	return true
}

// restart is the work on a box. One that does not boot keeps nothing.
func (e *engine) restart(v *repair.Visit) {
	mode, _, _ := modesOf(e.w)
	f := fault{mode: mode, unit: -1, onset: e.now, end: e.now + v.Works + v.Dead,
		routers: []int32{v.Box}, on: e.f.Routers[v.Box].Name, early: v.Early}
	f.Kind, f.Kept = failure.Restart, e.w.Operation.Upgrades.Kept && v.Dead == 0
	f.background = uint8(e.background(&f))
	e.addFault(f)
}

// nextChange makes the change of a number due: a Poisson process.
func (e *engine) nextChange(number int32, from int64) {
	gap := kernel.Nanoseconds(kernel.Exponential(e.changeDraw("gap", number), 1e9/e.w.Operation.Changes.Rate))
	if gap < e.until-from {
		e.push(from+max(gap, 1), rankOperator, 0, 0, kernel.Event{Kind: planned, A: changeDue, B: number})
	}
}

func (e *engine) changeDraw(what string, number int32) float64 {
	return e.chance.stream.Uniform(kernel.PurposeOf("change", what), anywhere, uint64(number))
}

// change is one change of configuration. Right ones disturb nothing; all that
// chance decides of a mistake is drawn for every change.
func (e *engine) change(number int32) {
	p := e.w.Operation.Changes
	draw := func(what string) float64 { return e.changeDraw(what, number) }
	e.nextChange(number+1, e.now)
	e.chance.counts.changes++
	box := min(int32(float64(draw("box")*float64(len(e.f.Routers)))), int32(len(e.f.Routers)-1))
	boxes := []int32{box}
	if draw("wide") < p.Wide {
		boxes = e.sameRole(box, p.Roles)
	}
	what, port, undo := mistakeOf(p, draw("what")), draw("port"), e.lasts(&p.Undo, draw("undo"))
	if draw("mistake") >= p.Mistaken() {
		return
	}
	_, mode, _ := modesOf(e.w)
	f := fault{mode: mode, unit: -1, onset: e.now, end: e.now + max(1, undo), on: e.f.Routers[box].Name}
	if len(boxes) > 1 {
		f.on += " and all of its role"
	}
	e.blunder(&f, what, boxes, port)
	f.background = uint8(e.background(&f))
	e.addFault(f)
}

// sameRole lists the boxes of the tier of a box that have its role: roles are given
// in turn.
func (e *engine) sameRole(box int32, roles int) []int32 {
	first := slices.IndexFunc(e.f.Routers, func(r fabric.Router) bool { return r.Class == e.f.Routers[box].Class })
	var list []int32
	for x := range e.f.Routers {
		if e.f.Routers[x].Class == e.f.Routers[box].Class && (x-first)%roles == (int(box)-first)%roles {
			list = append(list, int32(x))
		}
	}
	return list
}

// mistakeOf picks a mistake by its weight.
func mistakeOf(p *operation.Changes, u float64) operation.Mistake {
	sum := 0.0
	for _, w := range p.What {
		sum += w
	}
	at := float64(u * sum)
	for m, w := range p.What {
		if at < w {
			return operation.Mistake(m)
		}
		at -= w
	}
	m := operation.Mistake(operation.MistakeKinds - 1)
	for m > 0 && p.What[m] == 0 {
		m-- // rounding
	}
	return m
}

// blunder makes a fault of a mistake on boxes.
func (e *engine) blunder(f *fault, what operation.Mistake, boxes []int32, port float64) {
	for _, x := range boxes {
		ports := e.f.Ports[x]
		one := ports[min(int(port*float64(len(ports))), len(ports)-1)]
		switch what {
		case operation.WrongMetric:
			f.Kind, f.directions = failure.Drain, append(f.directions, one.Out())
		case operation.WrongBit:
			f.Kind, f.routers = failure.Drain, append(f.routers, x)
		case operation.WrongPort:
			f.Kind, f.links = failure.Hard, append(f.links, one.Link)
		case operation.WrongFilter:
			f.Kind, f.Share = failure.Blackhole, e.w.Operation.Changes.Hole
			for _, p := range ports {
				f.directions = append(f.directions, p.Out())
			}
		}
	}
	slices.Sort(f.links)
	f.links = slices.Compact(f.links) // two boxes may have cut one link
}

// recordPlanned reads what planned work did.
func (e *engine) recordPlanned(r *record.Replication) {
	p := &e.w.Operation
	if p.Upgrades == nil && p.Changes == nil {
		return
	}
	d := e.chance.operator.Planned(e.until)
	r.Planned = &record.Planned{Boxes: d.Boxes, Campaigns: d.Campaigns, Nights: d.Nights, Left: d.Left, Skipped: d.Skipped, Exposed: d.Exposed,
		CapacityWorst: d.Capacity, Changes: e.chance.counts.changes}
}
