// Package sim is the play: one replication as a function of a World and a
// seed. This file has the one loop and the one switch that names all that can
// happen; the parts are told, and return what must follow.
//
// It may not know files, clocks or other replications. It is tested by
// scripted cases worked by hand, against a plain twin on random scripts, and
// against closed forms.
package sim

import (
	"slices"

	"halflight/model"
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/timer"
	"halflight/model/traffic"
	"halflight/sim/bands"
	"halflight/sim/converged"
	"halflight/sim/detection"
	"halflight/sim/forwarding"
	"halflight/sim/glance"
	"halflight/sim/homing"
	"halflight/sim/impact"
	"halflight/sim/kernel"
	"halflight/sim/linkstate"
	"halflight/sim/repair"
)

// engine is one replication under way.
type engine struct {
	w *model.World
	f *fabric.Fabric
	t *timer.Set

	queue      kernel.Queue
	round      uint16
	now, until int64

	control *linkstate.Control
	links   *detection.Links
	field   *bands.Field
	ledger  *impact.Ledger
	body    body
	faults  []fault
	clear   []float64 // pass shares of a sound direction
	changes []detection.Change
	ending  []int32 // drains that end at this instant

	outside bool   // this instant holds a change from outside or of the truth
	settled bool   // nothing changed since the last settlement
	truths  uint64 // version of the truth as last settled
	ways    uint64 // of its paths, as servers know them
	trace   *trace
	inForce []int32

	culprits culprits

	chance         *chanceState // nil for a script played alone
	scriptPurposes modePurposes
	tale           *teller         // nil unless a story is asked for
	stop           <-chan struct{} // closed when the outcome is no longer wanted
	stopped        bool
	ahead          bool           // leaves are weighed together; see impact.Ledger
	bySize         bool           // of several sizes on a path the narrowest alone counts; else they are independent. One rule for a fabric: sides of a comparison must agree
	touched        bool           // with ahead: there is something to settle
	sketch         []*glance.Book // by plane; nil for a whole play
	planes         []traffic.Class
	crowd          *crowd // nil: nothing is lost for want of room
	asleep         bool   // the routers are not played yet; see wake.go

	servers   *homing.Servers // nil: every server has one leaf, and nothing happens to its link
	uplinksOf []int32         // leaves of which uplinks may have come or gone at this instant
}

// manner is how deliveries are kept.
type manner uint8

const (
	asFits   manner = iota // together where apart would take too long
	together               // leaves are weighed together; see impact.Ledger
	apart                  // every pair of leaves on its own: exact
	traced                 // apart, and everything that happens is noted
	sketched               // none: what gray faults do, to first order; see package glance
)

// fewLeaves is up to how many leaves apart is quick enough: 30 % slower than
// together with 16 leaves, 5 to 11 times with 400.
const fewLeaves = 64

// newEngine sets the stage: everything converged at time 0.
func newEngine(w *model.World, stream *kernel.Stream, how manner) *engine {
	e := &engine{w: w, f: w.Fabric, t: &w.Timers, until: w.WarmUp + w.Horizon, now: -1, planes: planesOf(w)}
	if how == sketched {
		e.body, e.sketch = newBody(w.Fabric), newSketch(w)
		return e
	}
	if how == asFits && w.Fabric.Leaves > fewLeaves && !w.Homing.On() {
		how = together
	}
	e.ahead = how == together && !w.Homing.On() && w.Timers.OverloadLeaves && !w.Polarised && !unforetold(w)
	e.bySize = !e.ahead && (stream == nil || w.Fabric.Leaves <= fewLeaves)
	options := linkstate.Options{SPF: w.SPFOf(), Trace: how == traced, Ahead: e.ahead}
	if stream != nil {
		options.Factor, options.Rank = routerLaws(w, *stream)
		options.Lost = lostFloods(w, *stream)
	}
	e.control = linkstate.New(w.Fabric, &w.Timers, options)
	e.links = detection.New(w.Fabric, &w.Timers)
	truth := converged.New(w.Fabric, e.control.Routes())
	e.field = bands.New(forwarding.New(w.Fabric, len(e.planes), w.Polarised, e.control.Table, truth.Routes.Next, truth.Routes.Cost))
	e.ledger = impact.New(impact.Setup{Fabric: w.Fabric, Field: e.field, Control: e.control, Truth: truth, Classes: e.planes, Mix: w.Traffic.Mix,
		InForce: e.faultsInForce, Culprit: e.culprit, From: w.WarmUp, Ahead: e.ahead, Chance: stream != nil})
	if e.ahead {
		e.field.Plain.SetCore()
	}
	e.body = newBody(w.Fabric)
	e.followServers()
	for range len(e.planes) + 1 {
		e.clear = append(e.clear, 1)
	}
	for i := range e.body.ways {
		e.body.ways[i].Pass = e.clear
	}
	if how == traced {
		n := len(e.f.Routers)
		e.trace = &trace{noticed: make([][]int64, n), wrote: make([][]int64, n)}
	}
	return e
}

