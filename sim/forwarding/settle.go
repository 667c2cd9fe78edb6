package forwarding

// Settle brings destination d up to date. Sources then holds the source leaves
// whose delivery may have changed.
func (q *Field) Settle(d int32) {
	q.isQueue[d] = false
	q.Sources = q.Sources[:0]
	walked := q.walks(d)
	if !q.polarised {
		q.countOdd(d)
	}
	switch {
	case q.walks(d):
		q.walkAll(d)
	case walked || q.again[d]:
		q.startOver(d)
	default:
		q.spreadChanges(d)
	}
	q.queue[d] = q.queue[d][:0]
}

// countOdd counts routers with a next hop that they did not have at time 0.
// While there are none, next hops lead downhill and nothing can loop.
func (q *Field) countOdd(d int32) {
	if q.odd[d] >= 1<<20 {
		return
	}
	if q.odd[d] > 0 || q.again[d] {
		q.odd[d] = 0
		for x := range q.f.Routers {
			if q.isOdd(d, int32(x)) {
				q.odd[d]++
			}
		}
		return
	}
	for _, x := range q.queue[d] {
		if q.isOdd(d, x) {
			q.odd[d]++ // a router may be counted twice: only zero matters
		}
	}
}

func (q *Field) isOdd(d, x int32) bool {
	now, then := q.table.Of(d, x), q.first.Of(d, x)
	for i, w := range now {
		if w&^then[i] != 0 {
			return true
		}
	}
	return false
}

// startOver computes every router of d anew.
func (q *Field) startOver(d int32) {
	q.again[d] = false
	q.imperfect[d] = 0
	q.leaky[d] = q.leaky[d][:0]
	n := len(q.f.Routers)
	for x := range n {
		q.whole[q.at(d, int32(x))] = false
		for _, plane := range q.deliver {
			plane[q.at(d, int32(x))] = 1
		}
	}
	q.queue[d] = q.queue[d][:0]
	for x := range n {
		q.queue[d] = append(q.queue[d], int32(x))
	}
	q.spreadChanges(d)
	q.Sources = q.Sources[:0]
	for x := range q.f.Leaves {
		q.Sources = append(q.Sources, int32(x))
	}
}

// spreadChanges recomputes the queued routers of d and those upstream that a
// change reaches, from the destination outwards.
func (q *Field) spreadChanges(d int32) {
	q.stamp++
	level := q.level[int(d)*len(q.f.Routers) : (int(d)+1)*len(q.f.Routers)]
	low, high := 255, 0
	put := func(x int32) {
		if q.marked[x] != q.stamp {
			q.marked[x] = q.stamp
			l := int(level[x])
			q.buckets[l] = append(q.buckets[l], x)
			low, high = min(low, l), max(high, l)
		}
	}
	wide := false
	for _, x := range q.queue[d] {
		put(x)
		wide = wide || q.carries(d, x)
	}
	for l := low; l <= high; l++ {
		for i := 0; i < len(q.buckets[l]); i++ {
			x := q.buckets[l][i]
			changed := q.recompute(d, x)
			if int(x) < q.f.Leaves {
				q.Sources = append(q.Sources, x)
			}
			if !changed {
				continue
			}
			for _, p := range q.f.Ports[x] {
				if q.table.Has(d, p.Peer, p.Back) {
					put(p.Peer)
				}
			}
		}
		q.buckets[l] = q.buckets[l][:0]
	}
	if wide && q.imperfect[d] > 0 {
		q.addLosers(d)
	}
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

// addLosers adds to Sources all leaves that lose traffic to d.
func (q *Field) addLosers(d int32) {
	for s := range q.f.Leaves {
		if x := int32(s); q.marked[x] != q.stamp && q.blemished(q.at(d, x)) {
			q.marked[x] = q.stamp
			q.Sources = append(q.Sources, x)
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
	here := q.at(d, x)
	self := x == d && q.alive[x]
	leaks := !self && (empty || !good) && q.alive[x]
	q.setLeaky(d, x, leaks)
	was := int32(0)
	if q.blemished(here) {
		was = 1
	}
	if self || (good && !empty && q.alive[x] && q.imperfect[d] == was) {
		return q.assign(d, here, nil, false)
	}
	if empty || !q.alive[x] || x == d {
		return q.assign(d, here, q.loss.zeros[:q.planes], true)
	}
	q.hops = ports(set, q.hops[:0])
	sums := q.loss.sums[:q.planes]
	clear(sums)
	whole := false
	for _, p := range q.hops {
		port := &q.f.Ports[x][p]
		dir := &q.dirs[port.Out()]
		if dir.Dead {
			whole = true
			continue
		}
		there := q.at(d, port.Peer)
		whole = whole || dir.Whole || q.whole[there]
		for i := range sums {
			sums[i] += float64(dir.Pass[i] * q.deliver[i][there])
		}
	}
	k := float64(len(q.hops))
	for i := range sums {
		sums[i] /= k
	}
	return q.assign(d, here, sums, whole)
}

func (q *Field) blemished(here int) bool {
	if q.whole[here] {
		return true
	}
	for _, plane := range q.deliver {
		if plane[here] != 1 {
			return true
		}
	}
	return false
}

// assign stores values, nil for all ones, and keeps count of routers that
// deliver less than all.
func (q *Field) assign(d int32, here int, values []float64, whole bool) bool {
	was := q.blemished(here)
	changed := q.whole[here] != whole
	q.whole[here] = whole
	for i, plane := range q.deliver {
		v := 1.0
		if values != nil {
			v = values[i]
		}
		if plane[here] != v {
			plane[here] = v
			changed = true
		}
	}
	if is := q.blemished(here); is != was {
		if is {
			q.imperfect[d]++
		} else {
			q.imperfect[d]--
		}
	}
	return changed
}

func (q *Field) setLeaky(d, x int32, leaks bool) {
	list := q.leaky[d]
	for i, y := range list {
		if y == x {
			if !leaks {
				list[i] = list[len(list)-1]
				q.leaky[d] = list[:len(list)-1]
			}
			return
		}
	}
	if leaks {
		q.leaky[d] = append(list, x)
	}
}
