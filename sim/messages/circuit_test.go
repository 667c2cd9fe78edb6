package messages

import "slices"

// wire is how messages travel. The zero value of what is optional is off.
type wire struct {
	perHop   int64 // from one router to the next, handling included
	exchange int64 // handling of one LSP of an exchange, if it is sent in one go
	atOnce   bool  // summaries take no time and exchanges go in one go (S12)
	ackDelay int64 // an LSP to its acknowledgement, beside the way back
	resend   int64 // an LSP to its repetition
	burst    int   // LSPs that an interface may send without a pause; 0: no pacing
	interval int64 // pacing: from one LSP to the next
	window   int   // LSPs that may wait for acknowledgement on a circuit; 0: any
	loss     float64
	seed     uint64 // of losses
}

// circuit is one end of a link as its router sees it.
type circuit struct {
	held bool // the adjacency is up here
	on   bool // and at the other end too

	asked bool // the other end wants to be flooded to
	owed  []owed
	bucket
}

// owed is an LSP that the other end has not acknowledged.
type owed struct {
	lsp  *lsp
	sent int64 // -1: waits to be sent
}

// bucket holds tokens, one for each LSP that may be sent at once.
type bucket struct {
	tokens int
	next   int64 // when the next one comes, unless full
}

// take gets a token, or the instant of the next one. Its clock starts when the
// bucket stops being full.
func (b *bucket) take(now int64, w *wire) (bool, int64) {
	if w.burst == 0 {
		return true, 0
	}
	for b.tokens < w.burst && b.next <= now {
		b.tokens++
		b.next += w.interval
	}
	if b.tokens == 0 {
		return false, b.next
	}
	if b.tokens == w.burst {
		b.next = now + w.interval
	}
	b.tokens--
	return true, 0
}

// useCircuit begins or ends the use of a circuit. A new one begins with a
// summary of what the router has, so that each end sees what the other lacks.
func (x *router) useCircuit(now int64, c int, on bool) {
	k := &x.circuits[c]
	k.on, k.owed = on, nil
	switch {
	case on:
		if x.first < 0 {
			x.first = c
		}
		x.summarise(now, c)
	case c == x.first && !x.exchanged:
		x.first, x.awaited = -1, nil // another one will have to do
	}
}

// summaryEvery is how often a summary is sent again, so that a lost one does no
// lasting harm: completeSNPInterval of ISO/IEC 10589, which has it for LANs.
const summaryEvery = 10e9

// summarise sends a summary of what the router has.
func (x *router) summarise(now int64, c int) {
	m := message{kind: carriesSummary, summary: x.database.summary()}
	switch {
	case x.wire.atOnce:
		x.send(now, c, m)
	case x.circuits[c].on:
		x.send(now+x.paced(x.wire.perHop), c, m)
		x.arm(firstOfCircuits+ofEach*c+ofSummary, now+summaryEvery)
	}
}

func (x *router) send(at int64, c int, m message) {
	x.effects = append(x.effects, effect{kind: sends, at: at, circuit: c, message: m})
}

// flood owes an LSP to the other ends of all circuits but one.
func (x *router) flood(now int64, l *lsp, except int) {
	for c := range x.circuits {
		if c != except && x.flows(c) {
			x.owe(now, c, l)
		}
	}
}

// owe marks an LSP as one that the other end must get.
func (x *router) owe(now int64, c int, l *lsp) {
	k := &x.circuits[c]
	if !k.on {
		return
	}
	x.settled(c, l.origin, l.number)
	k.owed = append(k.owed, owed{l, -1})
	x.pump(now, c)
}

// settled takes an LSP off what is owed: the other end has it, or a newer one.
func (x *router) settled(c int, origin int32, number int) {
	k := &x.circuits[c]
	kept := k.owed[:0]
	for _, o := range k.owed {
		if o.lsp.origin != origin || o.lsp.number > number {
			kept = append(kept, o)
		}
	}
	k.owed = kept
}

// pump sends what may be sent now on a circuit, first asked first.
func (x *router) pump(now int64, c int) {
	k := &x.circuits[c]
	out := 0
	for _, o := range k.owed {
		if o.sent >= 0 {
			out++
		}
	}
	for i := range k.owed {
		o := &k.owed[i]
		if o.sent >= 0 {
			continue
		}
		if x.wire.window > 0 && out >= x.wire.window {
			return // an acknowledgement, or a repetition, opens it again
		}
		ok, next := k.take(now, x.wire)
		if !ok {
			if slot := firstOfCircuits + ofEach*c + ofToken; !x.armed[slot] {
				x.arm(slot, next)
			}
			return
		}
		o.sent = now
		out++
		x.sent++
		x.send(now+x.paced(x.wire.perHop), c, message{lsps: []*lsp{o.lsp}})
		x.watch(c)
	}
}