// unforetold says whether writes of a world cannot be told ahead: some may never
// be made although the router believes that they are, or another event may bring
// them forward. Nor are leaves weighed together whose pairs are not all alike.
func unforetold(w *model.World) bool {
	return w.Timers.LocalDelay > 0 || w.Traffic.Mix != nil || slices.ContainsFunc(w.Modes, func(m failure.Mode) bool { return m.Kind == failure.Unwritten }) ||
		slices.ContainsFunc(w.Script, func(s failure.Scripted) bool { return s.Kind == failure.Unwritten })
}

// addFault adds a fault to the play and makes its course due.
func (e *engine) addFault(f fault) int32 {
	id := e.keepFault(f)
	e.schedule(id)
	return id
}

// keepFault opens the account of a fault.
func (e *engine) keepFault(f fault) int32 {
	id := int32(len(e.faults))
	f.sightedAt, f.outAt, f.sightedBy = -1, -1, -1
	e.faults = append(e.faults, f)
	if e.sketch == nil {
		e.ledger.Open(impact.Fault{Onset: f.onset, Converges: f.Kind.Converges() && len(f.access) == 0, Gray: f.Kind.Gray(), Repeats: f.Kind.Gray() || f.Kind == failure.Flapping, Mistake: e.isMistake(&f),
			Maintenance: f.Kind == failure.Drain || e.isUpgrade(&f), Upgrade: e.isUpgrade(&f)})
	}
	if c := e.chance; c != nil {
		for len(c.watching) <= int(id) {
			c.watching = append(c.watching, watch{ticket: -1})
		}
	}
	return id
}

// addScript adds the faults of the script.
func (e *engine) addScript(script []failure.Scripted) {
	for i := range script {
		s := &script[i]
		f := fault{Condition: s.Condition, mode: -1, unit: -1, on: s.On, onset: s.At, end: s.End,
			routers: s.Routers, links: s.Links, directions: s.Directions, access: s.Access}
		if f.Kind == failure.Unwritten {
			f.destinations = spread(e.f.Leaves, f.Share)
		}
		if f.end < 0 {
			f.end = Never
		}
		e.addFault(f)
	}
}

// run plays until the horizon.
func (e *engine) run() {
	e.openCrowd()
	e.traceWarmUp()
	e.advance(e.until)
	if e.stopped {
		return
	}
	e.pass(e.until)
	e.now = e.until
	if e.sketch == nil {
		e.ledger.Flush(e.until)
	}
}

// advance plays what is due before an instant, and settles it.
func (e *engine) advance(to int64) {
	for n := 1; ; n++ {
		if n&63 == 0 && e.unwanted() {
			return
		}
		ev, ok := e.queue.Peek()
		if e.tale != nil && e.ahead && e.settled && e.tellWrites(ev.At, ok, to) {
			continue
		}
		over := !ok || ev.At >= to
		if (over || ev.At != e.now) && !e.settled {
			e.settle() // it may make something due before ev
			continue
		}
		if over {
			return
		}
		e.queue.Pop()
		if ev.At < e.now {
			panic("sim: an event lies in the past")
		}
		if ev.At != e.now {
			e.pass(ev.At)
			e.now, e.outside = ev.At, false
		}
		e.round = kernel.Round(ev.Key)
		e.happen(ev)
		e.drain()
	}
}

