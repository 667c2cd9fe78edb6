package series

import (
	"math"
	"math/bits"
)

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
//
// What is slow at a leaf is what is slow at all leaves alike (All) and its own
// (Add). All must have been told up to the time that Add is.
type Burn struct {
	from, slot int64
	slots      int64 // that the measured time holds
	budget     float64
	windows    []Window
	spans      []int64   // of the windows, in slots
	longest    int64     // of these
	tooMuch    []float64 // of the windows: the least share x ns in one that burns too fast
	all        []float64 // by slot: share x ns, over leaves
	common     commonBurn
	leaves     []leafBurn
	most       []float64 // by window: the most share x ns in one, at any leaf
	over       []int64   // by window: slots at whose end a leaf burnt too fast, over leaves
}

// commonBurn is what is slow at all leaves alike.
type commonBurn struct {
	at   int64     // ns since from, kept up to here
	sum  float64   // share x ns
	ends []float64 // sum at the ends of slots, the first one 0
	over [][]int32 // by window and end of a slot: at how many ends so far that alone burnt too fast
}

// leafBurn is what is slow at one leaf besides: sums of share x ns at the ends of the
// latest slots, a power of two of them.
type leafBurn struct {
	weight float64 // of its units among those of all
	absent bool    // no leaf of which rates are looked at
	at     int64   // ns since from, kept up to here
	until  int64   // the end of the slot that at lies in
	sum    float64
	moved  int64 // the end of the last slot in which sum changed
	ends   []float64
}

// stride is how many ends of slots a leaf is looked at together.
const stride = 32

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
	for i, w := range windows {
		n := w.Length / b.slot
		b.spans, b.longest = append(b.spans, n), max(b.longest, n)
		b.tooMuch = append(b.tooMuch, b.leastOver(i))
		b.common.over = append(b.common.over, make([]int32, b.slots+1))
	}
	b.all, b.leaves, b.common.ends = make([]float64, b.slots), make([]leafBurn, leaves), make([]float64, b.slots+1)
	for i := range b.leaves {
		l := &b.leaves[i]
		l.weight = 1
		l.ends = make([]float64, 1<<bits.Len64(uint64(b.longest+stride)))
		l.until, l.moved = b.slot, -int64(len(l.ends))*b.slot
	}
	b.most, b.over = make([]float64, len(windows)), make([]int64, len(windows))
	return b
}

// Weigh has leaves count by weights, 1 on average, in what is slow of all units, and
// those that are absent only there. It comes before anything is told.
func (b *Burn) Weigh(weight func(leaf int32) float64, absent func(leaf int32) bool) {
	if b == nil {
		return
	}
	for i := range b.leaves {
		b.leaves[i].weight, b.leaves[i].absent = weight(int32(i)), absent(int32(i))
	}
}

// rate is the burn rate of a window that holds so many share x ns.
func (b *Burn) rate(i int, held float64) float64 {
	return held / float64(b.windows[i].Length) / b.budget
}

// leastOver is the least share x ns in a window that burns too fast.
func (b *Burn) leastOver(i int) float64 {
	w := b.windows[i]
	held := w.Rate * float64(w.Length) * b.budget
	for b.rate(i, held) < w.Rate {
		held = math.Nextafter(held, math.Inf(1))
	}
	for held > 0 {
		less := math.Nextafter(held, 0)
		if b.rate(i, less) < w.Rate {
			break
		}
		held = less
	}
	return held
}

