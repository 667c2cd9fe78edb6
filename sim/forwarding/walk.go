package forwarding

import (
	"math/bits"

	"halflight/sim/paths"
)

// walker follows every flow from every leaf to one destination along every
// choice of next hops. It is the plain way, and the only exact one when all
// routers hash alike.
type walker struct {
	on     []bool // by router: on the flow's way so far
	begin  []int32
	losses []Loss
	totals []float64 // by plane
	whole  bool
	d      int32
	source int32
	start  int
}

func (w *walker) init(q *Field) {
	w.on = make([]bool, len(q.f.Routers))
	w.begin = make([]int32, q.f.Leaves+1)
}

// of returns the losses of the walks from one leaf.
func (w *walker) of(source int32) []Loss {
	return w.losses[w.begin[source]:w.begin[source+1]]
}

// walkAll walks from all leaves to d and stores what arrives.
func (q *Field) walkAll(d int32) {
	w := &q.walk
	w.d, w.losses = d, w.losses[:0]
	for s := int32(0); int(s) < q.f.Leaves; s++ {
		w.begin[s] = int32(len(w.losses))
		q.Sources = append(q.Sources, s)
		if s == d && q.alive[d] {
			q.assign(d, s, nil, false)
			continue
		}
		if !q.alive[s] || !q.alive[d] {
			q.assign(d, s, q.loss.zeros[:q.planes], true)
			continue
		}
		w.source, w.start, w.whole = s, len(w.losses), false
		w.totals = append(w.totals[:0], q.loss.zeros[:q.planes]...)
		q.step(s, stride{share: 1, first: -1, modulus: 1}, q.loss.ones[:q.planes])
		for i, v := range w.totals {
			if v > 1-1e-15 && !w.whole && len(w.losses) == w.start {
				w.totals[i] = 1 // sums of equal parts may miss one by rounding
			}
		}
		q.assign(d, s, w.totals, w.whole)
	}
	w.begin[q.f.Leaves] = int32(len(w.losses))
}

// stride is what a flow brings to its next router. Polarised flows have labels
// that are residue modulo modulus.
type stride struct {
	share            float64 // of the leaf's traffic, before losses
	first            int32
	modulus, residue int
}

// step takes a flow at router x one router further. pass is what is left of
// it, by plane.
func (q *Field) step(x int32, s stride, pass []float64) {
	w := &q.walk
	if x == w.d {
		for i := range w.totals {
			w.totals[i] += float64(s.share * pass[i])
		}
		return
	}
	if s.first < 0 && !q.innocent(w.d, x) {
		s.first = x
	}
	set := q.table.Of(w.d, x)
	k := paths.HopsIn(set)
	if k == 0 {
		w.lose(Loss{NoRoute, true, -1, s.first, float64(s.share * pass[0])}, true)
		return
	}
	w.on[x] = true
	common := gcd(s.modulus, k)
	i := 0
	for word := range set {
		for bitsLeft := set[word]; bitsLeft != 0; bitsLeft &= bitsLeft - 1 {
			port := int32(word*64 + bits.TrailingZeros64(bitsLeft))
			next := s
			if !q.polarised {
				next.share = s.share / float64(k)
				q.take(x, port, next, pass)
			} else if i%common == s.residue%common {
				next.share = float64(s.share*float64(common)) / float64(k)
				next.modulus, next.residue = meet(s.modulus, s.residue, k, i)
				q.take(x, port, next, pass)
			}
			i++
		}
	}
	w.on[x] = false
}

// take sends a flow over one port.
func (q *Field) take(x, port int32, s stride, pass []float64) {
	w := &q.walk
	p := &q.f.Ports[x][port]
	dir := &q.dirs[p.Out()]
	if dir.Dead {
		w.lose(Loss{DeadDirection, true, dir.Cause, s.first, float64(s.share * pass[0])}, true)
		return
	}
	var buf [16]float64
	left := buf[:len(pass)]
	for i := range pass {
		left[i] = float64(pass[i] * dir.Pass[i])
	}
	if dir.Pass[0] < 1 {
		w.lose(dir.loses(s.first, float64(float64(s.share*pass[0])*(1-dir.Pass[0]))), dir.Whole)
	} else if dir.Whole {
		w.whole = true
	}
	if w.on[p.Peer] {
		first := s.first
		w.lose(Loss{Loop, true, -1, first, float64(s.share * left[0])}, true)
		return
	}
	q.step(p.Peer, s, left)
}

func (w *walker) lose(l Loss, whole bool) {
	w.whole = w.whole || whole
	if l.Amount == 0 {
		return
	}
	for i := w.start; i < len(w.losses); i++ {
		if o := &w.losses[i]; o.Kind == l.Kind && o.Cause == l.Cause && o.First == l.First {
			o.Amount, o.Whole = o.Amount+l.Amount, o.Whole || l.Whole
			return
		}
	}
	w.losses = append(w.losses, l)
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// meet returns the labels that are r modulo m and i modulo k, as a residue of
// their least common multiple. They must be compatible.
func meet(m, r, k, i int) (modulus, residue int) {
	modulus = m / gcd(m, k) * k
	for residue = r; residue%k != i; residue += m {
	}
	return modulus, residue
}
