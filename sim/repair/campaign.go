package repair

import "halflight/model/operation"

// Visit is planned work on one box, as chance decides it.
type Visit struct {
	Box   int32 // a router
	Works int64 // how long it is out, ns
	Dead  int64 // and how much longer, if it does not boot; else 0

	Undrained bool // the drain is forgotten
	Early     bool // it is put back as it boots
	Serves    bool // it goes on forwarding meanwhile, so that none of its links is out
}

// campaign is one round of planned work over the boxes of a tier.
//
// At most so many boxes are out at once. A box is begun only if its drain would
// be allowed: see want. Leaves may be, since no drain would help their servers. A
// box that is not allowed stands aside for those behind it.
type campaign struct {
	visits  []Visit
	begun   []bool // by visit
	away    []bool // by router: under way
	left    int    // not finished
	night   int64  // day, or window over midnight, of the last box begun
	blocked bool   // a box could be begun if the rules allowed it
	awaits  bool   // the next window is due
}

// Planned is what campaigns did so far. Times are ns.
type Planned struct {
	Boxes     int64   // finished
	Campaigns int64   // begun
	Nights    int64   // days, or windows over midnight, in which a box was begun, summed over campaigns
	Left      int64   // boxes of the campaign under way that are not finished
	Skipped   int64   // campaigns that were due while another was under way
	Exposed   int64   // time with at least one box out
	Capacity  float64 // least uplink share left at any leaf meanwhile
}

// exposure is how many boxes are out, and the time with one at least.
type exposure struct {
	since, sum int64
	boxes      int
}

func (x *exposure) change(by int, now int64) {
	if x.boxes > 0 {
		x.sum += now - x.since
	}
	x.since = now
	x.boxes += by
}

// StartCampaign begins planned work, one visit a box, in the order of the list. One
// that is due while another is under way is skipped.
func (o *Operator) StartCampaign(visits []Visit, now int64) {
	c := &o.campaign
	if c.left > 0 {
		o.planned.Skipped++
		return
	}
	o.planned.Campaigns++
	*c = campaign{visits: visits, begun: make([]bool, len(visits)), away: make([]bool, len(o.use.nodes)), left: len(visits), night: -1, awaits: c.awaits}
	o.proceed(now)
}

// proceed begins work on as many boxes as may be out.
func (o *Operator) proceed(now int64) {
	c, u := &o.campaign, o.plan.Upgrades
	c.blocked = false
	if c.left == 0 || o.exposure.boxes >= u.AtOnce {
		return
	}
	if opens := nextOpening(u, u.Length(o.plan.SoakTime), now); opens > now {
		if !c.awaits {
			c.awaits = true
			o.task(opens, Open, -1, 0)
		}
		return
	}
	for i := range c.visits {
		if c.begun[i] {
			continue
		}
		if !o.mayLeave(c.visits[i].Box) {
			c.blocked = true
			continue
		}
		o.leaves(int32(i), now)
		if o.exposure.boxes >= u.AtOnce {
			c.blocked = false
			return
		}
	}
}

// nextOpening is the first instant from now on at which a box may be begun that is
// out for so long.
func nextOpening(u *operation.Upgrades, length, now int64) int64 {
	if u.From == u.To {
		return now
	}
	opens := now/day*day + u.From
	switch {
	case now >= opens && now+length <= opens-u.From+u.To, now+length <= opens-u.From+u.To-day:
		return now // the second is the window that began the day before
	case now < opens:
		return opens
	}
	return opens + day
}

// mayLeave says whether the rules would allow a box to be drained. The mate of a leaf
// must be in use, since servers of both have no other way meanwhile.
func (o *Operator) mayLeave(box int32) bool {
	if o.use.leaf(box) {
		return !o.plan.Upgrades.Mates || !o.campaign.away[box^1] && o.use.used[box^1] > 0
	}
	return o.use.drains(part{box, true}) > 0 || o.use.allowsRouter(box)
}

// drainOf is how a box is drained; the deed after it takes that back.
func drainOf(u *operation.Upgrades) Deed {
	if u.Drain == operation.ByBit {
		return DrainRouter
	}
	return DrainPorts
}

// leaves takes a box out of use.
func (o *Operator) leaves(i int32, now int64) {
	c, u := &o.campaign, o.plan.Upgrades
	v := &c.visits[i]
	if night := (now - u.From + day) / day; night != c.night {
		c.night = night
		o.planned.Nights++
	}
	c.away[v.Box] = true
	c.begun[i] = true
	o.exposure.change(+1, now)
	if o.exposure.boxes == 1 {
		o.use.expose(true, now)
	}
	if !v.Serves {
		p := part{v.Box, true}
		already := o.use.drains(p) > 0
		o.use.add(p, +1, now)
		if u.Drain != operation.NoDrain && !v.Undrained && !already {
			o.Drains++
			o.doBox(now, drainOf(u), v)
		}
		o.retryLater(now)
	}
	ahead := int64(0)
	if u.Drain != operation.NoDrain {
		ahead = u.Ahead
	}
	o.task(now+ahead, Work, i, 0)
}

// workOn begins the work on a box.
func (o *Operator) workOn(i int32, now int64) {
	c := &o.campaign
	v := &c.visits[i]
	o.doBox(now, Restart, v)
	o.task(now+v.Works+v.Dead, Booted, i, 0)
}

// booted is the end of the work on a box.
func (o *Operator) booted(i int32, now int64) {
	c := &o.campaign
	if c.visits[i].Early {
		o.putBack(i, now)
		return
	}
	o.task(now+o.plan.SoakTime, Settled, i, 0)
}

// putBack puts a box back to use, and goes on with the next.
func (o *Operator) putBack(i int32, now int64) {
	c, u := &o.campaign, o.plan.Upgrades
	v := &c.visits[i]
	if !v.Serves && o.use.add(part{v.Box, true}, -1, now) {
		if u.Drain != operation.NoDrain && !v.Undrained {
			o.doBox(now, drainOf(u)+1, v)
		}
		o.retryLater(now)
	}
	c.away[v.Box] = false
	c.left--
	o.exposure.change(-1, now)
	if o.exposure.boxes == 0 {
		o.use.expose(false, now)
	}
	o.planned.Boxes++
	o.proceed(now)
}

func (o *Operator) doBox(now int64, d Deed, v *Visit) {
	o.Actions = append(o.Actions, Action{At: now, Deed: d, Ticket: -1, Fault: -1, Part: v.Box, Visit: *v})
}

// Planned returns what campaigns did from 0 to now.
func (o *Operator) Planned(now int64) Planned {
	x := o.exposure
	x.change(0, now)
	p := o.planned
	p.Exposed, p.Left, p.Capacity = x.sum, int64(o.campaign.left), o.use.exposedCapacity(now)
	return p
}
