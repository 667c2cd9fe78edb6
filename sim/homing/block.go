package homing

// The traffic between the servers of one pair of leaves and those of another, or
// of one leaf each with one attachment, is a block. All of it is worked out anew
// when anything in it changes: groups that are alike are taken together, so that a
// block costs little however many groups there are.

// Flow is the traffic of one block, in units of what one leaf's worth of servers
// sends to another's.
type Flow struct {
	// Weight is what is sent from a leaf of the one pair to a leaf of the other
	// through the fabric.
	Weight [2][2]float64
	// Extra is what is lost at servers and at leaves that have nothing of them.
	Extra []Loss

	spares bool // only what has a path by other attachments that work is weighed
}

// Loss is a part of a block's traffic that no link between routers loses.
// Stranded: there is no path by any attachments that work.
type Loss struct {
	Fault    int32
	Stranded bool
	Amount   float64
}

// alike are groups of servers of one pair of leaves in the same state.
type alike struct {
	state
	count [2]float64 // by first leaf
}

// state is all that counts of a group, by attachment: that at the even leaf of the
// pair first, whichever the group's own first leaf is.
type state struct {
	uses, works, local, announced [2]bool
	fault                         [2]int32
	moved, cut                    bool
}

// pair is what a pair of leaves has.
type pair struct {
	kinds []alike
	old   bool
}

// leafOf is a leaf of a pair.
func (s *Servers) leafOf(p int32, i int) int32 { return p*int32(s.plan.Attachments) + int32(i) }

// spoil has a block worked out anew.
func (s *Servers) spoil(p, q int32) {
	b := int(p)*len(s.pairs) + int(q)
	if !s.stale[b] {
		s.stale[b] = true
		s.Stale = append(s.Stale, int32(b))
	}
}

// spoilPair has all blocks of a pair worked out anew.
func (s *Servers) spoilPair(p int32) {
	s.pairs[p].old = true
	for q := range s.pairs {
		s.spoil(p, int32(q))
		s.spoil(int32(q), p)
	}
}

// Rethink has the blocks worked out anew that lose something at servers: there may be
// a path now, or none any more.
func (s *Servers) Rethink() {
	for b, loses := range s.loses {
		if loses {
			s.spoil(int32(b/len(s.pairs)), int32(b%len(s.pairs)))
		}
	}
}

// Block returns the pairs of a block, and takes it off the list of stale ones,
// which the caller empties.
func (s *Servers) Block(b int32) (p, q int32) {
	s.stale[b] = false
	n := int32(len(s.pairs))
	return b / n, b % n
}

// Leaves returns how many leaves a pair has, and its first.
func (s *Servers) Leaves(p int32) (first int32, n int) {
	return s.leafOf(p, 0), s.plan.Attachments
}

// PairOf is the pair that a leaf is of.
func (s *Servers) PairOf(x int32) int32 { return x / int32(s.plan.Attachments) }

// kinds returns the groups of a pair, those that are alike together.
func (s *Servers) kinds(p int32) []alike {
	if s.pairs[p].old {
		s.sortOut(p)
	}
	return s.pairs[p].kinds
}

// sortOut puts groups of a pair that are alike together.
func (s *Servers) sortOut(p int32) {
	o := &s.pairs[p]
	o.old, o.kinds = false, o.kinds[:0]
	for i := range s.plan.Attachments {
		home := s.leafOf(p, i)
		for k := range s.plan.Groups {
			st := state{fault: [2]int32{-1, -1}, moved: s.groups[int(home)*s.plan.Groups+k].moved, cut: true}
			for j := range s.plan.Attachments {
				l := &s.links[s.plan.Link(home, k, j)]
				at := i ^ j
				st.uses[at], st.works[at], st.local[at], st.announced[at] = l.uses, l.works, l.local, l.announced
				if !(l.uses && l.works && l.local && l.announced) {
					st.fault[at] = l.fault
				}
				st.cut = st.cut && !l.works
			}
			s.put(o, st, i)
		}
	}
}

func (s *Servers) put(o *pair, st state, home int) {
	for i := range o.kinds {
		if o.kinds[i].state == st {
			o.kinds[i].count[home]++
			return
		}
	}
	a := alike{state: st}
	a.count[home] = 1
	o.kinds = append(o.kinds, a)
}

// Scale multiplies all amounts of a block.
func (f *Flow) Scale(by float64) {
	if by == 1 {
		return
	}
	for i := range f.Weight {
		for j := range f.Weight[i] {
			f.Weight[i][j] *= by
		}
	}
	for i := range f.Extra {
		f.Extra[i].Amount *= by
	}
}

// Flow works out the block from pair p to pair q.
func (s *Servers) Flow(p, q int32) Flow {
	var out Flow
	s.fill(&out, p, q)
	s.loses[int(p)*len(s.pairs)+int(q)] = len(out.Extra) > 0
	return out
}

// Spare is the part of what is sent from a leaf to another for which there is a path
// by other attachments that work, in the units of a Flow.
func (s *Servers) Spare(a, b int32) float64 {
	p, q, out := s.PairOf(a), s.PairOf(b), Flow{spares: true}
	s.fill(&out, p, q)
	return out.Weight[a-s.leafOf(p, 0)][b-s.leafOf(q, 0)]
}

func (s *Servers) fill(out *Flow, p, q int32) {
	from, to := s.kinds(p), s.kinds(q)
	each := 1 / float64(s.plan.Groups) / float64(s.plan.Groups)
	for i := range from {
		for j := range to {
			n := pairsOf(&from[i], &to[j], p == q)
			if n == 0 {
				continue
			}
			amount := float64(float64(n*each)*s.stays(&from[i])) * s.stays(&to[j])
			s.send(out, p, q, &from[i].state, &to[j].state, amount)
		}
	}
}

