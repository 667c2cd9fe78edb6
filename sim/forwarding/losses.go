package forwarding

import (
	"math/bits"
	"slices"

	"halflight/sim/paths"
)

// Kind says how packets are lost.
type Kind uint8

// The kinds of loss.
const (
	DeadDirection Kind = iota // a link or a router at its end is dead
	GrayDirection             // a direction that drops a share
	FullDirection             // a direction that is asked for more than it carries
	NoRoute                   // a router without a next hop
	Loop                      // a flow came back to a router
)

// Loss is a part of the traffic from one leaf to another that is lost in one
// way.
type Loss struct {
	Kind   Kind
	Whole  bool    // some flow is lost entirely in this way
	Cause  int32   // of the direction, as given with it; -1 for NoRoute and Loop
	First  int32   // first router on the way that is not innocent: whose entry is not the converged one, nor blameless; -1 for none
	Amount float64 // share of the pair's traffic
}

// loses is what a direction that is not dead loses.
func (d *Direction) loses(first int32, amount float64) Loss {
	kind := GrayDirection
	if d.Full {
		kind = FullDirection
	}
	return Loss{kind, d.Whole, d.Cause, first, amount}
}

// lossTable is working memory for one destination: how a unit of traffic that
// is at a router gets lost from there.
type lossTable struct {
	zeros, ones []float64
	sums        []float64
	known       []uint32 // by router: stamp of the call
	at          []int32  // by router: where its list is in all
	size        []int32
	stamp       uint32
	all         []Loss
	part        []Loss
}

func (t *lossTable) init(n int) {
	t.zeros, t.ones, t.sums = make([]float64, 16), slices.Repeat([]float64{1}, 16), make([]float64, 16)
	t.known, t.at, t.size = make([]uint32, n), make([]int32, n), make([]int32, n)
}

// Open prepares Losses for destination d, which has been settled.
func (q *Field) Open(d int32) {
	t := &q.loss
	t.stamp++
	t.all = t.all[:0]
}

// Losses says how traffic from leaf source to d is lost, in plane 0; nil if
// nothing is. Open must have been called for d. What a dead leaf sends or
// should receive is not among it. The slice is valid until the next Open.
func (q *Field) Losses(d, source int32) []Loss {
	if !q.alive[d] || !q.alive[source] {
		return nil
	}
	if q.delivered(0, d, source) == 1 {
		return nil
	}
	if q.polarised {
		return q.walk.of(source)
	}
	return q.lossesAt(d, source)
}

// lossesAt finds the list of a router from those of its next hops. It ends
// because circles are followed by themselves.
func (q *Field) lossesAt(d, x int32) []Loss {
	t := &q.loss
	if t.known[x] != t.stamp {
		begin := len(t.part)
		c := q.circles.part[x]
		star, ok := Loss{}, c >= 0 && len(q.circles.stars) > 0 && q.circles.stars[c].clean
		if ok {
			star, ok = q.starLoss(d, x)
		}
		if ok {
			t.part = append(t.part, star)
		} else if c >= 0 {
			q.gatherAll(d, x, c, begin)
		} else {
			q.gather(d, x)
		}
		t.at[x], t.size[x] = int32(len(t.all)), int32(len(t.part)-begin)
		t.all = append(t.all, t.part[begin:]...)
		t.part = t.part[:begin]
		t.known[x] = t.stamp
	}
	return t.all[t.at[x] : t.at[x]+t.size[x] : t.at[x]+t.size[x]]
}

// gather appends x's list to part.
func (q *Field) gather(d, x int32) {
	t := &q.loss
	begin := len(t.part)
	first := int32(-1)
	if !q.innocent(d, x) {
		first = x
	}
	set := q.table.Of(d, x)
	k := paths.HopsIn(set)
	if k == 0 {
		t.part = append(t.part, Loss{NoRoute, true, -1, first, 1})
		return
	}
	each := 1 / float64(k)
	off := int(q.table.Offset[x])
	for w, word := range set {
		for ; word != 0; word &= word - 1 {
			p := bits.TrailingZeros64(word)
			port := &q.f.Ports[x][w*64+p]
			if q.perfect[off+w]>>p&1 != 0 && !q.blemished(d, port.Peer) {
				continue
			}
			dir := &q.dirs[port.Out()]
			switch {
			case dir.Dead:
				q.addLoss(begin, Loss{DeadDirection, true, dir.Cause, first, each})
				continue
			case dir.Pass[0] < 1:
				q.addLoss(begin, dir.loses(first, float64(each*(1-dir.Pass[0]))))
			}
			if q.delivered(0, d, port.Peer) != 1 && dir.Pass[0] != 0 {
				q.addBeyond(begin, d, port.Peer, first, float64(each*dir.Pass[0]))
			}
		}
	}
}

// addBeyond adds to a list what router x, to which a share comes, loses of it. first is
// the first router before x that is not innocent, -1 for none.
func (q *Field) addBeyond(begin int, d, x, first int32, share float64) {
	for _, l := range q.lossesAt(d, x) {
		l.Amount = float64(l.Amount * share)
		if first >= 0 {
			l.First = first
		}
		q.addLoss(begin, l)
	}
}

// addLoss adds to a list that begins at begin in part, together with what is
// lost the same way.
func (q *Field) addLoss(begin int, l Loss) {
	t := &q.loss
	for i := begin; i < len(t.part); i++ {
		if o := &t.part[i]; o.Kind == l.Kind && o.Cause == l.Cause && o.First == l.First {
			o.Amount, o.Whole = o.Amount+float64(l.Amount), o.Whole || l.Whole
			return
		}
	}
	t.part = append(t.part, l)
}

// innocent says whether nothing can be laid to x's entry for d: it is the converged one,
// or Blameless says so.
func (q *Field) innocent(d, x int32) bool {
	return q.Converged(d, x) || q.Blameless != nil && q.Blameless(d, x)
}

// Converged says whether x's entry for d is what it will be once all is
// noticed.
func (q *Field) Converged(d, x int32) bool {
	return q.table.Same(q.truth, d, x)
}
