package linkstate

import "halflight/model/timer"

// mixture is an area whose routers have other SPF back-offs than one another: each
// kind keeps books of its own, since the usual waits are others.
type mixture struct {
	spf    []*timer.SPF // by router
	kind   []uint8      // by router
	kinds  []*timer.SPF
	books  []books // by kind
	states bool    // not all kinds have the states of the usual one
}

// books are those of one kind of back-off: of leaves, and of all other routers.
type books struct{ leaves, others *waitBook }

// newMixture returns nil if all routers are alike. usual is the back-off of those of which
// nothing is said, even if there are none.
func newMixture(spf []*timer.SPF, usual *timer.SPF) *mixture {
	if spf == nil {
		return nil
	}
	m := &mixture{spf: spf, kind: make([]uint8, len(spf))}
	number := func(p *timer.SPF) int {
		for k := range m.kinds {
			if *m.kinds[k] == *p {
				return k
			}
		}
		m.kinds = append(m.kinds, p)
		return len(m.kinds) - 1
	}
	for x, p := range spf {
		m.kind[x] = uint8(number(p))
		m.states = m.states || !timer.SameStates(p.Family, usual.Family)
	}
	m.open()
	return m
}

// open begins all books.
func (m *mixture) open() {
	m.books = m.books[:0]
	for _, p := range m.kinds {
		m.books = append(m.books, books{newWaitBook(p), newWaitBook(p)})
	}
}

// pieces returns the distribution of waits over all routers, and over leaves.
func (m *mixture) pieces() (w Waits) {
	var all, leaves []*waitBook
	for _, b := range m.books {
		all, leaves = append(all, b.others.plus(b.leaves)), append(leaves, b.leaves)
	}
	w.All, w.Mean = piecesOf(all...)
	w.Leaf, w.LeafMean = piecesOf(leaves...)
	return w
}

// spf is the SPF back-off of x.
func (c *Control) spf(x int32) *timer.SPF {
	if c.mixed == nil {
		return &c.t.SPF
	}
	return c.mixed.spf[x]
}

// bookOf is the book in which waits of x are kept.
func (c *Control) bookOf(x int32) *waitBook {
	b := &c.books
	if c.mixed != nil {
		b = &c.mixed.books[c.mixed.kind[x]]
	}
	if int(x) < c.f.Leaves {
		return b.leaves
	}
	return b.others
}

// statePlace is the place of a state of x's back-off among those of the area.
func (c *Control) statePlace(x int32, s int) int {
	if c.mixed != nil && c.mixed.states && s == 1 && c.mixed.spf[x].Family != timer.RFC8405 {
		return len(timer.MixedStates) - 1
	}
	return s
}

// states is how many states the back-off of the area has.
func (c *Control) states() int {
	if c.mixed != nil && c.mixed.states {
		return len(timer.MixedStates)
	}
	return len(c.t.SPF.Family.States())
}

// SPFRest returns the wait of x's SPF back-off at rest.
func (c *Control) SPFRest(x int32) int64 { return restWait(c.spf(x)) }

// waits returns the distribution of waits in the books.
func (c *Control) waits() Waits {
	if c.mixed == nil {
		w := Waits{Rest: restWait(&c.t.SPF)}
		w.Leaf, w.LeafMean = piecesOf(c.books.leaves)
		w.All, w.Mean = piecesOf(c.books.others.plus(c.books.leaves))
		return w
	}
	w := c.mixed.pieces()
	for _, p := range c.mixed.spf {
		w.Rest += restWait(p)
	}
	w.Rest /= int64(len(c.mixed.spf)) // in the mean
	return w
}
