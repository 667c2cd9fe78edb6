package repair

// A drain is allowed if afterwards every router whose uplink goes out of use
// still has at least the floor's share of its uplinks in use, and no pair of
// leaves has lost its last path. In use is what is neither drained nor believed
// down. In a Clos the uplinks of a leaf are its links to spines, those of a
// spine its links to tops, and a path never crosses a third leaf; in any other
// graph the uplinks of a leaf are all its links, other routers have none, and a
// path may cross any router. A part that is not in use may always be drained.
// A leaf may not: its servers have no other way.

// want is a drain that was refused.
type want struct {
	ticket int32
	part   part
}

// want drains a part for a ticket, or keeps it in mind.
func (o *Operator) want(id int32, p part, now int64) {
	if o.drain(id, p, now) {
		return
	}
	o.Refused++
	o.act(now, choose(p, RefuseLink, RefuseRouter), id, p.id)
	o.wants = append(o.wants, want{id, p})
}

// drain takes a part out of use for a ticket if that is allowed.
func (o *Operator) drain(id int32, p part, now int64) bool {
	already := o.use.drains(p) > 0
	if !already && !o.use.allows(p) {
		return false
	}
	d := &o.desk[id]
	d.held = append(d.held, p)
	o.use.add(p, +1, now)
	if already {
		return true
	}
	o.Drains++
	if d.Wrong {
		o.FalseDrains++
	}
	o.act(now, choose(p, DrainLink, DrainRouter), id, p.id)
	o.retryLater(now) // a link of a drained router may be drained too
	return true
}

// giveBack returns what a ticket holds.
func (o *Operator) giveBack(id int32, now int64) {
	for _, p := range o.desk[id].held {
		if o.use.add(p, -1, now) {
			o.act(now, choose(p, UndrainLink, UndrainRouter), id, p.id)
			o.retryLater(now)
		}
	}
	o.desk[id].held = o.desk[id].held[:0]
}

// unwant forgets the refused drains of a ticket.
func (o *Operator) unwant(id int32) {
	kept := o.wants[:0]
	for _, w := range o.wants {
		if w.ticket != id {
			kept = append(kept, w)
		}
	}
	o.wants = kept
}

// retryLater asks for a Retry at this instant, after all that changes in it.
func (o *Operator) retryLater(now int64) {
	if (len(o.wants) > 0 || o.campaign.blocked) && !o.asked {
		o.asked = true
		o.task(now, Retry, -1, 0)
	}
}

// retry tries the refused drains again, first refused first.
func (o *Operator) retry(now int64) {
	kept := o.wants[:0]
	for _, w := range o.wants {
		if !o.drain(w.ticket, w.part, now) {
			kept = append(kept, w)
		}
	}
	o.wants = kept
}

func choose(p part, link, router Deed) Deed {
	if p.router {
		return router
	}
	return link
}