// watch starts the clock of repetitions of a circuit, if it does not run.
func (x *router) watch(c int) {
	slot, due := firstOfCircuits+ofEach*c+ofResend, int64(-1)
	if x.armed[slot] {
		return
	}
	for _, o := range x.circuits[c].owed {
		if at := o.sent + x.wire.resend; o.sent >= 0 && (due < 0 || at < due) {
			due = at
		}
	}
	if due >= 0 {
		x.arm(slot, due)
	}
}

// resend puts what was sent long ago and not acknowledged back into the queue.
func (x *router) resend(now int64, c int) {
	k := &x.circuits[c]
	for i := range k.owed {
		if o := &k.owed[i]; o.sent >= 0 && o.sent+x.wire.resend <= now {
			o.sent = -1
			x.resent++
		}
	}
	x.pump(now, c)
	x.watch(c)
}

// receive takes a message from a circuit that is in use.
func (x *router) receive(now int64, c int, m message) {
	if !x.circuits[c].on {
		return
	}
	switch m.kind {
	case carriesSummary:
		x.answer(now, c, m.summary)
	case carriesAck:
		for _, d := range m.ack {
			x.settled(c, d.origin, d.number)
		}
		x.pump(now, c)
	case carriesLSPs:
		var acks []digest
		for _, l := range m.lsps {
			if x.take(now, c, l) {
				acks = append(acks, digest{l.origin, l.number})
			}
		}
		if acks != nil {
			x.send(now+x.wire.ackDelay+x.paced(x.wire.perHop), c, message{kind: carriesAck, ack: acks})
		}
		if m.all && c == x.first {
			x.exchanged = true
		}
		x.complete()
	}
}

// take is the update of ISO/IEC 10589: a newer LSP is kept and passed on, the
// same one settles what is owed, an older one is answered with the newer. It says
// whether the LSP is to be acknowledged.
func (x *router) take(now int64, c int, l *lsp) bool {
	if l.origin == x.id {
		return true // what others say that the router had said is no news (S6)
	}
	had := x.database[l.origin]
	switch {
	case had != nil && l.number < had.number:
		x.owe(now, c, had)
		return false
	case had != nil && l.number == had.number:
		x.settled(c, l.origin, l.number)
		return true
	}
	x.settled(c, l.origin, l.number)
	var before twoWay
	if !x.set.SecondLSPCounts {
		before = x.database.twoWay(x.fabric)
	}
	x.database[l.origin] = l
	x.flood(now, l, c)
	if x.set.SecondLSPCounts && !l.says(had) || !x.set.SecondLSPCounts && !before.equal(x.database.twoWay(x.fabric)) {
		x.spf.event(x, now)
	}
	return true
}

// answer sends the other end of a circuit what it lacks.
func (x *router) answer(now int64, c int, has []digest) {
	peer := x.ports[c].Peer
	theirs := make([]int, len(x.database))
	for _, d := range has {
		theirs[d.origin] = d.number
	}
	var lacks []*lsp
	for r, l := range x.database {
		if l != nil && l.number > theirs[r] && int32(r) != peer {
			lacks = append(lacks, l)
		}
	}
	if x.wire.atOnce {
		k := &x.circuits[c]
		for _, l := range lacks {
			k.owed = append(k.owed, owed{l, now})
		}
		x.sent += len(lacks)
		x.send(now+x.paced(x.wire.perHop)+int64(len(lacks))*x.wire.exchange, c, message{lsps: lacks, all: true})
		x.watch(c)
		return
	}
	for _, l := range lacks {
		if !slices.ContainsFunc(x.circuits[c].owed, func(o owed) bool { return o.lsp == l }) {
			x.owe(now, c, l)
		}
	}
	if c == x.first && !x.exchanged {
		x.awaited = append([]digest{}, has...)
		x.complete()
	}
}

// complete notes the end of a first exchange that comes LSP by LSP.
func (x *router) complete() {
	if x.awaited == nil {
		return
	}
	for _, d := range x.awaited {
		if l := x.database[d.origin]; d.origin != x.id && (l == nil || l.number < d.number) {
			return
		}
	}
	x.exchanged, x.awaited = true, nil
}