// pass lets the time up to the next event go by; nothing is due before it.
func (e *engine) pass(to int64) {
	e.body.stepped = e.body.stepped[:0]
	if c := e.chance; c != nil && to >= c.series.Next {
		c.series.Pass(e.control.StateTotals, to)
	}
}

// unwanted says whether to give up.
func (e *engine) unwanted() bool {
	select {
	case <-e.stop:
		e.stopped = true
	default:
	}
	return e.stopped
}

// happen is the one switch.
func (e *engine) happen(ev kernel.Event) {
	if e.ahead && !e.asleep && ev.Kind != host && (ev.Kind != control || linkstate.Kind(ev.Sub).Sudden()) {
		e.ledger.CatchUp(e.now - 1) // what was due before is of the world as it was
	}
	switch ev.Kind {
	case physical:
		e.outside = true
		e.steps(ev)
		e.commit()
	case control:
		if linkstate.Kind(ev.Sub) == linkstate.Detour {
			e.goAround(ev.A)
			break
		}
		e.control.Do(linkstate.Task{Kind: linkstate.Kind(ev.Sub), A: ev.A, B: ev.B}, e.now)
		e.after(linkstate.Kind(ev.Sub), ev.A)
	case detect:
		e.detect(detection.Task{Kind: detection.Kind(ev.Sub), A: ev.A, Gen: ev.Gen})
	case onset:
		e.strike(ev.A, ev.Gen)
	case foresee:
		e.foresaw(ev.A, ev.B, ev.Gen)
	case phantom:
		e.falseAlarm(ev.A, ev.B)
	case sight:
		e.sighted(ev.A, ev.B, ev.Gen)
	case fall:
		e.fallen(ev.A, ev.B)
	case operate:
		e.chance.operator.Do(repair.Task{Kind: repair.Kind(ev.Sub), A: ev.A, Gen: ev.Gen}, e.now)
	case measure:
		e.measure(ev.A)
	case host:
		e.hostEvent(ev.A, ev.B, ev.Sub)
	case wake:
		e.wake()
	case planned:
		e.plannedWork(ev.A, ev.B)
	case attach:
		e.servers.Do(homing.Task{Kind: homing.Kind(ev.Sub), A: ev.A, B: ev.B, Gen: ev.Gen}, e.now)
	case busiest:
		e.turnHour(ev.A == 1)
	}
	if c := e.chance; c != nil && len(c.operator.Actions)+len(c.operator.Tasks) > 0 {
		e.act()
	}
	if e.ahead && !e.asleep {
		e.ledger.Expect()
	}
	e.settled = false
}

// steps takes all steps that are due in this round together. Of drains those that
// begin come first, so that one that ends as another begins changes nothing.
func (e *engine) steps(first kernel.Event) {
	drains := e.faults[first.A].Kind == failure.Drain
	e.ending = e.ending[:0]
	for ev := first; ; ev = e.queue.Pop() {
		if drains && ev.B == stepEnd {
			e.ending = append(e.ending, ev.A)
		} else {
			e.step(ev.A, ev.B)
		}
		if !e.alsoPhysical(ev) {
			break
		}
	}
	for _, id := range e.ending {
		e.step(id, stepEnd)
	}
}

// alsoPhysical says whether the next event is another step of a fault in the
// same round, to be taken together with this one.
func (e *engine) alsoPhysical(ev kernel.Event) bool {
	next, ok := e.queue.Peek()
	return ok && next.At == ev.At && next.Key == ev.Key && next.Kind == physical
}

