package sim

import (
	"cmp"
	"slices"

	"halflight/model"
	"halflight/model/operation"
	"halflight/sim/impact"
	"halflight/sim/kernel"
	"halflight/sim/record"
)

// counts keeps, over the measured window, how many faults of each mode are
// present and not yet sighted.
type counts struct {
	from            int64
	now, dark       []int64 // by mode: present, and of them gray and not yet sighted
	at              []int64 // by mode: last change
	present, unseen []float64
	sightings       int64
	by              []record.Watched // by instrument
	visits, repairs int64
	tickets         int64
	repeats         int64 // of them, of a part that had one not long before
	replaced        int64
	averted         int64 // faults that were repaired before they came
	changes         int64 // of configuration
	days            []record.Day
	opened          opened
	dayOpened       opened
	daily           bool
}

// opened is how far counters were when the window began.
type opened struct {
	runs, originations           int64
	drains, falseDrains, refused int64
	handsOn                      float64
	sightings                    int64
	by                           []record.Watched
	visits, repairs, tickets     int64
	repeats, replaced, averted   int64
	states                       []float64
}

func (c *counts) init(modes, instruments int, from int64) {
	c.from = from
	c.by = make([]record.Watched, instruments)
	c.now, c.dark, c.at = make([]int64, modes), make([]int64, modes), make([]int64, modes)
	c.present, c.unseen = make([]float64, modes), make([]float64, modes)
}

func (c *counts) book(mode int32, now int64) {
	span := float64(max(0, now-max(c.at[mode], c.from)))
	c.present[mode] += float64(float64(c.now[mode]) * span)
	c.unseen[mode] += float64(float64(c.dark[mode]) * span)
	c.at[mode] = now
}

func (c *counts) begin(e *engine, id int32) {
	e.backlog(id, 1, 1)
	if m := e.faults[id].mode; m >= 0 {
		c.book(m, e.now)
		c.now[m]++
		c.dark[m]++
	}
}

func (c *counts) end(e *engine, id int32) {
	f := &e.faults[id]
	dark := int64(0)
	if f.sightedAt < 0 {
		dark = 1
	}
	e.backlog(id, -1, -dark)
	if f.mode < 0 {
		return
	}
	c.book(f.mode, e.now)
	c.now[f.mode]--
	if f.sightedAt < 0 {
		c.dark[f.mode]--
	}
}

func (c *counts) sighted(e *engine, id, instrument int32) {
	f := &e.faults[id]
	f.sightedAt, f.sightedBy = e.now, instrument
	e.backlog(id, 0, -1)
	if f.mode >= 0 {
		c.book(f.mode, e.now)
		c.dark[f.mode]--
	}
}

// backlog counts a gray fault, and whether it is unseen, in or out.
func (e *engine) backlog(id int32, present, dark int64) {
	if e.faults[id].Kind.Gray() {
		e.chance.series.Count(e.now, present, dark)
	}
}

// measure begins the measured window, or ends a day of it.
func (e *engine) measure(what int32) {
	c := e.chance
	const day = 86400 * int64(1e9)
	if what == 0 {
		e.openWindow()
		if !slices.ContainsFunc(e.w.Operation.Instruments, func(i operation.Instrument) bool { return i.From >= 0 }) {
			return
		}
		c.counts.dayOpened, c.counts.daily = c.counts.opened, true
	} else {
		e.endDay()
	}
	e.push(e.now+day, rankEnd, 0, 0, kernel.Event{Kind: measure, A: 1})
}

// endDay notes what a day of the measured window was like.
func (e *engine) endDay() {
	c := e.chance
	k := &c.counts
	d := record.Day{Sightings: k.sightings - k.dayOpened.sightings, Drains: c.operator.Drains - k.dayOpened.drains, Tickets: int64(c.operator.OpenTickets())}
	for m := range e.w.Modes {
		if e.w.Modes[m].Kind.Gray() {
			d.Unseen += k.dark[m]
		}
	}
	k.days = append(k.days, d)
	k.dayOpened.sightings, k.dayOpened.drains = k.sightings, c.operator.Drains
}

// openWindow begins the measured window.
func (e *engine) openWindow() {
	c := e.chance
	c.operator.ResetWindow(e.now)
	e.crowd.openWindow()
	c.counts.opened = opened{drains: c.operator.Drains,
		falseDrains: c.operator.FalseDrains, refused: c.operator.Refused, handsOn: c.operator.HandsOnTotal(e.now),
		sightings: c.counts.sightings, by: slices.Clone(c.counts.by), visits: c.counts.visits, repairs: c.counts.repairs,
		tickets: c.counts.tickets, repeats: c.counts.repeats, replaced: c.counts.replaced, averted: c.counts.averted}
	if e.sketch != nil {
		return
	}
	e.control.ResetBooks(e.now)
	c.counts.opened.runs, c.counts.opened.originations, c.counts.opened.states = e.control.SPFRuns, e.control.Originations, e.control.StateTotals(e.now)
	c.series.Open(e.control.StateTotals)
}

