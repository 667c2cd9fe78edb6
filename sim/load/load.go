// Package load says how full directions are: each leaf sends to each other what
// demand says, and each router splits what it carries equally over its next hops in a
// table. What gray directions drop on the way is not taken off (first order); what
// meets a dead direction, a router without a next hop or a router for the second
// time goes no further.
//
// It sees tables and which directions are dead; it does not know why. It is tested
// against listing every path, against closed forms and by what goes in and comes out.
package load

import (
	"math/bits"

	"halflight/model/fabric"
	"halflight/sim/paths"
)

// Book holds the load of each direction, in units of what a mean leaf sends to one
// other.
type Book struct {
	f     *fabric.Fabric
	table paths.Sets
	pair  func(s, d int32) float64
	dead  func(direction int32) bool
	alive func(router int32) bool

	Load []float64   // by direction
	part [][]float64 // by destination and direction; nil: not kept

	flow  []float64
	waits []int32 // by router: next hops into it that were not followed yet
	ready []int32
	on    []bool
	now   []float64 // by direction, of the destination at hand
	used  []int32   // directions of which now is not 0
}

// New returns the book of a table, empty. pair is what a leaf sends to another. With
// apart each destination can be found anew by itself, for which what it puts on each
// direction is kept.
func New(f *fabric.Fabric, table paths.Sets, pair func(s, d int32) float64, dead func(direction int32) bool, alive func(router int32) bool, apart bool) *Book {
	n, m := len(f.Routers), 2*len(f.Links)
	b := &Book{f: f, table: table, pair: pair, dead: dead, alive: alive, Load: make([]float64, m), flow: make([]float64, n),
		waits: make([]int32, n), on: make([]bool, n), now: make([]float64, m)}
	if apart {
		b.part = make([][]float64, f.Leaves)
		for d := range b.part {
			b.part[d] = make([]float64, m)
		}
	}
	return b
}

// All finds the load of all destinations anew.
func (b *Book) All() {
	if b.part != nil {
		for d := range int32(b.f.Leaves) {
			b.One(d)
		}
		return
	}
	clear(b.Load)
	for d := range int32(b.f.Leaves) {
		b.follow(d)
		for _, dir := range b.used {
			b.Load[dir] += b.now[dir]
		}
		b.forget()
	}
}

// One finds anew what is on its way to one destination. The sum over destinations
// is made anew for every direction that it changes, so that it does not depend on
// what was there before.
func (b *Book) One(d int32) {
	b.follow(d)
	part := b.part[d]
	for dir, had := range part {
		if is := b.now[dir]; is != had {
			part[dir] = is
			sum := 0.0
			for k := range b.part {
				sum += b.part[k][dir]
			}
			b.Load[dir] = sum
		}
	}
	b.forget()
}

func (b *Book) forget() {
	for _, dir := range b.used {
		b.now[dir] = 0
	}
	b.used = b.used[:0]
}

func (b *Book) put(dir int32, amount float64) {
	if b.now[dir] == 0 {
		b.used = append(b.used, dir)
	}
	b.now[dir] += amount
}

// follow sends what all leaves have for d through the table: a router after all
// those that send to it, unless some send in a circle.
func (b *Book) follow(d int32) {
	f := b.f
	clear(b.waits)
	clear(b.flow)
	for x := range int32(len(f.Routers)) {
		if x == d {
			continue
		}
		for w, word := range b.table.Of(d, x) {
			for ; word != 0; word &= word - 1 {
				b.waits[f.Ports[x][w*64+bits.TrailingZeros64(word)].Peer]++
			}
		}
	}
	b.ready = b.ready[:0]
	for x := range int32(len(f.Routers)) {
		if int(x) < f.Leaves && x != d && b.alive(x) {
			b.flow[x] = b.pair(x, d)
		}
		if b.waits[x] == 0 {
			b.ready = append(b.ready, x)
		}
	}
	for i := 0; i < len(b.ready); i++ {
		b.pass(d, b.ready[i])
	}
	if len(b.ready) == len(f.Routers) {
		return
	}
	b.forget()
	for x := range int32(f.Leaves) {
		if x != d && b.alive(x) {
			b.walk(d, x, b.pair(x, d))
		}
	}
}

// pass splits what a router carries over its next hops, dead ones too; what is sent
// to these goes no further.
func (b *Book) pass(d, x int32) {
	if x == d {
		return
	}
	set := b.table.Of(d, x)
	amount := float64(b.flow[x] / float64(max(paths.HopsIn(set), 1)))
	for w, word := range set {
		for ; word != 0; word &= word - 1 {
			p := &b.f.Ports[x][w*64+bits.TrailingZeros64(word)]
			if amount > 0 && !b.dead(p.Out()) {
				b.put(p.Out(), amount)
				b.flow[p.Peer] += amount
			}
			if b.waits[p.Peer]--; b.waits[p.Peer] == 0 {
				b.ready = append(b.ready, p.Peer)
			}
		}
	}
}

// walk follows every way without a router twice, as a flow does whose choice at
// each router is fixed.
func (b *Book) walk(d, x int32, amount float64) {
	if x == d || b.on[x] || amount == 0 {
		return
	}
	b.on[x] = true
	set := b.table.Of(d, x)
	each := float64(amount * (1 / float64(paths.HopsIn(set))))
	for w, word := range set {
		for ; word != 0; word &= word - 1 {
			if p := &b.f.Ports[x][w*64+bits.TrailingZeros64(word)]; !b.dead(p.Out()) {
				b.put(p.Out(), each)
				b.walk(d, p.Peer, each)
			}
		}
	}
	b.on[x] = false
}

// Use returns how full a direction is where a mean leaf sends so many bit/s to each
// other. A link without a speed is never full.
func (b *Book) Use(direction int32, load, pair float64) float64 {
	if speed := b.f.Links[direction>>1].Speed; speed > 0 {
		return float64(load * pair / speed)
	}
	return 0
}

// Hops returns how many hops each router is away from the nearer end of a direction,
// by links in use or not; -1 where there is no way.
func Hops(f *fabric.Fabric, direction int32) []int32 {
	hops := make([]int32, len(f.Routers))
	for i := range hops {
		hops[i] = -1
	}
	near := []int32{f.From(direction), f.To(direction)}
	hops[near[0]], hops[near[1]] = 0, 0
	for i := 0; i < len(near); i++ {
		for _, p := range f.Ports[near[i]] {
			if hops[p.Peer] < 0 {
				hops[p.Peer] = hops[near[i]] + 1
				near = append(near, p.Peer)
			}
		}
	}
	return hops
}
