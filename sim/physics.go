package sim

import (
	"slices"

	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/sim/detection"
	"halflight/sim/forwarding"
	"halflight/sim/hearing"
	"halflight/sim/kernel"
)

// fault is one fault of a replication: its course and where it stands.
type fault struct {
	failure.Condition
	mode         int32 // of the world's modes; -1 for the script
	unit         int32 // of its population; -1 for the script
	on           string
	onset, end   int64 // end: Never without one yet
	routers      []int32
	links        []int32
	directions   []int32
	access       []int32
	destinations []int32 // unwritten: those of which the entry is never written

	begun, over bool
	dark        bool    // flapping: carrier off at present
	held        [2]bool // blackhole: a session that the hole happens to hold, by direction bit
	randomHold  bool
	background  uint8
	early       bool // planned work: put back as it boots, with the tables not yet written
	spfWait     int64
	ran         hearing.Routers // that ran SPF because of it
	sightedAt   int64
	sightedBy   int32
	outAt       int64
}

// Never is a time that does not come.
const Never = detection.Never

// body is the truth about routers and links: which faults are on them now.
type body struct {
	onRouter    [][]int32 // by router: hard and restart faults in force
	onLink      [][]int32 // by link: cuts in force
	onDirection [][]int32 // by direction: gray faults in force
	drainOn     [][]int32 // by direction: drains of its sender's metric
	drainRouter [][]int32 // by router: drains by the overload bit
	onControl   [][]int32 // by router: faults in force that leave it without a control plane, forwarding on
	onPace      [][]int32 // by router: faults in force that slow its control plane, or keep entries from being written
	detours     [][]int32 // by direction: the way around it, nil for none
	onDetour    []int32   // directions with one
	mute        []bool    // by router: it has no control plane
	lostAll     []bool    // by router without one: not only restarts with tables kept took part
	falseDown   []bool    // by link: its session is down though it passes
	again       []int64   // by link: when that session is up again
	fell        []int32   // by link: the session that fell last while no routers were played
	dead        []bool
	truth       []detection.Truth // by link, as last told
	ways        []forwarding.Direction

	dirtyLinks   []int32
	isDirtyLink  []bool
	dirtyRouters []int32
	stepped      []int32   // faults that changed at this instant
	onAccess     [][]int32 // by access link: cuts in force; nil if they are not followed
	dirtyAccess  []int32
}

func newBody(f *fabric.Fabric) body {
	n, m := len(f.Routers), len(f.Links)
	b := body{onRouter: make([][]int32, n), onLink: make([][]int32, m), onDirection: make([][]int32, 2*m), drainOn: make([][]int32, 2*m),
		drainRouter: make([][]int32, n), onControl: make([][]int32, n), onPace: make([][]int32, n),
		mute: make([]bool, n), detours: make([][]int32, 2*m), lostAll: make([]bool, n), falseDown: make([]bool, m), again: make([]int64, m), fell: make([]int32, m), dead: make([]bool, n), truth: make([]detection.Truth, m),
		ways: make([]forwarding.Direction, 2*m), isDirtyLink: make([]bool, m)}
	for i := range b.truth {
		b.truth[i] = detection.Sound
		b.ways[2*i].Cause, b.ways[2*i+1].Cause = -1, -1
	}
	return b
}

func (b *body) touchLink(link int32) {
	if !b.isDirtyLink[link] {
		b.isDirtyLink[link] = true
		b.dirtyLinks = append(b.dirtyLinks, link)
	}
}

func add(list []int32, id int32) []int32 {
	if slices.Contains(list, id) {
		return list
	}
	return append(list, id)
}

func remove(list []int32, id int32) []int32 {
	if i := slices.Index(list, id); i >= 0 {
		return slices.Delete(list, i, i+1)
	}
	return list
}

// Steps of a fault's course.
const (
	stepBegin = -1
	stepEnd   = -2 // otherwise the number of a change of carrier
)

