// Package repair is the operator as a state machine: sightings in, actions
// out. A ticket goes from sighting over reaction, drain, lead time and hands-on
// work to the return of what was drained.
//
// It may not know what fails, not even at second hand, nor what routers
// believe or how a sighting came about: a ticket says what was named and what a
// technician will find. It draws nothing, and has no clock and no queue: a call
// says what happened and when; the tasks that follow, and the actions, are
// collected for the caller. It is tested against the closed forms of repair
// queues, and its limits on drains against a plain twin on random fabrics.
package repair

import (
	"halflight/model/fabric"
	"halflight/model/operation"
)

// Kind says what a Task is.
type Kind uint8

// The tasks. A is a ticket; from Retry on -1, for the last three a visit.
const (
	React   Kind = iota // the reaction time is over
	Arrive              // the lead time is over
	Finish              // hands-on work ends
	Return              // the soak time is over
	Retry               // capacity changed: refused drains are tried again
	Relieve             // a shift begins
	Open                // the hours of planned work begin
	Work                // planned work on a box begins
	Booted              // it ends
	Settled             // the box may be put back
)

// String returns the kind in words.
func (k Kind) String() string {
	return [...]string{"react", "arrive", "finish", "return", "retry", "relieve", "open", "work", "booted", "settled"}[k]
}

// Task is something that must happen at an instant. Gen tells whether it still
// holds.
type Task struct {
	At   int64
	Kind Kind
	A    int32
	Gen  uint32
}

// Deed is a kind of action.
type Deed uint8

// The deeds. Part is the link or router of the first six.
const (
	DrainLink Deed = iota // metric raised at both ends
	UndrainLink
	DrainRouter // overload bit
	UndrainRouter
	RefuseLink // a drain that a rule forbids; tried again when capacity changes
	RefuseRouter
	Begin      // a technician begins to work
	Fail       // the attempt did not mend the fault; another follows
	Repaired   // the fault is mended: it ends now
	Closed     // the last of a ticket; its number may be used again
	DrainPorts // metric raised at both ends of all links of a router
	UndrainPorts
	Restart // planned work on the router begins, as Visit says
)

// String returns the deed in words.
func (d Deed) String() string {
	return [...]string{"drain link", "undrain link", "drain router", "undrain router", "refuse link", "refuse router",
		"begin", "fail", "repaired", "closed", "drain ports", "undrain ports", "restart"}[d]
}

// Action is what the operator does. A part wanted by several tickets is drained
// with the first and returned with the last, and the action carries that
// ticket.
type Action struct {
	At     int64
	Deed   Deed
	Ticket int32
	Fault  int32
	Part   int32 // -1 without
	Wrong  bool  // the ticket named the wrong part
	Visit  Visit // of planned work
}

// Operator is all tickets, technicians and drains.
type Operator struct {
	plan  *operation.Plan
	use   usage
	crew  crew
	desk  []desk // tickets by number
	free  []int32
	wants []want // drains refused so far, in order
	asked bool   // a Retry is on its way

	campaign campaign
	exposure exposure
	planned  Planned

	Tasks   []Task   // to be taken by the caller
	Actions []Action // to be taken by the caller

	Drains      int64 // parts taken out of use
	FalseDrains int64 // of them, named wrongly
	Refused     int64 // drains refused at first
}

// New returns an operator with nothing to do, in a fabric that is all up. It
// uses the plan's floor, soak time, crew and shares of first repairs.
func New(f *fabric.Fabric, plan *operation.Plan) *Operator {
	o := &Operator{plan: plan, crew: crew{size: plan.Crew, shifts: plan.Shifts}}
	o.use.init(f, plan.Floor)
	if len(plan.Shifts) > 0 {
		o.task(o.crew.nextShift(-1), Relieve, -1, 0)
	}
	return o
}

// Works says whether a repair succeeds, given a uniform draw. guided: the
// sighting named the part.
func (o *Operator) Works(guided bool, u float64) bool {
	if guided {
		return u < o.plan.FirstGuided
	}
	return u < o.plan.FirstBlind
}

// Believe tells of an end of an adjacency, by the direction that it sends, that
// went down or came up: what operators see on the routers.
func (o *Operator) Believe(end int32, up bool, now int64) {
	if o.use.believe(end, up, now) {
		o.retryLater(now)
	}
}

// Do carries out a task.
func (o *Operator) Do(t Task, now int64) {
	switch t.Kind {
	case Retry:
		o.asked = false
		o.retry(now)
		if o.campaign.blocked {
			o.proceed(now)
		}
		return
	case Open:
		o.campaign.awaits = false
		o.proceed(now)
		return
	case Work:
		o.workOn(t.A, now)
		return
	case Booted:
		o.booted(t.A, now)
		return
	case Settled:
		o.putBack(t.A, now)
		return
	case Relieve:
		o.serve(now)
		o.task(o.crew.nextShift(now), Relieve, -1, 0)
		return
	}
	if o.desk[t.A].gen != t.Gen {
		return
	}
	switch t.Kind {
	case React:
		o.react(t.A, now)
	case Arrive:
		o.arrive(t.A, now)
	case Finish:
		o.finish(t.A, now)
	case Return:
		o.giveBack(t.A, now)
		o.close(t.A, now)
	}
}

// HandsOnTotal returns the time worked by all technicians from 0 to now, in ns;
// now must not be before the last call of anything.
func (o *Operator) HandsOnTotal(now int64) float64 { return o.crew.total(now) }

// Busy returns the number of technicians at work.
func (o *Operator) Busy() int { return o.crew.busy }

// Queue returns the number of tickets that wait for a technician.
func (o *Operator) Queue() int { return o.crew.queued }

// OpenTickets returns the number of tickets not yet closed.
func (o *Operator) OpenTickets() int { return len(o.desk) - len(o.free) }

// Away says whether a router is out as a whole. Nothing is decided by it: uplinks of a
// leaf that its neighbours miss one by one are left out of Capacity.
func (o *Operator) Away(x int32, away bool) { o.use.setAway(x, away) }

// ResetWindow begins a new window of Capacity.
func (o *Operator) ResetWindow(now int64) { o.use.resetWindow(now) }

// Capacity returns the least share of its uplinks that any leaf had in use at
// the end of any instant of the window, now included: neither drained nor
// believed down. A leaf with none is out, and not counted, or else cut off: whether
// any was, CutOff tells; or drained on all sides, and goes on as if on none.
func (o *Operator) Capacity(now int64) float64 { return o.use.capacity(now) }

// CutOff says whether a leaf that was not out had no link that was believed up at the end
// of any instant of the window, now included.
func (o *Operator) CutOff(now int64) bool {
	o.use.capacity(now)
	return o.use.cut
}

// InUse says whether a link is neither drained nor believed down.
func (o *Operator) InUse(link int32) bool { return o.use.in[link] }

// Drained says whether a link, or a router at one of its ends, is drained.
func (o *Operator) Drained(link int32) bool { return o.use.drained(link) }

func (o *Operator) task(at int64, k Kind, a int32, gen uint32) {
	o.Tasks = append(o.Tasks, Task{at, k, a, gen})
}

func (o *Operator) act(now int64, d Deed, id, part int32) {
	t := &o.desk[id]
	o.Actions = append(o.Actions, Action{At: now, Deed: d, Ticket: id, Fault: t.Fault, Part: part, Wrong: t.Wrong})
}
