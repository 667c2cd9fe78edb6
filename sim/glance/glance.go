// Package glance keeps what gray faults alone do to applications, to first order:
// at each leaf the share of units of work that crosses a direction which drops,
// with all tables at rest.
//
// It has no tables, no deliveries and no control plane, so that a play with it
// costs thousands of times less than a whole one. It leaves out what is lost while
// routers converge, what has no path left, and that drains move traffic onto other
// links; chances that one unit meets twice add up. It is tested by hand and
// against whole plays.
package glance

import (
	"math"

	"halflight/model/fabric"
	"halflight/model/traffic"
)

// unit is the least share that is told apart; shares are whole numbers of it, so
// that what comes and goes leaves nothing behind.
const unit = 1 << 50

// Book is one class of application.
type Book struct {
	f      *fabric.Fabric
	class  traffic.Class
	from   int64
	last   int64
	hit    []float64 // by direction: share of units that it hits, 0 if sound or out of use
	own    []int64   // by leaf
	pod    []int64   // by pod
	all    int64
	slow   []float64 // by leaf: share x ns
	over   []int64   // by leaf: ns over budget
	share  []float64 // by leaf, at present
	budget float64
	stale  bool
}

// New returns the book of a class; what happens before from is not counted.
func New(f *fabric.Fabric, class traffic.Class, from int64) *Book {
	return &Book{f: f, class: class, from: from, last: from, hit: make([]float64, 2*len(f.Links)), own: make([]int64, f.Leaves), pod: make([]int64, max(f.Shape.Pods, 1)),
		slow: make([]float64, f.Leaves), over: make([]int64, f.Leaves), share: make([]float64, f.Leaves), budget: class.Budget}
}

// Set says that from now on a direction hits this share of the units that cross
// it.
func (b *Book) Set(direction int32, hit float64, now int64) {
	if b.hit[direction] == hit {
		return
	}
	b.keep(now)
	b.put(direction, b.hit[direction], -1)
	b.put(direction, hit, +1)
	b.hit[direction] = hit
	b.stale = true
}

// put adds what a direction does, or takes it off.
func (b *Book) put(direction int32, hit float64, sign int64) {
	f, n := b.f, float64(b.f.Leaves-1)
	whole := func(share float64) int64 { return sign * int64(math.Round(float64(share*unit))) }
	l := &f.Links[direction>>1]
	if leaf := l.Lower; int(leaf) < f.Leaves {
		// Each unit of the leaf crosses one of its uplinks either way; those of
		// another leaf do if the leaf is their other end.
		part := hit / float64(len(f.Ports[leaf]))
		others := whole(part / n)
		b.own[leaf] += whole(part) - others
		b.all += others
		return
	}
	c := f.Shape
	part := hit / float64(max(c.Spines*c.Tops, 1))
	others := whole(float64(part*float64(c.Leaves)) / n) // units with this pod
	b.pod[f.Routers[l.Lower].First] += whole(float64(part*(n+1-float64(c.Leaves)))/n) - others
	b.all += others
}

// keep counts up to now.
func (b *Book) keep(now int64) {
	if now <= b.last {
		return
	}
	b.renew()
	span := now - b.last
	for leaf, q := range b.share {
		if q > 0 {
			b.slow[leaf] += float64(q * float64(span))
			if q > b.budget {
				b.over[leaf] += span
			}
		}
	}
	b.last = now
}

// renew finds the shares of all leaves.
func (b *Book) renew() {
	if !b.stale {
		return
	}
	b.stale = false
	for leaf := range b.share {
		pod := max(b.f.Routers[leaf].First, 0)
		q := min(float64(b.own[leaf]+b.pod[pod]+b.all)/unit, 1)
		whole := 1.0
		for range max(b.class.FanOut, 1) {
			whole *= 1 - q
		}
		b.share[leaf] = max(1-whole, 0)
	}
}

// Slow returns, up to now, the integral of a leaf's slow share (share x ns) and the
// time over budget (ns).
func (b *Book) Slow(leaf int32, now int64) (integral float64, over int64) {
	b.keep(now)
	return b.slow[leaf], b.over[leaf]
}

// Share is the slow share of a leaf at present.
func (b *Book) Share(leaf int32) float64 {
	b.renew()
	return b.share[leaf]
}
