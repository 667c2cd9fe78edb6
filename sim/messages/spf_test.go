package messages

import "slices"

// paths are the circuits of all equal least paths to every leaf: Dijkstra's
// algorithm over what the router believes (S16). Each router of the tree carries
// the set of circuits by which it is reached.
func (x *router) paths() [][]int {
	const far = int64(1) << 62
	n := len(x.database)
	cost, done, by := make([]int64, n), make([]bool, n), make([]map[int]bool, n)
	for r := range cost {
		cost[r] = far
	}
	reach := func(r int32, c int64, circuits map[int]bool) {
		if c > cost[r] {
			return
		}
		if c < cost[r] {
			cost[r], by[r] = c, map[int]bool{}
		}
		for k := range circuits {
			by[r][k] = true
		}
	}
	cost[x.id], done[x.id] = 0, true
	for c, p := range x.ports {
		if !x.circuits[c].held {
			continue
		}
		if _, ok := x.database[p.Peer].metricOf(p.Link); !ok {
			continue
		}
		m, ok := x.own.metricOf(p.Link)
		if !ok {
			m = x.metric(c)
		}
		reach(p.Peer, int64(m), map[int]bool{c: true})
	}
	for {
		r := -1
		for k := range cost {
			if !done[k] && cost[k] < far && (r < 0 || cost[k] < cost[r]) {
				r = k
			}
		}
		if r < 0 {
			break
		}
		done[r] = true
		l := x.database[r]
		if l == nil || l.bit {
			continue // no transit
		}
		for _, a := range l.lists {
			k := &x.fabric.Links[a.link]
			to := k.Lower + k.Upper - int32(r)
			if _, ok := x.database[to].metricOf(a.link); ok && !done[to] {
				reach(to, cost[r]+int64(a.metric), by[r])
			}
		}
	}
	out := make([][]int, x.fabric.Leaves)
	for d := range out {
		if d == int(x.id) {
			continue
		}
		for c := range x.ports {
			if by[d][c] {
				out[d] = append(out[d], c)
			}
		}
	}
	return out
}

// run is one SPF run under way.
type run struct {
	next [][]int
	last bool // its table makes the router ready
}

// write is an entry on its way into force.
type write struct {
	leaf  int
	next  []int
	ready bool // the router is ready with it
}

// ask has a run made now, or when the run before is over, which comes after the
// arrivals of that instant.
func (x *router) ask(now int64) {
	if x.waiting == 0 && now >= x.runEnds {
		x.begin(now)
		return
	}
	x.waiting++
}

func (x *router) begin(now int64) {
	x.runs = append(x.runs, now)
	r := &run{next: x.paths()}
	if !x.ready && x.exchanged {
		r.last, x.ready = true, true
	}
	x.running = append(x.running, r)
	x.runEnds = now + x.paced(x.set.SPFRun)
	x.plan(x.runEnds, input{kind: runIsOver, run: r})
}

// finish sets about writing what a run has changed: S17.
func (x *router) finish(now int64, r *run) {
	x.running = x.running[1:]
	start, k := max(now, x.writeEnd), int64(0)
	for d, next := range r.next {
		coming := x.table[d]
		for _, w := range x.pending {
			if w.leaf == d {
				coming = w.next
			}
		}
		if slices.Equal(coming, next) {
			continue
		}
		k++
		x.writeEnd = start + x.paced(x.set.FIBBase) + k*x.set.Entries*x.paced(x.set.FIBPerPrefix)
		w := &write{leaf: d, next: next}
		x.pending = append(x.pending, w)
		x.plan(x.writeEnd, input{kind: writeIsDue, write: w})
	}
	switch n := len(x.pending); {
	case r.last && n == 0:
		x.becomeReady(now)
	case r.last:
		x.pending[n-1].ready = true
	}
	if x.waiting > 0 {
		x.waiting--
		x.begin(now)
	}
}

func (x *router) write(now int64, w *write) {
	x.pending = x.pending[1:]
	x.table[w.leaf] = w.next
	x.effects = append(x.effects, effect{kind: changesTable})
	if w.ready {
		x.becomeReady(now)
	}
}

// becomeReady: S19.
func (x *router) becomeReady(now int64) {
	if x.set.UntilReady {
		x.bit = false
		x.change(now)
	}
}

// prune drops a circuit whose adjacency is down from every entry that keeps
// another: S18.
func (x *router) prune(c int) {
	if x.circuits[c].held {
		return
	}
	for d := range x.table {
		x.table[d] = without(x.table[d], c)
	}
	for _, w := range x.pending {
		w.next = without(w.next, c)
	}
	for _, r := range x.running {
		for d := range r.next {
			r.next[d] = without(r.next[d], c)
		}
	}
	x.effects = append(x.effects, effect{kind: changesTable})
}

func without(next []int, c int) []int {
	if len(next) < 2 || !slices.Contains(next, c) {
		return next
	}
	return slices.DeleteFunc(slices.Clone(next), func(k int) bool { return k == c })
}
