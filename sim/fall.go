package sim

import (
	"math"

	"halflight/model/failure"
	"halflight/sim/detection"
	"halflight/sim/kernel"
)

// mayFall draws when sessions over the directions of a lossy fault first lose
// so many packets in a row that they are falsely down.
func (e *engine) mayFall(id int32) {
	f := &e.faults[id]
	if (f.Kind != failure.Lossy && f.Kind != failure.Silent) || f.Loss >= 1 || !e.clocked() {
		return
	}
	type pace struct {
		interval   int64
		multiplier int
	}
	var known pace
	var law *detection.Session
	for _, d := range e.directionsOf(f) {
		var p pace
		jitter := e.t.BFDJitter
		p.interval, p.multiplier = e.t.BFDPace(uint8(e.f.Routers[e.f.From(d)].Class), uint8(e.f.Routers[e.f.To(d)].Class))
		if !e.t.BFD {
			p, jitter = pace{e.t.HelloInterval, e.t.HelloMultiplier}, e.t.HelloJitter
		}
		if law == nil || p != known {
			known, law = p, detection.NewSession(detection.LossOf(&f.Condition), p.multiplier, p.interval, jitter)
		}
		if law.Mean() > 1e6*float64(e.until) {
			continue // never in a million horizons
		}
		e.chance.sessions = append(e.chance.sessions, session{fault: id, law: law})
		e.nextFall(int32(len(e.chance.sessions)-1), d, e.now)
	}
}

// nextFall makes the next false down of a session due, counted from an instant.
func (e *engine) nextFall(s, direction int32, from int64) {
	after := e.drawFall(s, direction)
	if after < e.until-from {
		e.push(from+max(after, 1), rankDetection, e.f.To(direction), direction>>1, kernel.Event{Kind: fall, A: direction, B: s})
	}
}

func (e *engine) drawFall(s, direction int32) int64 {
	c := e.chance
	x := &c.sessions[s]
	u, p := e.unitOf(x.fault)
	x.draws++
	v := c.draw(p.fall, u, 2*x.draws+int(direction&1))
	if after := x.law.FalseDown(v); after < math.MaxInt64/4 {
		return after
	}
	return math.MaxInt64 / 4
}

// fallen is a session that lost too many packets in a row. It comes up again
// once it would have stayed up for the settle time.
func (e *engine) fallen(direction, s int32) {
	c := e.chance
	link := direction >> 1
	if s < 0 {
		if e.routerless() && e.body.again[link] == e.now {
			e.sketchFall(link, false)
		}
		return
	}
	id := c.sessions[s].fault
	if e.faults[id].over {
		return
	}
	again := e.now
	for again < e.until { // on a link that loses nearly all it never stays up
		next := e.drawFall(s, direction)
		if next >= e.t.Settle {
			break
		}
		again += next
	}
	again += max(e.t.Settle, 1)
	switch {
	case e.routerless():
		if e.passesAt(link) {
			e.body.again[link], e.body.fell[link] = again, s
			e.sketchFall(link, true)
			e.push(again, rankDetection, e.f.To(direction), link, kernel.Event{Kind: fall, A: direction, B: -1})
		}
	case e.body.truth[link].Alive && e.links.Up(direction) && e.links.Up(direction^1):
		e.goDown(direction, id, again)
	}
	e.nextFall(s, direction, again)
}

// goDown takes the session that a direction's packets feed down until an instant.
func (e *engine) goDown(direction, id int32, again int64) {
	link := direction >> 1
	e.changes = e.links.FalseDown(direction^1, e.now, again, e.changes[:0])
	e.body.falseDown[link], e.body.again[link] = true, again
	e.outside = true
	e.commitLink(link)
	e.ledger.Truth.LinkFault[link] = id
	e.ledger.Turn(id, e.now)
	e.applyTruth()
	e.ledger.Retry()
	e.noticed()
}

// soundAgain is the end of a lossy fault: a session that it keeps down is up
// again once the settle time has passed.
func (e *engine) soundAgain(id int32) {
	at := e.now + max(e.t.Settle, 1)
	for _, d := range e.directionsOf(&e.faults[id]) {
		link := d >> 1
		switch {
		case !e.body.falseDown[link] || e.body.again[link] <= at:
		case e.routerless():
			if e.chance.sessions[e.body.fell[link]].fault == id {
				e.body.again[link] = at
				e.push(at, rankDetection, e.f.To(d), link, kernel.Event{Kind: fall, A: d, B: -1})
			}
		case e.ledger.Truth.LinkFault[link] == id:
			e.body.again[link] = at
			e.changes = e.links.FalseDown(d^1, e.now, at, e.changes[:0])
		}
	}
}

// risen ends a false down when the session is up again.
func (e *engine) risen(link int32) {
	if e.body.falseDown[link] && e.links.Up(2*link) && e.links.Up(2*link+1) {
		e.body.falseDown[link] = false
		e.outside = true
		if id := e.ledger.Truth.LinkFault[link]; id >= 0 {
			e.ledger.Turn(id, e.now)
			e.ledger.Detected(id, -1, e.now)
		}
		e.commitLink(link)
		e.applyTruth()
		e.ledger.Retry()
	}
}