// schedule makes the course of a fault due.
func (e *engine) schedule(id int32) {
	f := &e.faults[id]
	rank := rankPhysical
	if f.Kind == failure.Drain {
		rank = rankOperator
	}
	e.push(f.onset, rank, 0, 0, kernel.Event{Kind: physical, A: id, B: stepBegin})
	if f.Kind == failure.Flapping {
		for i := range f.Changes {
			if at := f.onset + f.Changes[i]; at < f.end {
				e.push(at, rank, 0, 0, kernel.Event{Kind: physical, A: id, B: int32(i)})
			}
		}
	}
	if f.end != Never {
		e.push(f.end, rank, 0, 0, kernel.Event{Kind: physical, A: id, B: stepEnd})
	}
}

// step takes a fault one step on. commit makes the world follow.
func (e *engine) step(id, step int32) {
	f := &e.faults[id]
	if f.over {
		return
	}
	e.body.stepped = append(e.body.stepped, id)
	if e.sketch == nil {
		e.ledger.Turn(id, e.now)
	}
	if e.tale != nil {
		e.tellStep(f, step)
	}
	switch {
	case step == stepBegin:
		e.beginFault(id)
	case step == stepEnd:
		f.over, f.dark = true, false
		f.end = e.now
		if e.sketch == nil {
			e.ledger.Close(id, e.now)
		}
		e.closed(id)
	default:
		f.dark = step%2 == 0
	}
	on := !f.over && (f.Kind != failure.Flapping || f.dark)
	if f.Kind == failure.Drain {
		e.drainParts(id, on)
		return
	}
	e.place(id, on)
}

// drainParts takes a drain's parts out of use or back.
func (e *engine) drainParts(id int32, on bool) {
	f := &e.faults[id]
	for _, x := range f.routers {
		e.drainRouter(x, id, on)
	}
	for _, l := range f.links {
		e.drainSender(2*l, id, on)
		e.drainSender(2*l+1, id, on)
	}
	for _, d := range f.directions {
		e.drainSender(d, id, on)
	}
}

// drainSender raises the metric of a direction's sender while any drain wants
// it.
func (e *engine) drainSender(dir, id int32, on bool) {
	if e.routerless() {
		return // what only moves traffic hurts nobody here
	}
	list := &e.body.drainOn[dir]
	if on {
		*list = add(*list, id)
	} else {
		*list = remove(*list, id)
	}
	e.control.DrainLink(e.f.From(dir), dir>>1, len(*list) > 0, id, e.now)
	e.ledger.Truth.Raise(dir, len(*list) > 0, id)
}

// drainRouter sets a router's overload bit while any drain wants it.
func (e *engine) drainRouter(x, id int32, on bool) {
	if e.routerless() {
		return
	}
	list := &e.body.drainRouter[x]
	if on {
		*list = add(*list, id)
	} else {
		*list = remove(*list, id)
	}
	configured := e.t.OverloadLeaves && e.f.Routers[x].Class == fabric.Leaf
	e.control.DrainRouter(x, len(*list) > 0, configured, id, e.now)
	e.ledger.Truth.SetBit(x, len(*list) > 0 || configured, id)
}

// place puts a fault on its parts or takes it off them.
func (e *engine) place(id int32, on bool) {
	f, b := &e.faults[id], &e.body
	put := remove
	if on {
		put = add
	}
	for _, x := range f.routers {
		switch {
		case f.Kind == failure.Slow || f.Kind == failure.Unwritten:
			if b.onPace[x] = put(b.onPace[x], id); !e.routerless() {
				e.pace(x)
			}
			continue
		case f.Silences():
			b.onControl[x] = put(b.onControl[x], id)
		default:
			b.onRouter[x] = put(b.onRouter[x], id)
		}
		b.dirtyRouters = append(b.dirtyRouters, x)
	}
	cut := f.Kind == failure.Hard || f.Kind == failure.Flapping || f.Kind == failure.Restart
	for _, l := range f.links {
		if cut {
			b.onLink[l] = put(b.onLink[l], id)
		} else {
			b.onDirection[2*l] = put(b.onDirection[2*l], id)
			b.onDirection[2*l+1] = put(b.onDirection[2*l+1], id)
		}
		b.touchLink(l)
	}
	for _, d := range f.directions {
		b.onDirection[d] = put(b.onDirection[d], id)
		b.touchLink(d >> 1)
	}
	for _, a := range f.access {
		if b.onAccess != nil {
			b.onAccess[a] = put(b.onAccess[a], id)
			b.dirtyAccess = append(b.dirtyAccess, a)
		}
	}
}

