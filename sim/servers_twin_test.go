package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"halflight/model"
	plan "halflight/model/homing"
)

// A second reading of rule S27, by looking back: what is believed at an instant is
// found from the whole history of what was so before it, and what is lost by
// walking over every pair of groups of servers. From the engine it has what is so
// (which parts are dead, tables, what passes between two leaves), no more.

// moment is what is so from an instant on.
type moment struct {
	at                     int64
	alive, lit, uplinks    []bool // by leaf
	cut                    []bool // by access link
	missing, dark          []bool // by leaf and leaf
	works, glows           []bool // by access link
	uses, local, announced []bool
	cutOff, moved          []bool // by group
	forgotten, down        []bool // by leaf and leaf
	dropped                []bool
	pendingAt              []int64 // by access link: when others hear of it
	pending                []bool
}

type lookBack struct {
	e       *engine
	p       *plan.Plan
	history []moment
}

func (b *lookBack) n() int { return b.e.f.Leaves }

// throughout says whether something was so at all times in [at-span, at), or, where
// that begins earlier, since time 0 and before it.
func (b *lookBack) throughout(at, span int64, before bool, so func(m *moment) bool) bool {
	for i := len(b.history) - 1; i >= 0; i-- {
		m := &b.history[i]
		if m.at >= at {
			continue
		}
		if !so(m) {
			return false
		}
		if m.at <= at-span {
			return true
		}
	}
	return before
}

// lately is throughout for what was not so before time 0, when all was well.
func (b *lookBack) lately(at, span int64, so func(m *moment) bool) bool {
	return b.throughout(at, span, false, so)
}

// well is throughout for what was so before time 0.
func (b *lookBack) well(at, span int64, so func(m *moment) bool) bool {
	return b.throughout(at, span, true, so)
}

// see reads what is so off the engine, after an instant is closed.
func (b *lookBack) see(at int64) *moment {
	e, n := b.e, b.n()
	m := moment{at: at, alive: make([]bool, n), lit: make([]bool, n), uplinks: make([]bool, n), dropped: make([]bool, n), missing: make([]bool, n*n), dark: make([]bool, n*n)}
	for x := range n {
		m.alive[x] = !e.body.dead[x]
		m.lit[x] = true
		for _, id := range e.body.onRouter[x] {
			m.lit[x] = m.lit[x] && e.faults[id].Light
		}
		frozen := !m.alive[x] || e.body.mute[x] || e.control.Frozen(int32(x))
		for p := range e.f.Ports[x] {
			m.uplinks[x] = m.uplinks[x] || e.control.Held(int32(x), int32(p))
		}
		if frozen {
			m.uplinks[x] = len(b.history) == 0 || b.history[len(b.history)-1].uplinks[x]
		}
		for d := range n {
			empty := true
			for _, w := range e.control.Table.Of(int32(d), int32(x)) {
				empty = empty && w == 0
			}
			m.missing[x*n+d] = empty && x != d
			pass := func(s, d int) float64 { return e.field.Delivered(0, int32(s), int32(d)) }
			m.dark[x*n+d] = !m.alive[x] || e.body.dead[d] || pass(x, d) <= 1e-12 || pass(d, x) <= 1e-12
		}
		m.dropped[x] = b.p.FollowUplinks && m.alive[x] && !m.uplinks[x]
	}
	for a := range e.f.Access {
		m.cut = append(m.cut, len(e.body.onAccess[a]) > 0)
		x := b.p.At(int32(a))
		m.works = append(m.works, !m.cut[a] && m.alive[x] && !m.dropped[x])
		m.glows = append(m.glows, !m.cut[a] && m.lit[x] && !m.dropped[x])
	}
	return &m
}

