// Package glance keeps what gray faults alone do to applications, to first order:
// at each leaf the share of units of work that crosses a direction which drops,
// with all tables at rest.
//
// It has no tables, no deliveries and no control plane, so that a play with it
// costs thousands of times less than a whole one. It leaves out what is lost while
// routers converge, what has no path left, and that drains move traffic onto other
// links; what hits a unit at different places is taken as independent. It is
// tested by hand and against whole plays.
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
	hit    []float64  // by direction: share of units that it hits, 0 if sound or out of use
	own    [2][]int64 // by direction of a link, up and down, and leaf: of what crosses its uplinks
	pod    [2][]int64 // by pod: of what crosses its links to tops
	owns   [2]int64   // over all leaves
	pods   [2]int64   // over all pods
	slow   []float64  // by leaf: share x ns
	over   []int64    // by leaf: ns over budget
	share  []float64  // by leaf, at present
	budget float64
	stale  bool
}

// New returns the book of a class; what happens before from is not counted.
func New(f *fabric.Fabric, class traffic.Class, from int64) *Book {
	b := &Book{f: f, class: class, from: from, last: from, hit: make([]float64, 2*len(f.Links)),
		slow: make([]float64, f.Leaves), over: make([]int64, f.Leaves), share: make([]float64, f.Leaves), budget: class.Budget}
	for d := range b.own {
		b.own[d], b.pod[d] = make([]int64, f.Leaves), make([]int64, max(f.Shape.Pods, 1))
	}
	return b
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
	f, d := b.f, direction&1
	l := &f.Links[direction>>1]
	if leaf := l.Lower; int(leaf) < f.Leaves {
		part := sign * int64(math.Round(float64(hit*unit))/float64(len(f.Ports[leaf])))
		b.own[d][leaf] += part
		b.owns[d] += part
		return
	}
	part := sign * int64(math.Round(float64(hit*unit))/float64(max(f.Shape.Spines*f.Shape.Tops, 1)))
	b.pod[d][f.Routers[l.Lower].First] += part
	b.pods[d] += part
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
	n, inPod := float64(b.f.Leaves-1), float64(b.f.Shape.Leaves)
	for leaf := range b.share {
		pod := max(b.f.Routers[leaf].First, 0)
		pass := 1.0
		for d := range b.own {
			// Each unit of the leaf crosses one of its own uplinks this way, and one of
			// its other end; those to other pods one link to a top of either pod.
			own, near := b.own[d][leaf], b.pod[d][pod]
			pass = float64(pass * b.miss(own, 1))
			pass = float64(pass * b.miss(b.owns[d]-own, 1/n))
			pass = float64(pass * b.miss(near, (n+1-inPod)/n))
			pass = float64(pass * b.miss(b.pods[d]-near, inPod/n))
		}
		whole := 1.0
		for range max(b.class.FanOut, 1) {
			whole *= pass
		}
		b.share[leaf] = max(1-whole, 0)
	}
}

// miss is the chance to get past: sum is of shares in units, weight how many of
// the units of work meet them.
func (b *Book) miss(sum int64, weight float64) float64 {
	if sum == 0 {
		return 1
	}
	return 1 - min(float64(float64(sum)/unit*weight), 1)
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
