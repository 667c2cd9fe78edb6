package sim

import (
	"math"

	"halflight/model"
	"halflight/model/failure"
)

// trace keeps the lost share over time.
type trace struct {
	at     []int64
	shares []float64
	// By router: when it noticed an end of an adjacency go or come, when runs of
	// SPF ended, and when entries of its table changed.
	noticed, wrote [][]int64
	before         [][]int64 // by router: time in each state of its back-off in the warm-up
	servers        []ServersDid
}

// share notes the lost share at an instant. Less than rounding is no change.
func (t *trace) share(now int64, share float64) {
	n := len(t.at)
	if n > 0 && math.Abs(share-t.shares[n-1]) <= 1e-13 {
		return
	}
	if n > 0 && t.at[n-1] == now {
		t.shares[n-1] = share
		return
	}
	t.at, t.shares = append(t.at, now), append(t.shares, share)
}

// note adds an instant to a router's list, once.
func note(list [][]int64, x int32, now int64) {
	if n := len(list[x]); n == 0 || list[x][n-1] != now {
		list[x] = append(list[x], now)
	}
}

// Step is the lost share of all demand from an instant on.
type Step struct {
	At    int64
	Share float64
}

// Played is what a script did. Times are ns; -1 stands for none.
type Played struct {
	LostShare   []Step
	LostSeconds float64
	Faults      []PlayedFault
	Routers     []PlayedRouter
	RouteLoss   []PairLoss
	States      []string // of the back-off, first to last
	Servers     []ServersDid
	Resets      int64 // overlay sessions that dropped
}

// PlayedFault is one fault of a script.
type PlayedFault struct {
	Index             int
	On, Kind          string
	FullConvergence   int64
	RepairConvergence int64
	Isolated          int64 // Full Convergence Time with all later changes left out
	Open              bool  // still there at the horizon
	LostSeconds       float64
	Phases            []float64
}

// PlayedRouter is one router of a script.
type PlayedRouter struct {
	Name         string
	Noticed      []int64 // ends of its adjacencies went or came
	Wrote        []int64 // entries of its table changed
	Runs         []int64
	Originations []int64
	Backoff      []int64 // ns in each state while alive, from the end of the warm-up on
}

// PairLoss is the time during which some flow between two leaves was lost
// entirely although there was a path.
type PairLoss struct {
	From, To string
	Time     int64
}

// Script plays the script of a world alone, exactly, without chance.
func Script(w *model.World) *Played {
	e := playScript(w, w.Script)
	p := e.played()
	for i := range p.Faults {
		if i >= len(w.Script) || !w.Script[i].Kind.Converges() { // the former is demand
			continue
		}
		alone := playScript(w, until(w.Script, w.Script[i].At))
		p.Faults[i].Isolated, _ = alone.ledger.Convergence(int32(i))
	}
	return p
}

func playScript(w *model.World, script []failure.Scripted) *engine {
	e := newEngine(w, nil, traced)
	e.addScript(script)
	if e.servers != nil {
		e.servers.Tell = func(what, to string) { e.trace.servers = noteServers(e.trace.servers, e.now, what, to) }
	}
	e.run()
	return e
}

// traceWarmUp plays a script's warm-up, in which nothing happens, and notes how long
// routers were in which state of their back-off.
func (e *engine) traceWarmUp() {
	if e.trace == nil || e.w.WarmUp == 0 {
		return
	}
	e.advance(e.w.WarmUp)
	for x := range e.f.Routers {
		e.trace.before = append(e.trace.before, e.control.StateTimes(int32(x), e.w.WarmUp))
	}
}

// traceWrites notes whose tables changed at an instant; a router that dies writes
// nothing, though its table is empty then.
func (e *engine) traceWrites() {
	if e.trace == nil {
		return
	}
	for _, c := range e.control.Changed {
		if !e.body.dead[c.Router] {
			note(e.trace.wrote, c.Router, max(0, e.now))
		}
	}
}

// backoffOf is the time that a router spent in each state since then.
func (e *engine) backoffOf(x int32) []int64 {
	times := e.control.StateTimes(x, e.until)
	if len(e.trace.before) > 0 {
		for s, t := range e.trace.before[x] {
			times[s] -= t
		}
	}
	return times
}

// until leaves out of a script all changes later than an instant.
func until(script []failure.Scripted, at int64) []failure.Scripted {
	out := append([]failure.Scripted(nil), script...)
	for i := range out {
		s := &out[i]
		if s.At > at {
			s.At, s.End = math.MaxInt64/4, -1 // never begins
		}
		if s.End > at {
			s.End = -1
		}
		for n, c := range s.Changes {
			if s.At+c > at {
				s.Changes = s.Changes[:n:n]
				break
			}
		}
	}
	return out
}

// played reads the outcome off the parts.
func (e *engine) played() *Played {
	p := &Played{LostSeconds: e.ledger.Total(e.until), States: e.w.BackoffStates()}
	for i, at := range e.trace.at {
		p.LostShare = append(p.LostShare, Step{at, e.trace.shares[i]})
	}
	if e.servers != nil {
		p.Servers, p.Resets = e.trace.servers, e.servers.Resets
	}
	for i := range e.faults {
		f := &e.faults[i]
		out := PlayedFault{Index: i, On: f.on, Kind: f.Kind.String(), Open: !f.over && f.Kind.Converges(), Isolated: -1}
		out.FullConvergence, out.RepairConvergence = e.ledger.Convergence(int32(i))
		var phases [14]float64
		out.LostSeconds, phases = e.ledger.Lost(int32(i))
		out.Phases = phases[:]
		p.Faults = append(p.Faults, out)
	}
	for x := range e.f.Routers {
		p.Routers = append(p.Routers, PlayedRouter{Name: e.f.Routers[x].Name, Noticed: e.trace.noticed[x], Wrote: e.trace.wrote[x], Runs: e.control.RanAt[x],
			Originations: e.control.OriginatedAt[x], Backoff: e.backoffOf(int32(x))})
	}
	for s := range e.f.Leaves {
		for d := range e.f.Leaves {
			if t := e.ledger.RouteLoss(int32(d), int32(s)); t > 0 {
				p.RouteLoss = append(p.RouteLoss, PairLoss{e.f.Routers[s].Name, e.f.Routers[d].Name, t})
			}
		}
	}
	return p
}