// believe finds what servers and leaves believe at an instant.
func (b *lookBack) believe(m *moment) {
	n := b.n()
	for a := range b.e.f.Access {
		x := b.p.At(int32(a))
		uses, local, announced, pendingAt, pending := true, true, true, int64(-1), false
		alive, dropped := true, false
		if k := len(b.history) - 1; k >= 0 {
			was := &b.history[k]
			uses, local, announced, pendingAt, pending = was.uses[a], was.local[a], was.announced[a], was.pendingAt[a], was.pending[a]
			alive, dropped = was.alive[x], was.dropped[x]
		}
		works := func(m *moment) bool { return m.works[a] }
		switch {
		case uses && (b.lately(m.at, b.e.t.Signal, func(m *moment) bool { return !m.works[a] && !m.glows[a] }) ||
			b.p.Keepalive < plan.Never && b.lately(m.at, b.p.Keepalive, func(m *moment) bool { return !m.works[a] })):
			uses = false
		case !uses && b.well(m.at, b.e.t.Settle, works):
			uses = true
		}
		if pendingAt >= 0 && m.at >= pendingAt {
			announced, pendingAt = pending, -1
		}
		switch {
		case local && b.lately(m.at, b.e.t.Signal, func(m *moment) bool { return m.cut[a] && m.alive[x] }):
			local, pendingAt, pending = false, m.at+b.p.Withdraw, false
		case !local && b.well(m.at, b.e.t.Settle, works):
			local, pendingAt, pending = true, m.at+b.p.Withdraw, true
		}
		switch {
		case !m.alive[x]:
			local, pendingAt = false, -1
		case !alive, dropped && !m.dropped[x]: // it is back
			announced, pendingAt = false, -1
		case m.dropped[x] && !m.cut[a]:
			local = false
		}
		m.uses, m.local, m.announced = append(m.uses, uses), append(m.local, local), append(m.announced, announced)
		m.pendingAt, m.pending = append(m.pendingAt, pendingAt), append(m.pending, pending)
	}
	m.forgotten, m.down = make([]bool, n*n), make([]bool, n*n)
	for i := range m.missing {
		m.forgotten[i] = m.missing[i] && b.lately(m.at, b.p.Tracking, func(m *moment) bool { return m.missing[i] })
		dropped := b.lately(m.at, b.p.Hold, func(m *moment) bool { return m.dark[i] })
		if k := len(b.history) - 1; k >= 0 {
			dropped = dropped || b.history[k].down[i]
		}
		m.down[i] = dropped && m.dark[i]
	}
	for g := range n * b.p.Groups {
		cut := true
		for j := range b.p.Attachments {
			a := b.p.Link(int32(g/b.p.Groups), g%b.p.Groups, j)
			cut = cut && !(m.uses[a] && m.works[a] && m.uplinks[b.p.At(a)])
		}
		m.cutOff = append(m.cutOff, cut)
		m.moved = append(m.moved, cut && b.p.MovesShare > 0 && b.lately(m.at, b.p.MovesWithin, func(m *moment) bool { return m.cutOff[g] }))
	}
}

// delivered is the share of what group g sends to group h that arrives, where a
// plane of the field says what leaves deliver to leaves.
func (b *lookBack) delivered(m *moment, plane, g, h int) float64 {
	var in, out []int32
	for j := range b.p.Attachments {
		if a := b.p.Link(int32(g/b.p.Groups), g%b.p.Groups, j); m.uses[a] {
			in = append(in, a)
		}
		out = append(out, b.p.Link(int32(h/b.p.Groups), h%b.p.Groups, j))
	}
	sum := 0.0
	for _, a := range in {
		if !m.works[a] {
			continue
		}
		x := b.p.At(a)
		var to []int32
		for _, o := range out {
			if b.p.At(o) == x && m.local[o] {
				to = []int32{o}
				break
			}
			at := int(x)*b.n() + int(b.p.At(o))
			if b.p.At(o) != x && m.announced[o] && !m.forgotten[at] && !m.down[at] {
				to = append(to, o)
			}
		}
		for _, o := range to {
			pass := 1.0
			if b.p.At(o) != x {
				pass = b.e.field.Delivered(plane, x, b.p.At(o))
			}
			if m.works[o] {
				sum += pass / float64(len(to)) / float64(len(in))
			}
		}
	}
	return sum
}

// lost is the lost share of all demand; moved shares count as served.
func (b *lookBack) lost(m *moment) float64 {
	groups := b.n() * b.p.Groups
	sum, pairs := 0.0, 0.0
	stays := func(g int) float64 {
		if m.moved[g] {
			return 1 - b.p.MovesShare
		}
		return 1
	}
	for g := range groups {
		for h := range groups {
			if g/b.p.Groups == h/b.p.Groups {
				continue
			}
			pairs++
			sum += stays(g) * stays(h) * (1 - b.delivered(m, 0, g, h))
		}
	}
	return sum / pairs
}

