package messages

import (
	"container/heap"
	"math"
	"math/rand/v2"

	"halflight/model"
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/timer"
)

// play is one play of a script: the routers, the lines between them, and what
// joins them.
type play struct {
	world   *model.World
	f       *fabric.Fabric
	wire    *wire
	routers []*router
	lines   []line
	faults  []faultState
	queue   events
	turn    int
	now     int64
	round   int
	chance  *rand.Rand

	share    float64
	from     int64 // since when it is lost
	moved    bool  // what is lost may have changed
	lost     float64
	shares   []step
	flying   int  // LSPs on their way
	changes  int  // of links and adjacencies
	meetings int  // of these, while an LSP was on its way
	drawing  bool // the area leader is about to draw the flooding topology anew
}

// step is the lost share from an instant on.
type step struct {
	at    int64
	share float64
}

// ideal is the wire of S11 and S12: every hop takes the same time, summaries none.
func ideal(w *model.World) *wire {
	return &wire{perHop: w.Timers.PerHop, exchange: w.Timers.Exchange, atOnce: true, resend: 5e9}
}

// playScript plays a world's script to its horizon.
func playScript(w *model.World, by *wire) *play {
	p := newPlay(w, by)
	p.run(w.WarmUp + w.Horizon)
	return p
}

// newPlay sets up S3. It panics on what this twin does not know: routers that
// forward without a control plane, entries never written, hellos in three ways,
// negotiated intervals, damping, shared groups, ordered and delayed writes,
// repair tunnels, hosts, mixed timers.
func newPlay(w *model.World, by *wire) *play {
	if t := &w.Timers; t.ThreeWay || t.BFDReceive != 0 || t.BFDAt != (timer.Set{}).BFDAt || t.Damping.On || t.SharedGroups || t.Ordered ||
		t.LocalDelay != 0 || t.RepairTunnel || t.Hosts > 0 || len(w.Mixed) > 0 {
		panic("messages: timers: not played here")
	}
	for i := range w.Script {
		if s := &w.Script[i]; s.Silences() || s.Kind == failure.Unwritten {
			panic("messages: script: not played here: " + s.Kind.String() + " of " + s.On)
		}
	}
	p := &play{world: w, f: w.Fabric, wire: by, now: -1, chance: rand.New(rand.NewPCG(by.seed, 0x6d657373))}
	for r := range p.f.Routers {
		x := newRouter(int32(r), p.f, &w.Timers, by)
		for c := range x.circuits {
			x.circuits[c].held, x.circuits[c].on = true, true
		}
		x.alive, x.ready, x.exchanged, x.first = true, true, true, 0
		p.routers = append(p.routers, x)
	}
	all := make(database, len(p.routers))
	for r, x := range p.routers {
		all[r] = x.compose(1)
	}
	for r, x := range p.routers {
		x.own = all[r]
		copy(x.database, all)
		x.table = x.paths()
	}
	if w.Timers.FloodingDegree > 0 {
		p.draw(func(int32) bool { return true })
	}
	p.startLines()
	p.plan(event{at: 0, stage: physical, do: p.begin})
	p.planScript()
	p.planTicks()
	return p
}

// begin is what happens at time 0 before all else.
func (p *play) begin() {
	for r, x := range p.routers {
		x.effects = x.effects[:0]
		if p.world.Timers.LastState {
			x.spf.startLast(x, 0)
			p.carryOut(int32(r), x.effects)
		}
	}
	p.moved = true
}

// plan puts an event into the queue. What is due now belongs to the next round.
func (p *play) plan(e event) {
	if e.at == p.now {
		e.round = p.round + 1
	}
	p.planExactly(e)
}

func (p *play) planExactly(e event) {
	p.turn++
	e.turn = p.turn
	heap.Push(&p.queue, &e)
}

// run works through all instants before the end.
func (p *play) run(end int64) {
	for len(p.queue) > 0 && p.queue[0].at < end {
		e := heap.Pop(&p.queue).(*event)
		p.now, p.round = e.at, e.round
		e.do()
		if len(p.queue) == 0 || p.queue[0].at != p.now {
			p.measure()
		}
	}
	p.lost += float64(end-p.from) * p.share
	p.from = end
}

// measure takes the lost share after the last round of an instant.
func (p *play) measure() {
	if !p.moved {
		return
	}
	p.moved = false
	share := p.lostShare()
	p.lost += float64(p.now-p.from) * p.share
	p.from, p.share = p.now, share
	if n := len(p.shares); n == 0 || math.Abs(share-p.shares[n-1].share) > 1e-13 {
		p.shares = append(p.shares, step{p.now, share})
	}
}

// tell gives a router an input and carries out what it does.
func (p *play) tell(r int32, in input) { p.carryOut(r, p.routers[r].Step(p.now, in)) }

func (p *play) carryOut(r int32, effects []effect) {
	for _, e := range append([]effect(nil), effects...) {
		switch e.kind {
		case sends:
			p.carry(r, e)
		case changesTable:
			p.moved = true
		case requests:
			port, in := p.f.Ports[r][e.circuit], e.later
			in.circuit = int(port.Back)
			p.planExactly(event{at: p.now, round: p.round, stage: detections, step: summaries, part: [2]int32{port.Peer, port.Link}, do: func() { p.tell(port.Peer, in) }})
		case plans:
			s, step, part := timers, 0, [2]int32{r, int32(e.later.slot)}
			switch e.later.kind {
			case runIsOver, writeIsDue:
				s, part[1] = writes, 0
			case pruneIsDue:
				s, step, part[1] = detections, prunes, p.f.Ports[r][e.later.circuit].Link
			}
			in := e.later
			p.plan(event{at: e.at, stage: s, step: step, part: part, do: func() { p.tell(r, in) }})
		}
	}
}

// carry takes a message to the other end of a circuit, unless the link is not
// alive or the message is lost.
func (p *play) carry(r int32, e effect) {
	port := p.f.Ports[r][e.circuit]
	if !p.lines[port.Link].alive || p.wire.loss > 0 && p.chance.Float64() < p.wire.loss {
		return
	}
	// A direction that drops everything drops LSPs too only with losses on (S11).
	to, in := port.Peer, input{kind: arrives, circuit: int(port.Back), message: e.message}
	if e.message.kind == carriesSummary && e.at == p.now {
		p.planExactly(event{at: p.now, round: p.round, stage: detections, step: summaries, part: [2]int32{to, port.Link}, do: func() { p.tell(to, in) }})
		return
	}
	// LSPs by origin, the newer of two versions first; then exchanges, by link.
	part, newer := [2]int32{to, -1}, 0
	switch {
	case e.message.all:
		part[1] = int32(len(p.routers)) + port.Link
	case e.message.kind == carriesLSPs:
		part[1], newer = e.message.lsps[0].origin, e.message.lsps[0].number
	}
	flies := e.message.kind == carriesLSPs
	if flies {
		p.flying++
	}
	p.plan(event{at: e.at, stage: arrivals, part: part, newer: newer, do: func() {
		if flies {
			p.flying--
		}
		p.tell(to, in)
	}})
}

// meets notes a change of a link or an adjacency, and whether it meets an LSP.
func (p *play) meets() {
	p.changes++
	if p.flying > 0 {
		p.meetings++
	}
}

// faultState is a scripted fault.
type faultState struct{ *failure.Scripted }
