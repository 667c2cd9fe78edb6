package traffic

import (
	"halflight/model/fabric"
)

// Place is where traffic from outside enters a fabric.
type Place uint8

// The places: leaves of a pod of their own, the last of each fabric; leaves with
// servers of their own; all spines; all tops.
const (
	AtPod Place = iota
	AtLeaves
	AtSpines
	AtTops
)

// String returns the word of a scenario.
func (p Place) String() string { return [...]string{"pod", "leaves", "spines", "tops"}[p] }

// External is traffic between servers and what lies outside.
type External struct {
	Share float64 // of all demand, both ways together; 0: there is none
	At    Place
	Boxes int // AtLeaves: how many leaves of each fabric
}

// Mix is who sends how much to whom, where not all pairs are alike: fabrics that
// nothing joins send nothing to one another, and what comes from outside goes
// between the destinations where it enters and servers. It is the same both ways.
type Mix struct {
	leaves  int
	class   []uint16    // by destination
	weight  [][]float64 // by two classes: demand of an ordered pair, in those of the mean pair
	outside [][]float64 // of it, from or to outside
	total   []float64   // by destination: what it sends
	// External is what all pairs together send from or to outside, in mean pairs.
	External float64
}

// kinds of destination within a fabric.
const (
	servers = iota
	border  // nothing but traffic from outside enters there
	mixed
	kinds
)

// NewMix returns the mix of a fabric; nil where all pairs are alike.
func NewMix(f *fabric.Fabric, x External) *Mix {
	k := max(f.Fabrics, 1)
	if k == 1 && x.Share == 0 {
		return nil
	}
	m := &Mix{leaves: f.Leaves, class: make([]uint16, f.Leaves), total: make([]float64, f.Leaves)}
	count := make([][kinds]int, k)
	for d := range f.Leaves {
		g := f.Of(int32(d))
		kind := kindOf(f, x, d)
		m.class[d] = uint16(g*kinds + kind)
		count[g][kind]++
	}
	// The demand of servers among themselves, and of pairs with the outside at one
	// end, in units of one pair's.
	inside, ends := 0.0, 0.0
	for _, c := range count {
		s := float64(c[servers] + c[mixed])
		inside += float64(s * (s - 1))
		ends += float64(2 * (float64(float64(c[border])*s) + float64(float64(c[mixed])*(s-1))))
	}
	each := 0.0
	if ends > 0 {
		each = x.Share / (1 - x.Share) * inside / ends
	}
	all := inside + float64(each*ends)
	scale := float64(f.Leaves*(f.Leaves-1)) / all
	for a := range k * kinds {
		m.weight, m.outside = append(m.weight, make([]float64, k*kinds)), append(m.outside, make([]float64, k*kinds))
		for b := range k * kinds {
			if a/kinds != b/kinds {
				continue
			}
			within, out := 1.0, 0.0
			switch p, q := a%kinds, b%kinds; {
			case p == border && q == border:
				within = 0
			case p == border || q == border:
				within, out = 0, 1
			case p == mixed && q == mixed:
				out = 2
			case p == mixed || q == mixed:
				out = 1
			}
			m.outside[a][b] = float64(out * each * scale)
			m.weight[a][b] = float64(within*scale) + m.outside[a][b]
		}
	}
	for s := range f.Leaves {
		for d := range f.Leaves {
			m.total[s] += m.Pair(int32(s), int32(d))
			m.External += m.Outside(int32(s), int32(d))
		}
	}
	return m
}

func kindOf(f *fabric.Fabric, x External, d int) int {
	k := max(f.Fabrics, 1)
	switch {
	case f.Foreign(int32(d)):
		return border
	case x.Share == 0:
		return servers
	case x.At == AtPod && (int(f.Routers[d].First)+1)%(f.Shape.Pods/k) == 0:
		return border
	case x.At == AtLeaves && x.boxed(f, d):
		return mixed
	}
	return servers
}

// boxed says whether a leaf is one of the boxes: they are taken from the pods of a
// fabric in turn.
func (x *External) boxed(f *fabric.Fabric, d int) bool {
	pods := f.Shape.Pods / max(f.Fabrics, 1)
	r := &f.Routers[d]
	return int(r.Second)*pods+int(r.First)%pods < x.Boxes
}

// Border returns the routers at which traffic from outside enters, by router; nil
// if there is none.
func (x External) Border(f *fabric.Fabric) []bool {
	if x.Share == 0 {
		return nil
	}
	list := make([]bool, len(f.Routers))
	for i := range list {
		switch c := f.Routers[i].Class; {
		case x.At == AtSpines:
			list[i] = c == fabric.Spine
		case x.At == AtTops:
			list[i] = c == fabric.Top
		case c == fabric.Leaf:
			list[i] = kindOf(f, x, i) != servers
		}
	}
	return list
}

// Pair is the demand of an ordered pair of destinations in those of the mean pair;
// a nil *Mix has 1 for all.
func (m *Mix) Pair(s, d int32) float64 {
	switch {
	case s == d:
		return 0
	case m == nil:
		return 1
	}
	return m.weight[m.class[s]][m.class[d]]
}

// Weight is what a destination sends, and as much gets, in what the mean destination
// does: a nil *Mix has 1 for all.
func (m *Mix) Weight(d int32) float64 {
	if m == nil {
		return 1
	}
	return m.total[d] / float64(m.leaves-1)
}

// Served is what the servers of a destination send to others, in what the mean
// destination sends: traffic from outside that enters there is not theirs. A nil
// *Mix has 1 for all; where there are no servers it is 0.
func (m *Mix) Served(s int32) float64 {
	if m == nil {
		return 1
	}
	mine, sent := m.class[s]%kinds, 0.0
	if mine == border {
		return 0
	}
	for d := range int32(m.leaves) {
		fromOutside := 0.0
		switch {
		case mine != mixed: // nothing enters there
		case m.class[d]%kinds == mixed: // as much each way
			fromOutside = m.Outside(s, d) / 2
		default:
			fromOutside = m.Outside(s, d)
		}
		sent += m.Pair(s, d) - fromOutside
	}
	return sent / float64(m.leaves-1)
}

// Outside is what of it comes from outside or goes there.
func (m *Mix) Outside(s, d int32) float64 {
	if m == nil || s == d {
		return 0
	}
	return m.outside[m.class[s]][m.class[d]]
}

// Total is what a destination sends, and as much gets, in mean pairs; leaves is
// how many destinations there are.
func (m *Mix) Total(d int32, leaves int) float64 {
	if m == nil {
		return float64(leaves - 1)
	}
	return m.total[d]
}
