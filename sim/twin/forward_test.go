package twin

import "math/big"

// Packet sizes are uniform between these, in bytes.
const (
	sizeLeast = 500
	sizeMost  = 1500
)

// fits is the share of packets up to a size.
func fits(size int64) *big.Rat {
	size = min(max(size, sizeLeast), sizeMost)
	return big.NewRat(size-sizeLeast, sizeMost-sizeLeast)
}

// flow is a part of the demand of one leaf pair under way: a share of it that is
// 1/parts of the pair's flows, of whose packets left is still there.
type flow struct {
	parts int64
	left  *big.Rat
	limit int64 // largest packet that came this far
}

// walker takes the flows of one pair along every path.
type walker struct {
	*sim
	dst     int
	label   int // polarised hashing; -1: independent
	path    []int
	visited []bool
	lost    map[int]*big.Rat // by fault, as a share of the pair
	entire  bool             // some flow is lost entirely
}

// walkPair returns what a pair loses, by fault, as a share of the pair's demand,
// and whether some flow is lost entirely.
func (s *sim) walkPair(src, dst int) (map[int]*big.Rat, bool) {
	w := &walker{sim: s, dst: dst, label: -1, visited: make([]bool, len(s.names)), lost: map[int]*big.Rat{}}
	if !s.fwd[src] || !s.fwd[dst] {
		by := s.oldest(-1, func(x *fault) bool { return x.stops(src) || x.stops(dst) })
		w.lose(by, flow{1, big.NewRat(1, 1), sizeMost}, big.NewRat(1, 1))
		return w.lost, true
	}
	if s.scn.Hashing != "polarised" {
		w.step(src, flow{1, big.NewRat(1, 1), sizeMost})
		return w.lost, w.entire
	}
	labels := s.commonMultiple()
	for w.label = 0; w.label < int(labels); w.label++ {
		w.step(src, flow{labels, big.NewRat(1, 1), sizeMost})
	}
	return w.lost, w.entire
}

// commonMultiple of all numbers of next hops in force.
func (s *sim) commonMultiple() int64 {
	m := int64(1)
	for r := range s.routers {
		for _, e := range s.routers[r].table {
			if n := int64(len(e.hops)); n > 0 {
				gcd := new(big.Int).GCD(nil, nil, big.NewInt(m), big.NewInt(n)).Int64()
				m = m / gcd * n
			}
		}
	}
	return m
}

// lose charges a share of what is left of a flow.
func (w *walker) lose(by int, f flow, share *big.Rat) {
	x := new(big.Rat).Mul(f.left, share)
	x.Quo(x, new(big.Rat).SetInt64(f.parts))
	if w.lost[by] == nil {
		w.lost[by] = new(big.Rat)
	}
	w.lost[by].Add(w.lost[by], x)
}

func (w *walker) loseAll(by int, f flow) {
	w.entire = true
	w.lose(by, f, big.NewRat(1, 1))
}

// step takes a flow on from router r (S21, S22).
func (w *walker) step(r int, f flow) {
	if r == w.dst {
		return
	}
	if w.visited[r] {
		w.loseAll(w.blameTables(w.path, w.dst), f)
		return
	}
	w.visited[r] = true
	w.path = append(w.path, r)
	hops := w.routers[r].table[w.dst].hops
	switch {
	case len(hops) == 0:
		w.loseAll(w.blameTables(w.path, w.dst), f)
	case w.label >= 0:
		w.cross(r, hops[w.label%len(hops)], f)
	default:
		f.parts *= int64(len(hops))
		for _, l := range hops {
			w.cross(r, l, f)
		}
	}
	w.path = w.path[:len(w.path)-1]
	w.visited[r] = false
}

// cross takes a flow over link l, losing what the direction drops.
func (w *walker) cross(r, l int, f flow) {
	d := 2*l + w.end(l, r)
	if !w.alive[l] {
		if way := w.detours[d]; w.usable(d, way) {
			for _, leg := range way {
				if f = w.losses(leg, f); f.left.Sign() == 0 {
					return
				}
			}
			w.step(w.far(l, r), f)
			return
		}
		w.loseAll(w.blameDead(l), f)
		return
	}
	if f = w.losses(d, f); f.left.Sign() > 0 {
		w.step(w.far(l, r), f)
	}
}

// usable: a way around a direction takes packets to a router that lives, over
// links that are alive.
func (s *sim) usable(d int, way []int) bool {
	l := d / 2
	if len(way) == 0 || !s.fwd[s.links[l].ends[0]] || !s.fwd[s.links[l].ends[1]] {
		return false
	}
	for _, leg := range way {
		if !s.alive[leg/2] {
			return false
		}
	}
	return true
}

// losses takes a flow over direction d, which is alive.
func (w *walker) losses(d int, f flow) flow {
	if by := w.blameGray(d); by >= 0 {
		pass, limit := w.grayPass(d, f.limit)
		w.lose(by, f, new(big.Rat).Sub(big.NewRat(1, 1), pass))
		f.left, f.limit = new(big.Rat).Mul(f.left, pass), limit
		w.entire = w.entire || f.left.Sign() == 0
	}
	return f
}

// grayPass is the share of packets that direction d lets through, and the largest
// packet among them. A flow that a black hole holds is lost entirely.
func (w *walker) grayPass(d int, limit int64) (*big.Rat, int64) {
	pass := big.NewRat(1, 1)
	narrow := limit
	for _, x := range w.faults {
		if !x.active || !x.gray(d) {
			continue
		}
		switch x.kind {
		case "lossy", "silent":
			pass.Mul(pass, new(big.Rat).Sub(big.NewRat(1, 1), x.loss))
		case "blackhole":
			pass.Mul(pass, new(big.Rat).Sub(big.NewRat(1, 1), x.share))
			w.entire = w.entire || x.share.Sign() > 0
		case "oversize":
			narrow = min(narrow, x.above)
		}
	}
	if before := fits(limit); narrow < limit && before.Sign() > 0 {
		pass.Mul(pass, new(big.Rat).Quo(fits(narrow), before))
	}
	return pass, narrow
}

// pathExists: alive links that both ends will list lead from src to dst without
// transit through a router that carries the overload bit, as configured or drained (S25).
func (s *sim) pathExists(src, dst int) bool {
	seen := make([]bool, len(s.names))
	seen[src] = true
	todo := []int{src}
	for len(todo) > 0 {
		r := todo[0]
		todo = todo[1:]
		if r == dst {
			return true
		}
		if r != src && s.settledBit(r, -1) {
			continue
		}
		for _, l := range s.linksOf[r] {
			if n := s.far(l, r); s.alive[l] && s.truth.listed[l] == [2]bool{true, true} && !seen[n] {
				seen[n] = true
				todo = append(todo, n)
			}
		}
	}
	return false
}