// slow is the share of a leaf's units of work that are hit.
func (b *lookBack) slow(m *moment, leaf int) float64 {
	gone := func(g int) bool {
		for j := range b.p.Attachments {
			if m.works[b.p.Link(int32(g/b.p.Groups), g%b.p.Groups, j)] {
				return false
			}
		}
		return true
	}
	sum := 0.0
	for g := leaf * b.p.Groups; g < (leaf+1)*b.p.Groups; g++ {
		for h := range b.n() * b.p.Groups {
			if h/b.p.Groups != leaf && !gone(g) && !gone(h) {
				sum += 1 - b.delivered(m, 1, g, h)*b.delivered(m, 1, h, g)
			}
		}
	}
	return sum / float64(b.p.Groups*b.p.Groups) / float64(b.n()-1)
}

// homingText draws how servers are attached, and what befalls them.
func homingText(seed uint64) string {
	r := rand.New(rand.NewPCG(seed, 41))
	one := func(list ...string) string { return list[r.IntN(len(list))] }
	warmUp := "20min"
	if seed%16 == 5 {
		warmUp = "25h" // of which the first hour is played without routers
	}
	text := fmt.Sprintf(`
name: servers-%d
warm_up: %s
horizon: 40min
fabric: {clos: %s}
hashing: %s
detection: {signal: %s, settle: %s, bfd: %s}
overload: {leaves: %v, until_ready: %v}
restart: {grace: 30s}
telemetry: []
groups: {power_domain: {leaves: 2}, line_card: {ports: 2}}
homing: {groups: %d, attachments: %s, follow_uplinks: %v, keepalive: %s, moves: %s}
overlay: {hold: %s, tracking: %s, withdraw: %s}
`, seed, warmUp, one("{pods: 1, leaves: 4, spines: 2, tops: 0}", "{pods: 2, leaves: 2, spines: 2, tops: 1}", "{pods: 1, leaves: 6, spines: 2, tops: 0}"),
		one("independent", "independent", "polarised"), one("10ms", "300ms"), one("500ms", "2s"), one("false", "{interval: 100ms, multiplier: 3}"),
		r.IntN(4) > 0, r.IntN(2) == 0, 1+r.IntN(3), one("1", "2", "2", "2"), r.IntN(2) == 0, one("false", "3s", "20s"),
		one("false", "{share: 50%, within: 10s}", "{within: 1s}"), one("3s", "30s"), one("100ms", "1s", "20s"), one("10ms", "100ms", "5s"))
	text += "failures:\n"
	repair := "repair: {lead: {exponential: {mean: 1min}}, hands_on: 1s}"
	for i, m := range []string{
		"on: access, kind: hard, life: {exponential: {mean: 2h}}, " + repair,
		"on: access, kind: flapping, life: {exponential: {mean: 3h}}, flaps: {geometric: {mean: 4}}, down: {lognormal: {median: 500ms, sigma: 2}}, gap: {lognormal: {median: 2s, sigma: 1.5}}",
		"on: leaf, kind: hard, life: {exponential: {mean: 1h}}, " + repair,
		"on: leaf, kind: hard, light: true, life: {exponential: {mean: 2h}}, " + repair,
		"on: leaf, kind: restart, life: {exponential: {mean: 2h}}, down: {lognormal: {median: 2s, sigma: 2}}",
		"on: leaf, kind: restart, kept: true, life: {exponential: {mean: 3h}}, down: {lognormal: {median: 5s, sigma: 1}}",
		"on: router, kind: hard, light: true, plane: control, life: {exponential: {mean: 4h}}, " + repair,
		"on: spine, kind: hard, life: {exponential: {mean: 3h}}, " + repair,
		"on: link, kind: hard, life: {exponential: {mean: 2h}}, " + repair,
		"on: link, kind: lossy, life: {exponential: {mean: 2h}}, loss: {uniform: {low: 1%, high: 100%}}, " + repair,
		"on: link, kind: oversize, above: 1000, one_way: 50%, life: {exponential: {mean: 30min}}, " + repair,
		"on: line_card, kind: oversize, above: 700, members: 2, life: {exponential: {mean: 1h}}, " + repair,
	} {
		if r.IntN(2) == 0 || i < 2 {
			text += fmt.Sprintf("  - {name: mode-%d, %s}\n", i, m)
		}
	}
	return text
}