// All says that a share of the units of every leaf was slow over [from, to), which
// must begin where it was told last; what lies before the measured time may be left out.
func (b *Burn) All(share float64, from, to int64) {
	if b == nil {
		return
	}
	c := &b.common
	from, to = max(from-b.from, 0), min(to-b.from, b.slots*b.slot)
	if to <= from {
		return
	}
	spread(b.all, b.slot, from, to, float64(share*float64(len(b.leaves))))
	for c.at < to {
		k := c.at / b.slot
		end := min((k+1)*b.slot, to)
		c.sum += float64(share * float64(end-c.at))
		if c.at = end; end < (k+1)*b.slot {
			return
		}
		c.ends[k+1] = c.sum
		for i, n := range b.spans {
			count := c.over[i][k]
			if k+1 >= n {
				held := c.sum - c.ends[k+1-n]
				b.most[i] = max(b.most[i], held)
				if held >= b.tooMuch[i] {
					count++
				}
			}
			c.over[i][k+1] = count
		}
	}
}

// Add says that a share of a leaf's own units was slow over [from, to); of what lies before
// what it was told last of that leaf, that holds. What is left out was not slow.
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
	b.pass(l, share, to)
}

// pass brings a leaf up to a time, at a share all the while.
func (b *Burn) pass(l *leafBurn, share float64, to int64) {
	if to >= l.until {
		b.passSlots(l, share, to/b.slot)
	}
	if l.at < to {
		l.sum += float64(share * float64(to-l.at))
		if l.at = to; share != 0 {
			l.moved = l.until
		}
	}
}

// passSlots brings a leaf up to the beginning of a slot.
func (b *Burn) passSlots(l *leafBurn, share float64, last int64) {
	ring := int64(len(l.ends))
	for k := l.until/b.slot - 1; k < last; {
		if share != 0 {
			l.moved = last * b.slot
		} else if k*b.slot-l.moved >= ring*b.slot { // all that is kept has its sum: it has what all have
			for i, over := range b.common.over {
				if l.absent {
					break
				}
				b.over[i] += int64(over[last] - over[k])
			}
			break
		}
		n := min(last-k, stride)
		for j := k; j < k+n; j++ {
			l.sum += float64(share * float64((j+1)*b.slot-l.at))
			l.at = (j + 1) * b.slot
			if j == k || share != 0 { // else it has nothing in that slot
				b.all[j] += float64(l.weight * (l.sum - l.ends[j&(ring-1)]))
			}
			l.ends[(j+1)&(ring-1)] = l.sum
		}
		b.look(l, k+1, k+n)
		k += n
	}
	l.at, l.until = last*b.slot, (last+1)*b.slot
}

// look notes a leaf's rates at the ends of slots from the first to the last, at most
// stride of them.
func (b *Burn) look(l *leafBurn, first, last int64) {
	if l.absent {
		return
	}
	ends, common, mask := l.ends, b.common.ends, int64(len(l.ends))-1
	held := func(from, to int64) float64 {
		return ends[to&mask] - ends[from&mask] + (common[to] - common[from])
	}
	top := held(max(first-b.longest, 0), last) // no window of them holds more
	for i, n := range b.spans {
		k := max(first, n)
		if last < k || top < sure*min(b.tooMuch[i], b.most[i]) {
			continue
		}
		most, tooMuch, over := b.most[i], b.tooMuch[i], int64(0)
		switch bound := held(k-n, last); { // no window of them holds more, and none less than what all have
		case bound < sure*min(tooMuch, most):
			continue
		case bound < sure*most && sure*held(last-n, k) > tooMuch:
			b.over[i] += last - k + 1
			continue
		}
		for ; k <= last; k++ {
			h := held(k-n, k)
			most = max(most, h)
			if h >= tooMuch {
				over++
			}
		}
		b.most[i], b.over[i] = most, b.over[i]+over
	}
}

// sure is a little less than 1: more than rounding can make of what a window holds.
const sure = 1 - 1e-6

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
	b.All(0, b.from+b.common.at, b.from+b.slots*b.slot)
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
			burnt := b.rate(i, ends[k]-ends[k-n]) / float64(len(b.leaves))
			o.Most = max(o.Most, burnt)
			if burnt >= b.windows[i].Rate {
				o.Above += b.slot
			}
		}
		o.MostLeaf, o.LeafAbove = b.rate(i, b.most[i]), b.over[i]*b.slot
	}
	return out
}
