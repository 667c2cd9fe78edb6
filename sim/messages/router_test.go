package messages

import (
	"math"

	"halflight/model/fabric"
	"halflight/model/timer"
)

// drainedMetric is the highest metric that a path may use (2^24 - 2).
const drainedMetric = 1<<24 - 2

// router is one router: everything it has and nothing else.
type router struct {
	id      int32
	fabric  *fabric.Fabric // names of links and where they lead; what is up it must be told
	ports   []fabric.Port
	set     *timer.Set
	wire    *wire
	slow    float64 // what a slow control plane multiplies its times by
	leaf    bool
	alive   bool
	number  int    // of its newest LSP; outlasts an outage
	life    int    // how often it came up
	part    []bool // by circuit: in the flooding topology
	serials []int  // of timers, so that an old one is known

	// What the operator has set; it outlasts an outage too.
	drained    []bool // by circuit
	drainedAll bool

	database database
	own      *lsp      // its newest LSP since it came up
	circuits []circuit // by port
	armed    []bool    // timers that run, by slot

	temporary bool // floods over all circuits
	spf       backoff
	lspWait   doubling

	table    [][]int // in force: circuits by destination
	pending  []*write
	running  []*run
	waiting  int // runs, for the one before to be over
	runEnds  int64
	writeEnd int64

	bit       bool // overload until ready
	ready     bool // the first whole table is in force
	first     int  // circuit of the first adjacency; -1 before
	exchanged bool
	awaited   []digest // of the first exchange, while its LSPs come one by one

	effects      []effect
	runs         []int64
	originations []int64
	sent, resent int // LSPs
}

// input is what happens to a router.
type input struct {
	kind    inputKind
	circuit int
	on      bool // adjacency, bothWays, asks, drain
	asked   bool // bothWays: the other end wants to be flooded to
	factor  float64
	slot    int // timer
	serial  int // of the timer; of all else that was planned, the life it was planned in
	message message
	run     *run
	write   *write
}

type inputKind uint8

const (
	fails inputKind = iota
	returns
	adjacency // the end of a circuit came up or went down
	slows     // its control plane becomes slow, or no longer
	bothWays  // the circuit can be used in both directions, or no longer
	asks      // the other end of a circuit wants to be flooded to, or no longer
	compares  // the circuit is used for flooding from now on
	drain     // of a circuit, or of the router if the circuit is -1
	arrives   // a message
	expires   // a timer
	runIsOver
	writeIsDue
	pruneIsDue
)

// effect is what a router does: something is sent, or is to happen to itself
// later. Both may be now, which means in the next round of this instant.
type effect struct {
	kind    effectKind
	at      int64
	circuit int
	message message
	later   input
}

type effectKind uint8

const (
	sends effectKind = iota
	plans
	requests // the other end of the circuit gets the input that is later, at once
	changesTable
)

// Slots of timers, in the order in which those of one router are taken. From
// firstOfCircuits on each circuit has one of each.
const (
	slotSPF = iota
	slotLearn
	slotHolddown
	slotQuiet
	slotLSPQuiet
	slotLSP
	firstOfCircuits
	ofToken   = 0
	ofResend  = 1
	ofSummary = 2
	ofEach    = 3
)

func newRouter(id int32, f *fabric.Fabric, set *timer.Set, w *wire) *router {
	n := len(f.Ports[id])
	x := &router{id: id, fabric: f, ports: f.Ports[id], set: set, wire: w, leaf: int(id) < f.Leaves, number: 1, slow: 1,
		serials: make([]int, firstOfCircuits+ofEach*n), drained: make([]bool, n)}
	x.clear()
	return x
}

// clear empties a router: S6.
func (x *router) clear() {
	n := len(x.ports)
	x.database, x.own = make(database, len(x.fabric.Routers)), nil
	x.circuits = make([]circuit, n)
	for c := range x.circuits {
		x.circuits[c].bucket.tokens = x.wire.burst
	}
	x.armed = make([]bool, len(x.serials))
	x.spf = newBackoff(x.set.SPF)
	x.lspWait = doubling{first: x.set.LSPGeneration.First, incremental: x.set.LSPGeneration.Incremental, maximum: x.set.LSPGeneration.Maximum}
	x.table, x.pending, x.running = make([][]int, x.fabric.Leaves), nil, nil
	x.waiting, x.runEnds, x.writeEnd = 0, -1, -1
	x.bit, x.ready, x.first, x.exchanged, x.awaited, x.temporary = false, false, -1, false, nil, false
}

