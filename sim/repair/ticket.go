package repair

// Ticket is one sighting that is acted upon. Everything that chance decides is
// in it.
type Ticket struct {
	Fault   int32   // number of the fault, not used
	Links   []int32 // what the sighting names, in the order in which drains are tried
	Routers []int32
	Down    bool // routers see it as down: nothing to drain
	// Wrong: the parts named are not those at fault. The first technician finds
	// nothing, what was drained returns after the soak time, and the fault stays.
	Wrong    bool
	Reaction int64 // from the sighting to drain and dispatch
	Attempts []Attempt
}

// Attempt is one visit: Lead until somebody can start, then HandsOn of one
// technician, 0 if it needs none. Works says whether it mends the fault; the
// last attempt of a ticket that is not Wrong must work.
type Attempt struct {
	Lead, HandsOn int64
	Works         bool
}

// Stage is how far a ticket is.
type Stage uint8

// The stages.
const (
	Free     Stage = iota // the number stands for no ticket
	Reacting              // seen, not yet acted upon
	Leading               // somebody or something is on the way
	Queueing              // waits for a technician
	Working               // a technician is at work
	Soaking               // mended, not yet back in use
)

// String returns the stage in words.
func (s Stage) String() string {
	return [...]string{"free", "reacting", "leading", "queueing", "working", "soaking"}[s]
}

// desk is a ticket and how far it is.
type desk struct {
	Ticket
	stage   Stage
	attempt int
	gen     uint32
	held    []part // drained for it
}

// part is a link or a router.
type part struct {
	id     int32
	router bool
}

// Open takes a ticket and returns its number, which is valid until Closed. It
// panics if the ticket could never be closed.
func (o *Operator) Open(t Ticket, now int64) int32 {
	n := len(t.Attempts)
	if n == 0 || !t.Wrong && !t.Attempts[n-1].Works {
		panic("repair: a ticket needs attempts, and the last must work unless the wrong part was named")
	}
	var id int32
	if k := len(o.free); k > 0 {
		id, o.free = o.free[k-1], o.free[:k-1]
	} else {
		id = int32(len(o.desk))
		o.desk = append(o.desk, desk{})
	}
	d := &o.desk[id]
	*d = desk{Ticket: t, stage: Reacting, gen: d.gen, held: d.held[:0]}
	o.next(id, Reacting, React, now+t.Reaction)
	return id
}

// Stage returns how far a ticket is.
func (o *Operator) Stage(id int32) Stage { return o.desk[id].stage }

// End says that the fault of a ticket ended by itself. Whoever is on the way or
// at work is sent home, and what was drained returns after the soak time. A
// ticket that names the wrong part, or is mended, goes on as it was.
func (o *Operator) End(id int32, now int64) {
	switch d := &o.desk[id]; {
	case d.Wrong || d.stage == Soaking || d.stage == Free:
		return
	case d.stage == Queueing:
		o.crew.queued--
	case d.stage == Working:
		o.leave(now)
	}
	o.release(id, now)
}

// next puts a ticket into a stage that ends with a task.
func (o *Operator) next(id int32, s Stage, k Kind, at int64) {
	d := &o.desk[id]
	d.stage = s
	d.gen++
	o.task(at, k, id, d.gen)
}

// react drains what is named and dispatches.
func (o *Operator) react(id int32, now int64) {
	d := &o.desk[id]
	if !d.Down {
		for _, l := range d.Links {
			o.want(id, part{l, false}, now)
		}
		for _, r := range d.Routers {
			o.want(id, part{r, true}, now)
		}
	}
	o.next(id, Leading, Arrive, now+d.Attempts[0].Lead)
}

// arrive is the end of a lead time.
func (o *Operator) arrive(id int32, now int64) {
	d := &o.desk[id]
	switch {
	case d.Attempts[d.attempt].HandsOn == 0:
		o.judge(id, now)
	case o.crew.ready(now):
		o.begin(id, now)
	default:
		d.stage = Queueing
		d.gen++
		o.crew.enqueue(id, d.gen)
	}
}

// begin sets a technician to work.
func (o *Operator) begin(id int32, now int64) {
	o.crew.change(+1, now)
	d := &o.desk[id]
	o.next(id, Working, Finish, now+d.Attempts[d.attempt].HandsOn)
	o.act(now, Begin, id, -1)
}

// finish is the end of hands-on work.
func (o *Operator) finish(id int32, now int64) {
	o.judge(id, now)
	o.leave(now)
}

// leave frees a technician.
func (o *Operator) leave(now int64) {
	o.crew.change(-1, now)
	o.serve(now)
}

// serve sets whoever is free to work on what waited longest.
func (o *Operator) serve(now int64) {
	for o.crew.ready(now) {
		id, gen, ok := o.crew.dequeue()
		if !ok {
			return
		}
		if d := &o.desk[id]; d.gen == gen && d.stage == Queueing {
			o.crew.queued--
			o.begin(id, now)
		}
	}
}

// judge looks at what an attempt achieved.
func (o *Operator) judge(id int32, now int64) {
	d := &o.desk[id]
	switch {
	case d.Wrong:
		o.release(id, now)
	case d.Attempts[d.attempt].Works:
		o.act(now, Repaired, id, -1)
		o.release(id, now)
	default:
		o.act(now, Fail, id, -1)
		d.attempt++
		o.next(id, Leading, Arrive, now+d.Attempts[d.attempt].Lead)
	}
}

// release asks for no more drains, and soaks those in force.
func (o *Operator) release(id int32, now int64) {
	o.unwant(id)
	if len(o.desk[id].held) == 0 {
		o.close(id, now)
		return
	}
	o.next(id, Soaking, Return, now+o.plan.SoakTime)
}

// close ends a ticket that holds nothing.
func (o *Operator) close(id int32, now int64) {
	o.act(now, Closed, id, -1)
	d := &o.desk[id]
	d.gen++
	d.stage = Free
	d.Ticket = Ticket{}
	o.free = append(o.free, id)
}
