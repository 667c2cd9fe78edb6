package forwarding

import (
	"math/bits"
)

// Settle brings destination d up to date. Sources then holds the source leaves
// whose delivery may have changed.
func (q *Field) Settle(d int32) {
	q.isQueue[d] = false
	q.Sources = q.Sources[:0]
	q.Moved, q.Beyond = q.Moved[:0], false
	switch {
	case q.polarised:
		q.walkAll(d)
	case q.again[d]:
		q.startOver(d)
	default:
		q.spreadChanges(d)
	}
	q.queue[d] = q.queue[d][:0]
	if q.relist[d] {
		q.relist[d] = false
		q.addLosers(d)
	}
}

// startOver computes every router of d anew.
func (q *Field) startOver(d int32) {
	q.again[d] = false
	q.queue[d] = q.queue[d][:0]
	for x := range q.f.Routers {
		q.queue[d] = append(q.queue[d], int32(x))
	}
	q.spreadChanges(d)
	for x := range q.f.Leaves {
		q.addSource(int32(x))
	}
}

// spreadChanges recomputes the queued routers of d and those upstream that a
// change reaches, nearest to the destination first. Next hops of time 0 lead
// downhill; if others lead uphill some routers are seen to more than once, and
// routers on a circle are computed together.
func (q *Field) spreadChanges(d int32) {
	s := &q.spread
	s.begin()
	wide := false
	for _, x := range q.queue[d] {
		if q.leafOut(x) && x != d {
			continue
		}
		q.classify(d, x)
		s.put(q, d, x)
		wide = wide || q.carries(d, x)
	}
	q.findCircles(d)
	for {
		x, ok := s.take()
		if !ok {
			break
		}
		if c := q.circles.part[x]; c >= 0 {
			q.recomputeCircle(d, c)
			continue
		}
		q.see(d, x, q.recompute(d, x))
	}
	if wide && q.imperfect[d] > 0 && !q.core {
		q.addLosers(d)
	}
}

// see passes on that router x was computed anew, except to the routers of its
// circle: these are computed with it.
func (q *Field) see(d, x int32, changed bool) {
	if int(x) < q.f.Leaves && !q.core {
		q.addSource(x)
	}
	if q.core {
		q.Moved = append(q.Moved, x)
	}
	if !changed {
		q.Beyond = q.Beyond || q.core && q.blemished(d, x) && q.carriesCore(d, x)
		return
	}
	if q.core && q.level[q.at(d, x)] == q.farthest[d] && len(q.circles.uphill[d]) == 0 {
		return
	}
	part := q.circles.part[x]
	for _, p := range q.f.Ports[x] {
		if q.leafOut(p.Peer) || !q.table.Has(d, p.Peer, p.Back) || part >= 0 && q.circles.part[p.Peer] == part {
			continue
		}
		q.spread.put(q, d, p.Peer)
	}
}

func (q *Field) addSource(x int32) {
	if q.spread.listed[x] != q.spread.stamp {
		q.spread.listed[x] = q.spread.stamp
		q.Sources = append(q.Sources, x)
	}
}

// spreading is the routers that must still be seen to, by level.
type spreading struct {
	buckets [][]int32
	waiting []uint32 // by router: stamp while in a bucket
	listed  []uint32 // by router: stamp when among Sources
	stamp   uint32
	low     int
}

func (s *spreading) init(n, levels int) {
	s.buckets = make([][]int32, levels)
	s.waiting, s.listed = make([]uint32, n), make([]uint32, n)
}

func (s *spreading) begin() { s.stamp, s.low = s.stamp+1, len(s.buckets) }

func (s *spreading) put(q *Field, d, x int32) {
	if s.waiting[x] == s.stamp {
		return
	}
	s.waiting[x] = s.stamp
	l := int(q.level[q.at(d, x)])
	s.buckets[l] = append(s.buckets[l], x)
	s.low = min(s.low, l)
}

func (s *spreading) take() (int32, bool) {
	for ; s.low < len(s.buckets); s.low++ {
		for len(s.buckets[s.low]) > 0 {
			b := s.buckets[s.low]
			x := b[len(b)-1]
			s.buckets[s.low] = b[:len(b)-1]
			if s.waiting[x] == s.stamp { // else it was seen to with others
				s.waiting[x] = 0
				return x, true
			}
		}
	}
	return 0, false
}

// carriesCore says whether x carries traffic of other routers of the core to d.
func (q *Field) carriesCore(d, x int32) bool {
	for _, p := range q.f.Ports[x] {
		if !q.leafOut(p.Peer) && q.table.Has(d, p.Peer, p.Back) {
			return true
		}
	}
	return false
}