// HeaderOf says what the numbers of a world's replications refer to.
func HeaderOf(w *model.World) record.Header {
	h := record.Header{Phases: impact.PhaseNames(), States: w.BackoffStates(),
		Routers: len(w.Fabric.Routers) - w.Fabric.Outside, Leaves: w.Fabric.Leaves - w.Fabric.Outside,
		Outside: w.Fabric.Outside, Links: len(w.Fabric.Links)}
	for i := range w.Modes {
		m := &w.Modes[i]
		h.Modes = append(h.Modes, record.Mode{Name: m.Name, Kind: m.Kind.String(), Gray: m.Kind.Gray()})
	}
	h.Modes = append(h.Modes, record.Mode{Name: "drain", Kind: "drain"}, record.Mode{Name: "script", Kind: "script"})
	if w.Operation.Upgrades != nil {
		h.Modes = append(h.Modes, record.Mode{Name: "upgrade", Kind: "upgrade"})
	}
	if w.Operation.Changes != nil {
		h.Modes = append(h.Modes, record.Mode{Name: "change", Kind: "change"})
	}
	if h.Congestion = w.Traffic.Congestion; h.Congestion {
		h.Modes = append(h.Modes, record.Mode{Name: "demand", Kind: "demand"})
	}
	for i := range w.Classes {
		h.Classes = append(h.Classes, classOf(&w.Classes[i], w.Prices.DegradedLeafHour[i]))
	}
	for i := range w.Operation.Instruments {
		ins := &w.Operation.Instruments[i]
		h.Instruments = append(h.Instruments, record.Instrument{Name: ins.Name, Kind: ins.Kind.String(), YearlyCost: ins.YearlyCost})
	}
	h.BusiestUse = w.Traffic.Use(w.Fabric, w.Traffic.Busiest, 1)
	h.BusiestAccess = w.Traffic.AccessUse(w.Fabric, w.Traffic.Busiest)
	if h.External = w.Traffic.External.Share; w.Traffic.Mix != nil {
		h.Hottest = w.Traffic.Hottest(w.Fabric)
	}
	if q := &w.Homing; q.On() {
		h.Servers = &record.ServersOf{Groups: q.Groups * w.Fabric.Leaves, Attachments: q.Attachments, Access: w.Fabric.Access,
			MovesShare: q.MovesShare, MovesWithin: q.MovesWithin}
	}
	p := &w.Prices
	h.Prices = record.Prices{Currency: p.Currency, TechnicianHour: p.TechnicianHour, Visit: p.Visit, Optic: p.Optic, Port: p.Port, Leaf: p.Leaf}
	return h
}

// modeOf is a fault's place among the header's modes.
func (e *engine) modeOf(f *fault) int32 {
	if f.mode < 0 {
		return int32(len(e.w.Modes)) + 1
	}
	return f.mode
}

// record reads the outcome of a replication off the parts.
func (e *engine) record(number uint32) record.Replication {
	c, o := e.chance, &e.chance.counts.opened
	_, _, all := modesOf(e.w)
	modes := all
	if e.w.Traffic.Congestion {
		modes++ // demand
	}
	r := record.Replication{Number: number, From: e.w.WarmUp, To: e.until, Onsets: make([]int64, modes),
		Present: make([]float64, modes), Unseen: make([]float64, modes), LostSeconds: make([][]float64, modes)}
	for m := range modes {
		r.LostSeconds[m] = make([]float64, impact.Phases)
	}
	for id := range e.faults {
		e.recordFault(&r, int32(id))
	}
	slices.SortStableFunc(r.Faults, func(a, b record.Fault) int { return cmp.Compare(a.Onset, b.Onset) })
	length := float64(r.To - r.From)
	for m := range all {
		if of := int(m) - len(e.w.Modes); of == 0 || of == 1 {
			continue // of drains and of the script nobody counts how many are present
		}
		c.counts.book(m, e.until)
		r.Present[m], r.Unseen[m] = c.counts.present[m]/length, c.counts.unseen[m]/length
	}
	if e.sketch != nil {
		e.recordSketch(&r)
	} else {
		e.recordControl(&r)
	}
	if c.counts.daily {
		e.endDay()
	}
	r.Sightings = c.counts.sightings - o.sightings
	for i, w := range c.counts.by {
		r.Watched = append(r.Watched, record.Watched{Sightings: w.Sightings - o.by[i].Sightings, FalseAlarms: w.FalseAlarms - o.by[i].FalseAlarms})
	}
	r.Visits, r.Repairs, r.Tickets = c.counts.visits-o.visits, c.counts.repairs-o.repairs, c.counts.tickets-o.tickets
	r.Repeats, r.Replaced, r.Averted, r.Days = c.counts.repeats-o.repeats, c.counts.replaced-o.replaced, c.counts.averted-o.averted, c.counts.days
	r.Drains, r.FalseDrains, r.Refused = c.operator.Drains-o.drains, c.operator.FalseDrains-o.falseDrains, c.operator.Refused-o.refused
	r.HandsOn = (c.operator.HandsOnTotal(e.until) - o.handsOn) / length
	r.CapacityWorst, r.CutOff = c.operator.Capacity(e.until), c.operator.CutOff(e.until)
	e.recordPlanned(&r)
	e.recordServers(&r)
	c.stalls.Horizon(e.until)
	r.Stalls, r.StallsLost = c.stalls.Count, c.stalls.Lost
	return r
}