// Step is the whole of a router: what happens to it, and what it does about it.
func (x *router) Step(now int64, in input) []effect {
	x.effects = x.effects[:0]
	if !x.alive && in.kind != returns && in.kind != drain && in.kind != slows {
		return nil
	}
	if in.kind >= runIsOver && in.serial != x.life {
		return nil
	}
	switch in.kind {
	case fails:
		x.alive = false
		x.clear()
	case returns:
		x.alive = true
		x.life++
		x.bit = x.set.UntilReady
		x.help(now)
	case adjacency:
		x.adjacencyChanged(now, in.circuit, in.on)
	case slows:
		x.slow = in.factor
	case bothWays:
		x.circuits[in.circuit].asked = in.asked
		x.useCircuit(now, in.circuit, in.on)
	case asks:
		x.asked(now, in.circuit, in.on)
	case compares:
		x.summarise(now, in.circuit)
	case drain:
		x.drainChanged(now, in.circuit, in.on)
	case arrives:
		x.receive(now, in.circuit, in.message)
	case expires:
		if x.armed[in.slot] && x.serials[in.slot] == in.serial {
			x.armed[in.slot] = false
			x.expired(now, in.slot)
		}
	case runIsOver:
		x.finish(now, in.run)
	case writeIsDue:
		x.write(now, in.write)
	case pruneIsDue:
		x.prune(in.circuit)
	}
	return x.effects
}

// arm starts a timer, anew if it runs.
func (x *router) arm(slot int, at int64) {
	x.serials[slot]++
	x.armed[slot] = true
	x.plan(at, input{kind: expires, slot: slot, serial: x.serials[slot]})
}

// paced is a time of the router's own.
func (x *router) paced(t int64) int64 { return int64(math.Round(float64(t) * x.slow)) }

// plan has something happen to the router later. It is void after an outage.
func (x *router) plan(at int64, in input) {
	if in.kind != expires {
		in.serial = x.life
	}
	x.effects = append(x.effects, effect{kind: plans, at: at, later: in})
}

func (x *router) expired(now int64, slot int) {
	switch slot {
	case slotSPF:
		x.spf.ran(x, now)
		x.ask(now)
	case slotLearn, slotHolddown, slotQuiet:
		x.spf.timer(x, slot)
	case slotLSPQuiet:
		x.lspWait.rest()
	case slotLSP:
		x.lspWait.fired()
		x.originate(now)
	default:
		c := (slot - firstOfCircuits) / ofEach
		switch (slot - firstOfCircuits) % ofEach {
		case ofToken:
			x.pump(now, c)
		case ofResend:
			x.resend(now, c)
		default:
			x.summarise(now, c)
		}
	}
}

// adjacencyChanged: S9, and the prune of S18.
func (x *router) adjacencyChanged(now int64, c int, up bool) {
	if x.circuits[c].held == up {
		return
	}
	x.circuits[c].held = up
	switch {
	case up || !x.set.LocalPrune:
	case x.set.PruneDelay == 0:
		x.prune(c) // part of the detection
	default:
		x.plan(now+x.set.PruneDelay, input{kind: pruneIsDue, circuit: c})
	}
	x.help(now)
	x.change(now)
}

// drainChanged: S26. A router that is down takes note. A bit that is there anyway
// does not change, and asks for nothing.
func (x *router) drainChanged(now int64, c int, on bool) {
	bit := x.overload()
	if c < 0 {
		x.drainedAll = on
	} else {
		x.drained[c] = on
	}
	if x.alive && (c >= 0 || bit != x.overload()) {
		x.change(now)
	}
}

// overload is the bit that the router would send now.
func (x *router) overload() bool { return x.bit || x.drainedAll || x.leaf && x.set.OverloadLeaves }

// change asks for a new LSP: S9.
func (x *router) change(now int64) {
	x.arm(slotLSPQuiet, now+x.set.LSPGeneration.Wait)
	if !x.armed[slotLSP] {
		x.arm(slotLSP, now+x.lspWait.wait())
	}
}

// metric is what the router would say of a circuit now.
func (x *router) metric(c int) uint32 {
	if x.drained[c] {
		return drainedMetric
	}
	l, lower := &x.fabric.Links[x.ports[c].Link], 1
	if x.ports[c].Lower {
		lower = 0
	}
	return l.Metric[lower]
}

// compose is the LSP that the router would send now.
func (x *router) compose(number int) *lsp {
	l := &lsp{origin: x.id, number: number, bit: x.overload()}
	for c, p := range x.ports {
		if x.circuits[c].held {
			l.lists = append(l.lists, listed{p.Link, x.metric(c)})
		}
	}
	return l
}

// originate: S9, S10.
func (x *router) originate(now int64) {
	if l := x.compose(x.number + 1); !l.says(x.own) {
		x.number++
		x.own = l
		x.database[x.id] = l
		x.originations = append(x.originations, now)
		x.flood(now, l, -1)
	}
	x.spf.event(x, now)
}