// carries says whether x may carry the traffic of others to d. When the entry
// of such a router changed, others may lose the same share in another way.
func (q *Field) carries(d, x int32) bool {
	if int(x) >= q.f.Leaves {
		return true
	}
	for _, p := range q.f.Ports[x] {
		if q.table.Has(d, p.Peer, p.Back) {
			return true
		}
	}
	return false
}

// addLosers adds to Sources all leaves that may lose traffic to d.
func (q *Field) addLosers(d int32) {
	for s := range q.f.Leaves {
		if q.blemished(d, int32(s)) {
			q.addSource(int32(s))
		}
	}
}

// recompute finds what router x delivers to d from its next hops. It returns
// whether that changed.
func (q *Field) recompute(d, x int32) bool {
	set := q.table.Of(d, x)
	off := int(q.table.Offset[x])
	empty, good := true, true
	for i, w := range set {
		empty = empty && w == 0
		good = good && w&^q.perfect[off+i] == 0
	}
	if x == d && q.alive[x] || good && !empty && q.alive[x] && x != d && q.allDeliver(d, x, set) {
		return q.assign(d, x, nil, false)
	}
	if empty || !q.alive[x] || x == d {
		return q.assign(d, x, q.loss.zeros[:q.planes], true)
	}
	sums := q.loss.sums[:q.planes]
	whole := q.mix(d, x, set, sums)
	return q.assign(d, x, sums, whole)
}

// allDeliver says whether all next hops of a set deliver all.
func (q *Field) allDeliver(d, x int32, set []uint64) bool {
	was := int32(0)
	if q.blemished(d, x) {
		was = 1
	}
	if q.imperfect[d] == was {
		return true
	}
	blots := q.blots[int(d)*q.blotWords:]
	ports := q.f.Ports[x]
	for w, word := range set {
		for ; word != 0; word &= word - 1 {
			if n := ports[w*64+bits.TrailingZeros64(word)].Peer; blots[n>>6]>>(n&63)&1 != 0 {
				return false
			}
		}
	}
	return true
}

// mix is the mean of what the next hops of a set deliver, by plane, and whether
// some flow is lost entirely on the way.
func (q *Field) mix(d, x int32, set []uint64, sums []float64) (whole bool) {
	clear(sums)
	k := 0
	off := int(q.table.Offset[x])
	for w, word := range set {
		for ; word != 0; word &= word - 1 {
			p := bits.TrailingZeros64(word)
			port := &q.f.Ports[x][w*64+p]
			k++
			sound := q.perfect[off+w]>>p&1 != 0
			if sound && !q.blemished(d, port.Peer) {
				for i := range sums {
					sums[i]++
				}
				continue
			}
			dir := &q.dirs[port.Out()]
			if dir.Dead {
				whole = true
				continue
			}
			whole = whole || dir.Whole || q.WholeAt(d, port.Peer)
			for i := range sums {
				sums[i] += float64(dir.Pass[i] * q.delivered(i, d, port.Peer))
			}
		}
	}
	for i := range sums {
		sums[i] /= float64(k)
	}
	return whole
}

// blemished says whether some of what x has for d is not delivered.
func (q *Field) blemished(d, x int32) bool {
	return q.blots[q.blot(d, x)]>>(x&63)&1 != 0
}

// blot is the word of blots that a router's bit for d is in.
func (q *Field) blot(d, x int32) int { return int(d)*q.blotWords + int(x>>6) }

// delivered is the share that x delivers to d in a plane.
func (q *Field) delivered(plane int, d, x int32) float64 {
	if !q.blemished(d, x) {
		return 1
	}
	return q.deliver.of(q.blot(d, x), x)[plane]
}

// assign stores values, nil for all ones, and keeps count of routers that
// deliver less than all. It returns whether something changed.
func (q *Field) assign(d, x int32, values []float64, whole bool) bool {
	is := whole
	for _, v := range values {
		is = is || v != 1
	}
	word, bit := q.blot(d, x), uint64(1)<<(x&63)
	was := q.blots[word]&bit != 0
	if !is && !was {
		return false
	}
	changed := is != was
	if is {
		changed = changed || q.wholes[word]&bit != 0 != whole
		if q.wholes[word] &^= bit; whole {
			q.wholes[word] |= bit
		}
		if q.blots[word] == 0 {
			q.deliver.open(word)
		}
		kept := q.deliver.of(word, x)
		for i, v := range values {
			changed = changed || kept[i] != v
			kept[i] = v
		}
	}
	if is == was {
		return changed
	}
	if q.blots[word] ^= bit; q.blots[word] == 0 {
		q.deliver.close(word)
	}
	if is {
		q.imperfect[d]++
	} else {
		q.imperfect[d]--
	}
	return true
}