// oldest returns the oldest fault of a list, -1 of none.
func (e *engine) oldest(list []int32) int32 {
	best := int32(-1)
	for _, id := range list {
		if best < 0 || e.ledger.Older(id, best) {
			best = id
		}
	}
	return best
}

// commit makes the world follow the steps taken at this instant, all together.
func (e *engine) commit() {
	if e.routerless() {
		e.commitSketch()
		return
	}
	b := &e.body
	e.culprits.known = false
	var returned []int32
	slices.Sort(b.dirtyRouters)
	for _, x := range slices.Compact(b.dirtyRouters) {
		was, is := b.dead[x], len(b.onRouter[x]) > 0
		returns := e.commitControl(x, is)
		b.dead[x] = is
		e.ledger.Truth.SetDead(x, is)
		for _, p := range e.f.Ports[x] {
			b.touchLink(p.Link)
		}
		cause := e.oldest(b.onRouter[x])
		if int(x) < e.f.Leaves {
			e.ledger.SetDead(x, cause, e.now)
			if was && is && !e.ahead { // who is charged for what it loses may have changed
				for d := int32(0); int(d) < e.f.Leaves; d++ {
					e.field.Review(d)
					e.field.EntryChanged(x, d)
				}
			}
		}
		switch {
		case is && !was:
			e.dropDetours(x)
			e.control.Clear(x, e.now)
			e.field.SetRouter(x, false)
		case was && !is:
			e.field.SetRouter(x, true)
		}
		e.await(x)
		if returns {
			returned = append(returned, x)
		}
	}
	if e.servers != nil {
		e.commitServers()
	}
	b.dirtyRouters = b.dirtyRouters[:0]
	for _, x := range returned {
		cause, kept := e.lastOn(x), !b.lostAll[x]
		if !kept {
			e.dropDetours(x)
		}
		waits := e.t.UntilReady && !kept && !(cause >= 0 && e.faults[cause].early)
		e.control.Return(x, cause, kept, waits, e.now)
		if waits {
			e.ledger.Truth.NoteBit(x, cause)
		}
	}
	slices.Sort(b.dirtyLinks)
	for _, l := range b.dirtyLinks {
		b.isDirtyLink[l] = false
		e.commitLink(l)
	}
	b.dirtyLinks = b.dirtyLinks[:0]
	for _, x := range returned {
		e.ledger.Truth.Recall(x)
		e.links.Back(x, !b.lostAll[x], e.now)
	}
	e.applyTruth()
	e.ledger.Retry()
}

// lastOn is the fault that router x returns from.
func (e *engine) lastOn(x int32) int32 {
	best := int32(-1)
	for _, id := range e.body.stepped {
		if f := &e.faults[id]; f.over && f.Kind < failure.Slow && slices.Contains(f.routers, x) && (best < 0 || e.ledger.Older(id, best)) {
			best = id
		}
	}
	return best
}

// commitLink works out the state of a link and tells those who need to know.
func (e *engine) commitLink(l int32) {
	b := &e.body
	link := &e.f.Links[l]
	is := detection.Truth{Alive: e.alive(l)}
	e.darken(l)
	for _, list := range [3][]int32{b.onLink[l], b.onRouter[link.Lower], b.onRouter[link.Upper]} {
		for _, id := range list {
			is.Dark = is.Dark || !e.faults[id].Light
		}
	}
	if !is.Alive { // before losses that end at this instant let anything cross
		e.control.Live(l, false, e.now)
	}
	for d := int32(0); d < 2; d++ {
		is.Pass[d] = is.Alive
		for _, id := range b.onDirection[2*l+d] {
			is.Pass[d] = is.Pass[d] && !e.blocks(id, 2*l+d)
		}
		is.Hello[d] = is.Pass[d] && !e.hung(e.f.From(2*l+d))
		e.setWay(2*l+d, is.Alive)
		if e.t.Lossy {
			e.control.Loss(2*l+d, e.lspLoss(2*l+d), e.now)
		}
	}
	b.truth[l] = is
	e.reviewDetours(l)
	e.links.Set(l, e.now, is)
	e.control.Live(l, is.Alive, e.now)
	up := e.willList(l, is)
	cause := e.changer(l, up)
	e.ledger.Truth.SetLink(l, up, is.Alive, cause, e.now)
}