// noticed tells the routers of adjacencies that went down or came up.
func (e *engine) noticed() {
	for _, c := range e.changes {
		x, link := e.f.From(c.End), c.End>>1
		if e.servers != nil && int(x) < e.f.Leaves {
			e.uplinksOf = append(e.uplinksOf, x)
		}
		cause := e.ledger.Truth.LinkFault[link]
		if e.tale != nil {
			e.tell("%s notices %s %s", e.f.Routers[x].Name, e.f.Links[link].Name, map[bool]string{true: "up", false: "down"}[c.Up])
		}
		if e.trace != nil {
			note(e.trace.noticed, x, e.now)
		}
		if c.Up {
			e.endDetour(c.End)
			e.control.Gain(x, link, cause, e.now)
		} else {
			e.control.Lose(x, link, cause, e.now)
		}
		if cause >= 0 {
			e.ledger.Detected(cause, x, e.now)
		}
		e.believed(x, link, c.Up)
		e.culprits.known = e.culprits.known && e.clocked() // else links stay listed that are
		is := e.body.truth[link]
		blind := !c.Up && !is.Alive && !is.Dark && !e.clocked() // it cannot come up again, seen or not
		if blind || e.t.Damping.On || e.body.mute[e.f.From(2*link)] || e.body.mute[e.f.To(2*link)] {
			e.commitLink(link)
			e.applyTruth()
			e.ledger.Retry()
		}
	}
}

// after takes note of what a task of the control plane did.
func (e *engine) after(k linkstate.Kind, a int32) {
	if e.tale != nil {
		e.tellTask(k, a)
	}
	if k == linkstate.Originate {
		if cause := e.control.FaultBehind(a); cause >= 0 {
			e.ledger.Originated(cause, e.now)
		}
	}
	for _, r := range e.control.Runs {
		if r.Fault >= 0 {
			f := &e.faults[r.Fault]
			if f.ran.Add(r.Router, len(e.f.Routers)) {
				f.spfWait = max(f.spfWait, r.Waited)
			}
		}
	}
	e.control.Runs = e.control.Runs[:0]
}

// settle closes an instant: deliveries, charges and the trace follow.
func (e *engine) settle() {
	if e.settled {
		return
	}
	e.settled = true
	if e.routerless() {
		e.settledByChance()
		return
	}
	if e.crowd != nil && !e.asleep {
		e.reload()
	}
	if e.ahead && !e.touched {
		if e.tale.listens(e.now) {
			e.ledger.CatchUp(e.now)
			e.tellSettled()
		}
		return
	}
	e.touched = false
	e.traceWrites()
	for _, c := range e.control.Changed {
		e.ledger.Written(&c, max(0, e.now))
		if e.tale != nil {
			e.ledger.Wrote = append(e.ledger.Wrote, c.Router)
		}
	}
	if e.servers != nil {
		e.settleServers()
	}
	e.control.Changed = e.control.Changed[:0]
	if e.truths != e.ledger.Truth.Version {
		e.truths, e.outside = e.ledger.Truth.Version, true
	}
	e.ledger.Settle(max(0, e.now), !e.outside)
	if e.servers != nil {
		e.reloadServers()
		e.drainServers()
	}
	e.ledger.Tidy(max(0, e.now))
	if e.trace != nil {
		e.trace.share(max(0, e.now), e.ledger.Share())
	}
	if e.tale != nil {
		e.tellSettled()
	}
	e.settledByChance()
}

// beginFault is the onset of a fault.
func (e *engine) beginFault(id int32) {
	f := &e.faults[id]
	f.begun = true
	if f.mode < 0 {
		f.background = uint8(e.background(f))
	}
	e.inForce = append(e.inForce, id)
	e.begunByChance(id)
}

// closed is the end of a fault.
func (e *engine) closed(id int32) {
	e.inForce = remove(e.inForce, id)
	e.closedByChance(id)
}

// faultsInForce returns the faults in force, oldest first.
func (e *engine) faultsInForce() []int32 {
	list := e.inForce
	for i := 1; i < len(list); i++ {
		for j := i; j > 0 && e.ledger.Older(list[j], list[j-1]); j-- {
			list[j], list[j-1] = list[j-1], list[j]
		}
	}
	return list
}

// applyTruth carries out changes of the truth, and has entries looked at that
// are no longer, or are now, what they will be.
func (e *engine) applyTruth() {
	e.touched, e.culprits.known = true, false
	e.ledger.Truth.Apply(e.truthChanged)
}

func (e *engine) truthChanged(x, d int32) {
	if e.ahead {
		e.ledger.Reconsider(d, x)
	}
}