// The engine, event by event and with groups that are alike taken together, against
// the look back over every pair, at every instant of random worlds: the lost share
// to 1e-9 of all demand, slow shares of every leaf at instants when they are worked
// out, and the sum of all parts against the integral of the share.
func TestServersAgainstLookBack(t *testing.T) {
	t.Parallel()
	instants, lost := 0, 0
	for seed := range uint64(40) {
		w := build(t, "servers", homingText(seed))
		e := newRandom(w, seed, 0, asFits)
		b := &lookBack{e: e, p: &w.Homing}
		b.until(t, seed, w, &instants, &lost)
	}
	t.Logf("%d instants, %d of them with losses", instants, lost)
	if lost < 1000 {
		t.Errorf("only %d instants with losses", lost)
	}
}

func (b *lookBack) until(t *testing.T, seed uint64, w *model.World, instants, lost *int) {
	t.Helper()
	e := b.e
	total, since, share := 0.0, w.WarmUp, 0.0
	for {
		ev, ok := e.queue.Peek()
		if !ok || ev.At >= e.until {
			break
		}
		at := ev.At
		e.advance(at + 1)
		if !e.settled {
			e.settle()
		}
		for next, ok := e.queue.Peek(); ok && next.At <= at; next, ok = e.queue.Peek() {
			e.advance(at + 1)
			e.settle()
		}
		if e.asleep {
			continue // the routers are not played yet
		}
		*instants++
		m := b.see(at)
		b.believe(m)
		b.history = append(b.history, *m)
		if k := len(b.history) / 2; k > 100 && b.history[k].at < at-100e9 { // longer than any time of S27
			b.history = append([]moment(nil), b.history[k:]...)
		}
		if at > since {
			total += share * float64(at-since) / 1e9
			since = at
		}
		share = b.lost(m)
		if share > 0 {
			*lost++
		}
		if got := e.ledger.Share(); math.Abs(got-share) > 1e-9 {
			t.Fatalf("seed %d at %d ns: the engine loses %.12g, looking back %.12g\n%s", seed, at, got, share, b.differ(m, homingText(seed)))
		}
		if math.Abs(e.ledger.Apps[0].Share(e.ledger, 0)-b.slow(m, 0)) > 1e-9 {
			t.Fatalf("seed %d at %d ns: leaf 0 has %.12g slow, looking back %.12g", seed, at, e.ledger.Apps[0].Share(e.ledger, 0), b.slow(m, 0))
		}
	}
	e.run()
	total += share * float64(e.until-since) / 1e9
	sum := 0.0
	for id := range e.faults {
		one, _ := e.ledger.Lost(int32(id))
		sum += one
	}
	if got := e.ledger.Total(e.until); math.Abs(got-total) > 1e-9*(1+total) || math.Abs(sum-got) > 1e-9*(1+got) {
		t.Errorf("seed %d: %.12g lost seconds, parts sum to %.12g; looking back %.12g", seed, got, sum, total)
	}
}

// differ says where the engine's servers are not as they look back.
func (b *lookBack) differ(m *moment, text string) string {
	out := text
	for a := range b.e.f.Access {
		works, uses, local, announced := b.e.servers.Believed(int32(a))
		if works != m.works[a] || uses != m.uses[a] || local != m.local[a] || announced != m.announced[a] {
			out += fmt.Sprintf("%s: works %v %v, uses %v %v, local %v %v, announced %v %v\n", b.p.Name(b.e.f, int32(a)), works, m.works[a], uses, m.uses[a], local, m.local[a], announced, m.announced[a])
		}
	}
	for i := range m.missing {
		forgotten, down := b.e.servers.Has(int32(i/b.n()), int32(i%b.n()))
		if forgotten != m.forgotten[i] || down != m.down[i] {
			out += fmt.Sprintf("%d of %d: forgotten %v %v, down %v %v, dark %v for %d, delivered %v %v\n", i/b.n(), i%b.n(), forgotten, m.forgotten[i], down, m.down[i], m.dark[i], len(b.history), b.e.field.Delivered(0, int32(i/b.n()), int32(i%b.n())), b.e.field.Delivered(0, int32(i%b.n()), int32(i/b.n())))
		}
	}
	return out + fmt.Sprintf("forgotten %v\ndown %v\nmoved %v\ncut off %v\nalive %v uplinks %v\n", m.forgotten, m.down, m.moved, m.cutOff, m.alive, m.uplinks)
}