// lspLoss is the share of LSPs that gray faults lose on a direction.
func (e *engine) lspLoss(direction int32) float64 {
	pass := 1.0
	for _, id := range e.body.onDirection[direction] {
		if e.blocks(id, direction) {
			return 1
		}
		pass = float64(pass * (1 - e.faults[id].Loss))
	}
	return 1 - pass
}

// blocks says whether a gray fault keeps sessions from passing a direction.
func (e *engine) blocks(id, direction int32) bool {
	f := &e.faults[id]
	return f.Loss >= 1 || f.Share >= 1 || (f.randomHold && f.held[direction&1])
}

// willList says whether both ends will list a link once all is noticed.
func (e *engine) willList(l int32, is detection.Truth) bool {
	switch {
	case is.Dark || e.body.falseDown[l] || e.links.Suppressed(2*l) || e.links.Suppressed(2*l+1):
		return false
	case !is.Alive:
		return !e.clocked() && e.staysListed(2*l) && e.staysListed(2*l+1)
	case e.t.BFD && !(is.Pass[0] && is.Pass[1]) || e.t.Hello && !(is.Hello[0] && is.Hello[1]):
		return false
	}
	link := &e.f.Links[l]
	if e.body.mute[link.Lower] || e.body.mute[link.Upper] {
		return !e.graceOver(link.Lower) && !e.graceOver(link.Upper) && e.staysListed(2*l) && e.staysListed(2*l+1)
	}
	return true
}

// clocked says whether a clock watches the links beside the light.
func (e *engine) clocked() bool { return e.t.BFD || e.t.Hello }

// staysListed says whether an end of a link goes on being listed that nobody
// sees change: as it is now, as a dead router's last LSP has it, or as the
// neighbour of a router without a control plane has it.
func (e *engine) staysListed(end int32) bool {
	x := e.f.From(end)
	if e.body.dead[x] {
		return e.control.Listed(x, end>>1)
	}
	if e.body.mute[x] {
		return e.links.Up(end ^ 1)
	}
	return e.links.Up(end)
}

// changer is the fault behind the change of a link's truth at this instant: the
// oldest that took a step towards it, else the oldest on the link.
func (e *engine) changer(l int32, up bool) int32 {
	link := &e.f.Links[l]
	best, other := int32(-1), int32(-1)
	for _, id := range e.body.stepped {
		f := &e.faults[id]
		if !e.cuts(id, l) {
			continue
		}
		if down := !(f.over || (f.Kind == failure.Flapping && !f.dark)); up != down && (best < 0 || e.ledger.Older(id, best)) {
			best = id
		}
		if other < 0 || e.ledger.Older(id, other) {
			other = id
		}
	}
	switch {
	case best >= 0:
		return best
	case other >= 0:
		return other
	}
	if c := e.oldest(slices.Concat(e.body.onControl[link.Lower], e.body.onControl[link.Upper])); c >= 0 {
		return c // its grace is over
	}
	switch {
	case e.ledger.Truth.LinkFault[l] >= 0:
		return e.ledger.Truth.LinkFault[l]
	}
	return e.oldest(slices.Concat(e.body.onLink[l], e.body.onRouter[link.Lower], e.body.onRouter[link.Upper]))
}

// setWay works out what a direction does to packets.
func (e *engine) setWay(dir int32, alive bool) {
	b := &e.body
	link := &e.f.Links[dir>>1]
	way := forwarding.Direction{Dead: !alive, Pass: e.clear, Cause: -1}
	if !alive {
		for _, list := range [3][]int32{b.onLink[dir>>1], b.onRouter[link.Lower], b.onRouter[link.Upper]} {
			if c := e.oldest(list); c >= 0 && (way.Cause < 0 || e.ledger.Older(c, way.Cause)) {
				way.Cause = c
			}
		}
	} else if list := b.onDirection[dir]; len(list) > 0 {
		e.dropped(dir, list, &way)
	}
	e.tooFull(dir, &way)
	if !alive && b.detours[dir] != nil {
		way = e.throughDetour(dir, way)
	}
	if e.changesWay(&b.ways[dir], &way) {
		b.ways[dir] = way
		e.ledger.SetDirection(dir, way, e.now)
	}
}
