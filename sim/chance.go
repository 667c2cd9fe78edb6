package sim

import (
	"halflight/model"
	"halflight/model/chance"
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/sim/detection"
	"halflight/sim/kernel"
	"halflight/sim/repair"
	"halflight/sim/series"
)

// chanceState is what only a random replication has: the populations that
// fail, the instruments that watch and the operator who acts.
type chanceState struct {
	stream   kernel.Stream
	units    []unit
	modes    []modePurposes
	operator *repair.Operator
	watches  []detection.Lookout // by instrument, nil for complaints
	sights   [][]sightPurposes   // by mode, then instrument; the last row is the script's
	clocks   []kernel.Purpose    // by instrument
	site     *detection.Site
	stalls   series.Stalls
	watching []watch // by fault
	sessions []session
	early    []bool  // by link: drained while no routers were played
	drains   []int32 // by link: the fault that stands for its drain, -1 for none
	drainsOf []int32 // by router: the same
	lastOn   []int64 // by link, then by router: when a fault last began or ended there
	fresh    []int32 // gray faults that began at this instant
	counts   counts
	series   series.Book
}

// unit is one part of a population.
type unit struct {
	mode, part int32 // part: link, router or group
	owner      kernel.Owner
	count      uint32  // onsets so far
	rate       float64 // frailty: times are divided by it

	early    int32 // ticket opened before the onset it is about, -1 for none
	earlyBy  int32 // the instrument that saw it coming
	fault    int32 // the fault that came of it after all, -1 for none
	replaced uint32
	tickets  []int64 // latest, if there is a limit to them
	lastSeen int64   // when its latest ticket was opened, 0 for none
}

// modePurposes are the purposes of a mode's draws.
type modePurposes struct {
	life, frailty, light, loss, oneWay, side, share, flaps, down, gap, hold kernel.Purpose
	lead, hands, works, reaction, wrong, other, complain, fall              kernel.Purpose
	pick, drift, over, paired                                               kernel.Purpose
}

// sightPurposes are the purposes of the draws of one instrument about faults of
// one mode.
type sightPurposes struct{ blind, flow, when kernel.Purpose }

func purposesOf(name string) modePurposes {
	p := func(what string) kernel.Purpose { return kernel.PurposeOf(what, name) }
	return modePurposes{life: p("life"), frailty: p("frailty"), light: p("light"), loss: p("loss"), oneWay: p("one way"),
		side: p("side"), share: p("share"), flaps: p("flaps"), down: p("down"), gap: p("gap"), hold: p("hold"), lead: p("lead"),
		hands: p("hands on"), works: p("works"), reaction: p("reaction"), wrong: p("wrong link"), other: p("other link"),
		complain: p("complain"), fall: p("false down"), pick: p("pick"), drift: p("drift"), over: p("drift over"), paired: p("paired")}
}

// quantile is the one place where a law becomes a number.
func quantile(l *chance.Law, u float64) float64 {
	switch l.Family {
	case chance.Fixed:
		return l.Scale
	case chance.Exponential:
		return kernel.Exponential(u, l.Scale)
	case chance.Weibull:
		return kernel.Weibull(u, l.Shape, l.Scale)
	case chance.Lognormal:
		return kernel.LogNormalMedian(u, l.Scale, l.Shape)
	case chance.Loguniform:
		return kernel.LogUniform(u, l.Low, l.High)
	case chance.Uniform:
		return kernel.Uniform(u, l.Low, l.High)
	case chance.Geometric:
		return kernel.Geometric(u, l.Scale)
	}
	var room [8]kernel.Bucket
	buckets := room[:0]
	for _, b := range l.Bins {
		buckets = append(buckets, kernel.Bucket(b))
	}
	return kernel.Table(u, buckets)
}

// routerLaws are the factors on a router's run and write times and the order of
// its writes.
func routerLaws(w *model.World, s kernel.Stream) (factor func(x int32) float64, rank func(x, d int32) uint64) {
	n := len(w.Fabric.Routers)
	factors, seeds := make([]float64, n), make([]uint64, n)
	purpose, order := kernel.PurposeOf("router factor"), kernel.PurposeOf("write order")
	for x := range n {
		o := routerOwner(&w.Fabric.Routers[x])
		factors[x] = 1
		if w.Spread > 0 {
			factors[x] = kernel.LogNormalMedian(s.Uniform(purpose, o, 0), 1, w.Spread)
		}
		seeds[x] = uint64(s.Uniform(order, o, 0) * (1 << 53))
	}
	mix := func(x, d int32) uint64 {
		z := seeds[x] ^ uint64(d+1)*0x9e3779b97f4a7c15
		z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		return z ^ z>>31
	}
	return func(x int32) float64 { return factors[x] }, mix
}

// lostFloods draws how often in a row a flood is lost on a direction: a geometric
// number, at most 1,000.
func lostFloods(w *model.World, s kernel.Stream) func(direction int32, flood uint64, share float64) int {
	purpose := kernel.PurposeOf("lost LSPs")
	return func(direction int32, flood uint64, share float64) int {
		u := s.Uniform(purpose, linkOwner(w.Fabric, direction>>1), flood<<1|uint64(direction&1))
		return min(int(kernel.Log(max(u, 0x1p-53))/kernel.Log(share)), 1000)
	}
}