// recordControl reads what routers did and what was lost.
func (e *engine) recordControl(r *record.Replication) {
	c, o, length := e.chance, &e.chance.counts.opened, float64(r.To-r.From)
	states := e.control.StateTotals(e.until)
	for s := range e.w.BackoffStates() {
		r.StateTime = append(r.StateTime, states[s]-o.states[s])
		r.RouterTime += states[s] - o.states[s]
	}
	w := e.control.Waits(e.until)
	r.Waits, r.WaitMean, r.LeafWaits, r.LeafWaitMean, r.RestWait = w.All, w.Mean, w.Leaf, w.LeafMean, w.Rest
	r.SPFRuns, r.Originations = e.control.SPFRuns-o.runs, e.control.Originations-o.originations
	r.BusyWorst10s = e.control.BusyWorst(e.until)
	if e.crowd != nil {
		e.crowd.keep(e)
		r.LoadWorst, r.LoadOver = e.crowd.worst, float64(e.crowd.over)/length
	}
	r.Series = c.series.Record(e.control.StateTotals, len(e.w.BackoffStates()))
	r.LostExternal = e.ledger.External(e.until)
	e.recordApplications(r, func(i int) felt { return e.ledger.Apps[i].Slow }, length)
	for i := range r.Applications {
		for _, b := range e.ledger.Apps[i].Burn.Record() {
			r.Applications[i].Burn = append(r.Applications[i].Burn, record.Burn(b))
		}
	}
}

func (e *engine) recordFault(r *record.Replication, id int32) {
	f := &e.faults[id]
	mode := e.modeOf(f)
	var l impact.Fault
	var total float64
	pairs := 0
	var phases [impact.Phases]float64
	if e.sketch == nil {
		l = e.ledger.Faults[id]
		total, phases = e.ledger.Lost(id)
		pairs = e.ledger.Pairs(id)
	} else {
		l.RouteLoss = record.None
	}
	for p, v := range phases {
		r.LostSeconds[mode][p] += v
	}
	if f.onset < r.From || !f.begun {
		if total > 0 {
			r.Older = append(r.Older, record.Older{Mode: int32(mode), On: f.on, LostSeconds: total})
		}
		return
	}
	r.Onsets[mode]++
	if f.mode == int32(len(e.w.Modes)) && total == 0 {
		return // the operator's own, and it cost nothing
	}
	out := record.Fault{Index: id, Mode: mode, On: f.on, Onset: f.onset, End: record.None, Background: record.Background(f.background),
		FullConvergence: record.None, RepairConvergence: record.None, SPFWait: record.None, RouteLoss: l.RouteLoss,
		Pairs: int32(pairs), External: l.External, Touched: f.ran.Count(), Sighted: record.None, Mitigated: record.None, LostSeconds: total}
	if f.over {
		out.End = f.end
	}
	if f.mode != int32(len(e.w.Modes)) && e.sketch == nil {
		out.FullConvergence, out.RepairConvergence = e.ledger.Convergence(id)
	}
	if out.Touched > 0 {
		out.SPFWait = f.spfWait
	}
	if f.sightedAt >= 0 {
		out.Sighted = f.sightedAt - f.onset
		if f.sightedBy >= 0 {
			out.SightedBy = e.w.Operation.Instruments[f.sightedBy].Name
		}
	}
	if f.outAt >= 0 {
		out.Mitigated = f.outAt - f.onset
	}
	if total > 0 {
		out.Phases = phases[:]
	}
	r.Faults = append(r.Faults, out)
}
