package sim

import (
	"fmt"
	"slices"
	"strings"

	"halflight/model/failure"
	"halflight/sim/homing"
	"halflight/sim/kernel"
	"halflight/sim/paths"
	"halflight/sim/record"
)

// followServers has servers and their attachments followed, if the scenario asks for it.
func (e *engine) followServers() {
	p := &e.w.Homing
	if !p.On() {
		return
	}
	s := homing.New(p, e.f, e.t.Signal, e.t.Settle, e.w.WarmUp)
	s.Older, s.Blame, s.Path = e.ledger.Older, e.ledger.Blame, e.ledger.Truth.Path
	e.servers = s
	e.ledger.Attach(s)
	e.body.onAccess = make([][]int32, e.f.Access)
}

// rankOfServers is the place of what ends of access links and leaves notice.
var rankOfServers = [...]uint8{homing.Server: rankDetection, homing.Leaf: rankDetection, homing.Announce: rankTimer,
	homing.Forget: rankTimer, homing.Drop: rankTimer, homing.Move: rankOperator}

// drainServers makes due what servers and leaves will notice.
func (e *engine) drainServers() {
	for _, t := range e.servers.Tasks {
		e.push(t.At, rankOfServers[t.Kind], 0, 0, kernel.Event{Kind: attach, Sub: uint8(t.Kind), A: t.A, B: t.B, Gen: t.Gen})
	}
	e.servers.Tasks = e.servers.Tasks[:0]
}

// commitServers tells servers of leaves and access links that changed.
func (e *engine) commitServers() {
	b := &e.body
	for _, a := range b.dirtyAccess {
		e.servers.Cut(a, len(b.onAccess[a]) > 0, e.oldest(b.onAccess[a]))
	}
	b.dirtyAccess = b.dirtyAccess[:0]
	for _, x := range b.dirtyRouters {
		if int(x) >= e.f.Leaves {
			continue
		}
		list := b.onRouter[x]
		lit := true
		for _, id := range list {
			lit = lit && e.faults[id].Light
		}
		e.servers.SetLeaf(x, len(list) == 0, lit, e.oldest(list))
		e.uplinksOf = append(e.uplinksOf, x)
	}
}

// settleServers closes an instant for servers, before what is lost is worked out.
func (e *engine) settleServers() {
	s := e.servers
	later := e.uplinksOf[:0]
	for _, x := range e.uplinksOf {
		if e.body.dead[x] {
			continue
		}
		if e.body.mute[x] || e.control.Frozen(x) { // it does not act yet
			if !slices.Contains(later, x) {
				later = append(later, x)
			}
			continue
		}
		any, fault := false, int32(-1)
		for p, port := range e.f.Ports[x] {
			any = any || e.control.Held(x, int32(p))
			if by := e.ledger.Truth.LinkFault[port.Link]; by >= 0 && (fault < 0 || e.ledger.Older(by, fault)) {
				fault = by
			}
		}
		s.SetUplinks(x, any, fault)
	}
	e.uplinksOf = later
	if ways := e.ledger.Truth.Ways(); e.ways != ways {
		e.ways = ways
		s.Rethink()
	}
	for _, c := range e.control.Changed {
		if int(c.Router) < e.f.Leaves {
			s.Missing(c.Router, c.Destination, paths.IsEmpty(e.control.Table.Of(c.Destination, c.Router)), max(0, e.now))
		}
	}
	s.Close(max(0, e.now))
	e.drainServers()
}

// tellServers puts what happens at servers into the tale.
func (e *engine) tellServers() {
	if e.servers != nil {
		e.servers.Tell = func(what, to string) {
			if e.tale.listens(e.now) {
				e.tale.servers = noteServers(e.tale.servers, e.now, what, to)
			}
		}
	}
}

// ServersDid is what happened at servers at one instant, and to which.
type ServersDid struct {
	At   int64
	What string
	To   []string
}

// noteServers adds something that happened, to what happened alike at that instant.
func noteServers(list []ServersDid, now int64, what, to string) []ServersDid {
	for i := len(list) - 1; i >= 0 && list[i].At == now; i-- {
		if list[i].What == what {
			list[i].To = append(list[i].To, to)
			return list
		}
	}
	return append(list, ServersDid{now, what, []string{to}})
}

// flushServers tells what happened at servers at this instant.
func (t *teller) flushServers() {
	for _, s := range t.servers {
		n := min(len(s.To), 4)
		text := s.What + " " + strings.Join(s.To[:n], ", ")
		if more := len(s.To) - n; more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		t.now = append(t.now, text)
	}
	t.servers = t.servers[:0]
}

// accessOwner owns the draws of an access link.
func (e *engine) accessOwner(link int32) kernel.Owner {
	leaf, group, attachment := e.w.Homing.Of(link)
	r := &e.f.Routers[leaf]
	return kernel.OwnerOf(8, uint32(r.First), uint32(r.Second), 9, uint32(group), uint32(attachment), 0)
}

// sharesFault says what becomes of the fault of a leaf whose servers have another
// leaf too: a share of all that strikes either strikes both (the beta-factor
// model). Half of that share is the leaf's own faults, the other half, which
// begin as its mate's, take the place of as many of its own.
func (e *engine) sharesFault(m *failure.Mode, u *unit) (both, none bool) {
	p := &e.w.Homing
	if !m.Routers() || int(u.part) >= e.f.Leaves || p.Attachments < 2 || (m.Kind != failure.Hard && m.Kind != failure.Restart) {
		return false, false
	}
	v := e.chance.draw(e.chance.modes[u.mode].paired, u, 0)
	return v >= p.Paired/2 && v < p.Paired, v < p.Paired/2
}

// recordServers reads what became of servers.
func (e *engine) recordServers(r *record.Replication) {
	s := e.servers
	if s == nil {
		return
	}
	out := &record.Servers{Lost: s.Finish(e.until) / float64(r.To-r.From), Resets: s.Resets}
	for _, c := range s.Cutoffs {
		out.Cutoffs = append(out.Cutoffs, record.Cutoff{From: c.From, To: c.To, Groups: c.Groups})
	}
	r.Servers = out
}
