package series

import "math/bits"

// Window is a stretch of time over which the burn of an error budget is looked at.
type Window struct {
	Length int64   // ns; a multiple of the shortest
	Rate   float64 // burn rate that is too much
}

// looksMost is how often a burn rate is looked at in the shortest window, looksAll
// in the whole of the measured time where that lets the former be less.
const looksMost, looksAll = 6, 110_000

// Burn keeps how fast the units of one class that are slow use up its error
// budget, at each leaf and over all: the mean slow share of a window that ends
// now, over the budget. Shares are integrated exactly; rates are looked at a sixth
// of the shortest window apart (less often in years of time), over whole windows of
// the measured time only.
type Burn struct {
	from, slot int64
	slots      int64 // that the measured time holds
	budget     float64
	windows    []Window
	spans      []int64   // of the windows, in slots
	all        []float64 // by slot: share x ns, over leaves
	leaves     []leafBurn
	most       []float64 // by window: largest burn rate at any leaf
	over       []int64   // by window: slots at whose end a leaf burnt too fast, over leaves
}

// leafBurn is one leaf: sums of share x ns at the ends of the latest slots.
type leafBurn struct {
	at   int64 // ns since from, kept up to here
	sum  float64
	ends []float64
}

// NewBurn returns the book of a class, nil without windows.
func NewBurn(from, until int64, leaves int, budget float64, windows []Window) *Burn {
	if len(windows) == 0 || budget <= 0 {
		return nil
	}
	b := &Burn{from: from, budget: budget, windows: windows}
	least := windows[0].Length
	for _, w := range windows {
		least = min(least, w.Length)
	}
	for looks := int64(looksMost); looks > 0; looks /= 2 { // 6, 3, 1
		b.slot = max(least/looks, 1)
		if (until-from)/b.slot <= looksAll {
			break
		}
	}
	b.slots = (until - from) / b.slot
	longest := int64(0)
	for _, w := range windows {
		n := w.Length / b.slot
		b.spans, longest = append(b.spans, n), max(longest, n)
	}
	b.all, b.leaves = make([]float64, b.slots), make([]leafBurn, leaves)
	for i := range b.leaves {
		b.leaves[i].ends = make([]float64, 1<<bits.Len64(uint64(longest))) // a power of two
	}
	b.most, b.over = make([]float64, len(windows)), make([]int64, len(windows))
	return b
}

// Add says that a share of a leaf's units was slow over [from, to), which may not
// lie before what it was told last of that leaf; what is left out was not slow.
func (b *Burn) Add(leaf int32, share float64, from, to int64) {
	if b == nil {
		return
	}
	from, to = max(from-b.from, 0), min(to-b.from, b.slots*b.slot)
	if to <= from || share == 0 {
		return
	}
	l := &b.leaves[leaf]
	b.pass(l, 0, from)
	spread(b.all, b.slot, from, to, share)
	b.pass(l, share, to)
}

// pass brings a leaf up to a time, at a share all the while.
func (b *Burn) pass(l *leafBurn, share float64, to int64) {
	ring := int64(len(l.ends))
	for alike := int64(0); l.at < to; alike++ {
		k := l.at / b.slot
		end := (k + 1) * b.slot
		if to < end {
			l.sum += float64(share * float64(to-l.at))
			l.at = to
			return
		}
		if left := to/b.slot - k - 1; alike > ring && left > ring {
			b.skip(l, share, left)
			continue
		}
		l.sum += float64(share * float64(end-l.at))
		l.at = end
		l.ends[(k+1)&(ring-1)] = l.sum
		b.look(l, k+1, 1)
	}
}

// skip passes slots of a stretch that has been alike for longer than any window:
// all rates stay as they are.
func (b *Burn) skip(l *leafBurn, share float64, slots int64) {
	b.look(l, l.at/b.slot, slots)
	l.at += slots * b.slot
	l.sum += float64(share * float64(slots*b.slot))
	k, ring := l.at/b.slot, int64(len(l.ends))
	for j := int64(0); j < ring; j++ {
		l.ends[(k-j)&(ring-1)] = l.sum - float64(share*float64(j*b.slot))
	}
}

// look notes a leaf's rates at the end of a slot, or of so many that are alike.
func (b *Burn) look(l *leafBurn, k, slots int64) {
	mask := int64(len(l.ends)) - 1
	for i, n := range b.spans {
		if k < n {
			continue
		}
		burnt := (l.ends[k&mask] - l.ends[(k-n)&mask]) / float64(b.windows[i].Length) / b.budget
		b.most[i] = max(b.most[i], burnt)
		if burnt >= b.windows[i].Rate {
			b.over[i] += slots
		}
	}
}

// Burnt is what a window was like over the measured time. Rates are -1 where the
// window is longer than that.
type Burnt struct {
	Most, MostLeaf   float64 // largest burn rate: of all units, and at any leaf
	Above, LeafAbove int64   // ns for which it was too much: of all units; summed over leaves
}

// Record ends the book, at the horizon.
func (b *Burn) Record() []Burnt {
	if b == nil {
		return nil
	}
	for i := range b.leaves {
		b.pass(&b.leaves[i], 0, b.slots*b.slot)
	}
	ends := make([]float64, b.slots+1)
	for k, v := range b.all {
		ends[k+1] = ends[k] + v
	}
	out := make([]Burnt, len(b.windows))
	for i, n := range b.spans {
		o := &out[i]
		if n > b.slots {
			o.Most, o.MostLeaf = -1, -1
			continue
		}
		for k := n; k <= b.slots; k++ {
			burnt := (ends[k] - ends[k-n]) / float64(b.windows[i].Length) / float64(len(b.leaves)) / b.budget
			o.Most = max(o.Most, burnt)
			if burnt >= b.windows[i].Rate {
				o.Above += b.slot
			}
		}
		o.MostLeaf, o.LeafAbove = b.most[i], b.over[i]*b.slot
	}
	return out
}