// packetDraws are draws for the last packet before an instant, and for the next after it:
// by direction and instant.
func packetDraws(w *model.World, s kernel.Stream) func(what detection.Packet, direction int32, at int64) float64 {
	purposes := [detection.Packets]kernel.Purpose{detection.LastBFD: kernel.PurposeOf("last packet"), detection.NextBFD: kernel.PurposeOf("next packet"),
		detection.LastHello: kernel.PurposeOf("last hello"), detection.NextHello: kernel.PurposeOf("next hello")}
	return func(what detection.Packet, direction int32, at int64) float64 {
		return s.Uniform(purposes[what], linkOwner(w.Fabric, direction>>1), uint64(at)<<1|uint64(direction&1))
	}
}

func routerOwner(r *fabric.Router) kernel.Owner {
	return kernel.OwnerOf(uint8(r.Class)+1, uint32(r.First), uint32(r.Second), 0, 0, 0, 0)
}

func linkOwner(f *fabric.Fabric, l int32) kernel.Owner {
	k := &f.Links[l]
	a, b := &f.Routers[k.Lower], &f.Routers[k.Upper]
	return kernel.OwnerOf(uint8(a.Class)+1, uint32(a.First), uint32(a.Second), uint8(b.Class)+1, uint32(b.First), uint32(b.Second), uint32(k.Parallel))
}

func groupOwner(g *fabric.Group) kernel.Owner {
	h := uint64(kernel.PurposeOf(g.Name))
	return kernel.OwnerOf(16+uint8(g.Class), uint32(h), uint32(h>>32), 0, 0, 0, 0)
}

// populate makes the first onset of every unit due.
func (e *engine) populate() {
	c := e.chance
	for m := range e.w.Modes {
		mode := &e.w.Modes[m]
		c.modes = append(c.modes, purposesOf(mode.Name))
		switch {
		case mode.On == failure.OnLink:
			for l := range e.f.Links {
				e.enrol(m, int32(l), linkOwner(e.f, int32(l)))
			}
		case mode.On == failure.OnAccess:
			for a := range int32(e.f.Access) {
				e.enrol(m, a, e.accessOwner(a))
			}
		case mode.Routers():
			for x := range e.f.Routers {
				if e.strikesRouter(mode, int32(x)) {
					e.enrol(m, int32(x), routerOwner(&e.f.Routers[x]))
				}
			}
		default:
			for g := range e.w.Groups {
				if mode.Strikes(&e.w.Groups[g]) {
					e.enrol(m, int32(g), groupOwner(&e.w.Groups[g]))
				}
			}
		}
	}
}

func (e *engine) strikesRouter(m *failure.Mode, x int32) bool {
	class := e.f.Routers[x].Class
	switch m.On {
	case failure.OnBorder:
		return e.f.Border[x]
	case failure.OnLeaf:
		return class == fabric.Leaf
	case failure.OnSpine:
		return class == fabric.Spine
	case failure.OnTop:
		return class == fabric.Top
	}
	return !e.f.Foreign(x)
}

func (e *engine) enrol(mode int, part int32, owner kernel.Owner) {
	c := e.chance
	m, p := &e.w.Modes[mode], &c.modes[mode]
	u := unit{mode: int32(mode), part: part, owner: owner, rate: 1, early: -1, fault: -1}
	if m.Frailty.Family != chance.Fixed {
		u.rate = quantile(&m.Frailty, c.stream.Uniform(p.frailty, owner, 0))
	}
	if m.BatchFrailty.Family != chance.Fixed && m.On == failure.OnLink {
		u.rate *= e.batchRate(m, p, part)
	}
	first := c.stream.Uniform(p.life, owner, 0)
	var life float64
	if m.Aged && m.Residual != nil {
		life = m.Residual.Quantile(first)
	} else {
		life = quantile(&m.Life, first)
	}
	at := kernel.Nanoseconds(life / u.rate)
	seen, by := e.foreseen(&u, at, 0)
	if min(at, seen) >= e.until {
		return // neither it nor a sign of it before the horizon
	}
	c.units = append(c.units, u)
	e.comes(int32(len(c.units)-1), at, seen, by)
}

// comes makes the next onset of a unit due, and what an instrument sees of it
// before.
func (e *engine) comes(id int32, at, seen int64, by int32) {
	next := e.chance.units[id].count + 1
	e.push(at, rankPhysical, 0, 0, kernel.Event{Kind: onset, A: id, Gen: next})
	if seen < at {
		e.push(seen, rankOperator, 0, 0, kernel.Event{Kind: foresee, A: id, B: by, Gen: next})
	}
}

// batchRate is the frailty of the optics batches that a link's optics are of.
func (e *engine) batchRate(m *failure.Mode, p *modePurposes, link int32) float64 {
	rate := 1.0
	for g := range e.w.Groups {
		group := &e.w.Groups[g]
		if group.Class != fabric.Batch {
			continue
		}
		for _, l := range group.Links {
			if l == link {
				rate *= quantile(&m.BatchFrailty, e.chance.stream.Uniform(p.frailty, groupOwner(group), 0))
			}
		}
	}
	return rate
}

// renew makes the next onset of a unit due, counted from now.
func (e *engine) renew(id int32) {
	c := e.chance
	u := &c.units[id]
	m := &e.w.Modes[u.mode]
	life := quantile(&m.Life, c.stream.Uniform(c.modes[u.mode].life, u.owner, uint64(u.count))) / u.rate
	at := kernel.Nanoseconds(life)
	if at >= detection.Never-e.now {
		return
	}
	at = e.now + max(at, 1)
	seen, by := e.foreseen(u, at, e.now)
	e.comes(id, at, seen, by)
}