// pairsOf is how many pairs of groups of different first leaves there are.
func pairsOf(a, b *alike, same bool) float64 {
	all := float64((a.count[0] + a.count[1]) * (b.count[0] + b.count[1]))
	if same {
		all -= float64(a.count[0]*b.count[0]) + float64(a.count[1]*b.count[1])
	}
	return all
}

// stays is the share of what a group does that nobody took over.
func (s *Servers) stays(a *alike) float64 {
	if a.moved {
		return 1 - s.plan.MovesShare
	}
	return 1
}

// send follows traffic from its servers to those that it is for.
func (s *Servers) send(out *Flow, p, q int32, g, h *state, amount float64) {
	n := 0
	for i := range s.plan.Attachments {
		if g.uses[i] {
			n++
		}
	}
	if n == 0 {
		out.lose(s.oldest(g.fault[0], g.fault[1]), !s.joined(p, q, g, h, none), amount)
		return
	}
	for i := range s.plan.Attachments {
		switch part := amount / float64(n); {
		case !g.uses[i]:
		case !g.works[i]:
			out.lose(g.fault[i], !s.joined(p, q, g, h, none), part)
		default:
			s.enter(out, p, q, i, g, h, part)
		}
	}
}

// enter follows traffic from the leaf at which it enters.
func (s *Servers) enter(out *Flow, p, q int32, i int, g, h *state, amount float64) {
	view, n := s.view(p, q, i, h)
	if n == 0 {
		out.lose(s.unknown(p, q, i, h), !s.joined(p, q, g, h, none), amount)
		return
	}
	part := amount / float64(n)
	for j := range s.plan.Attachments {
		switch {
		case !view[j]:
		case !h.works[j]:
			out.lose(h.fault[j], !s.joined(p, q, g, h, none), part)
		case p == q && i == j:
		case !out.spares || s.joined(p, q, g, h, [2]int{i, j}):
			out.Weight[i][j] += part
		}
	}
}

// none is no two attachments.
var none = [2]int{-1, -1}

// joined says whether there is a path from servers to others by attachments that work,
// two of them left out.
func (s *Servers) joined(p, q int32, g, h *state, but [2]int) bool {
	for i := range s.plan.Attachments {
		for j := range s.plan.Attachments {
			if g.works[i] && h.works[j] && but != [2]int{i, j} && s.linked(s.leafOf(p, i), s.leafOf(q, j)) {
				return true
			}
		}
	}
	return false
}

// linked says whether there is a path from a leaf to another.
func (s *Servers) linked(a, b int32) bool { return a == b || s.Path(b, a) }

// view is which attachments of a group of pair q leaf i of pair p sends to.
func (s *Servers) view(p, q int32, i int, h *state) (view [2]bool, n int) {
	if p == q && h.local[i] {
		view[i] = true
		return view, 1
	}
	a := s.leafOf(p, i)
	for j := range s.plan.Attachments {
		if p == q && i == j {
			continue
		}
		v := s.at(a, s.leafOf(q, j))
		if h.announced[j] && !v.forgotten && !v.down {
			view[j] = true
			n++
		}
	}
	return view, n
}

// unknown is the oldest fault because of which leaf i of pair p has nothing of a
// group of pair q.
func (s *Servers) unknown(p, q int32, i int, h *state) int32 {
	a, best := s.leafOf(p, i), int32(-1)
	for j := range s.plan.Attachments {
		fault := h.fault[j]
		if h.announced[j] && !(p == q && i == j) {
			fault = s.at(a, s.leafOf(q, j)).fault
		}
		best = s.oldest(best, fault)
	}
	return best
}

// oldest is the older of two faults, of which one or both may be -1.
func (s *Servers) oldest(a, b int32) int32 {
	if a < 0 || b >= 0 && s.Older(b, a) {
		return b
	}
	return a
}

func (f *Flow) lose(fault int32, stranded bool, amount float64) {
	if amount == 0 {
		return
	}
	for i := range f.Extra {
		if e := &f.Extra[i]; e.Fault == fault && e.Stranded == stranded {
			e.Amount += amount
			return
		}
	}
	f.Extra = append(f.Extra, Loss{fault, stranded, amount})
}

// Hit is the mean, over groups of two leaves, of the probability that a unit of
// work of two groups is hit on its way there or back. Leaf i is of pair p, leaf j
// of pair q; delivered is what a unit meets between two leaves of the fabric.
// Groups of which one has no attachment that works have no units, as leaves that
// are dead.
func (s *Servers) Hit(p, q int32, i, j int, delivered func(a, b int32) float64) float64 {
	sum := 0.0
	for _, g := range s.kinds(p) {
		for _, h := range s.kinds(q) {
			n := float64(g.count[i] * h.count[j])
			if n == 0 || g.cut || h.cut {
				continue
			}
			whole := float64(s.arrives(p, q, &g.state, &h.state, delivered) * s.arrives(q, p, &h.state, &g.state, delivered))
			sum += float64(n * (1 - whole))
		}
	}
	return sum / float64(s.plan.Groups) / float64(s.plan.Groups)
}

// arrives is the share of a group's traffic that reaches another.
func (s *Servers) arrives(p, q int32, g, h *state, delivered func(a, b int32) float64) float64 {
	n, sum := 0, 0.0
	for i := range s.plan.Attachments {
		if g.uses[i] {
			n++
		}
		if !g.uses[i] || !g.works[i] {
			continue
		}
		view, m := s.view(p, q, i, h)
		for j := range s.plan.Attachments {
			switch {
			case !view[j] || !h.works[j]:
			case p == q && i == j:
				sum++
			default:
				sum += delivered(s.leafOf(p, i), s.leafOf(q, j)) / float64(m)
			}
		}
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}
