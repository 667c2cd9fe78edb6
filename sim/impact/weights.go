package impact

import (
	"math"
	"math/bits"

	"halflight/sim/forwarding"
	"halflight/sim/paths"
)

// weightAt is how much traffic for d leaves with converged entries send to an
// entrance, see weightUnit. x must be one.
func (l *Ledger) weightAt(d, x int32) int64 { return l.weights(d)[l.line.number[x]] }

// weights are those for d, by number of the entrance.
func (l *Ledger) weights(d int32) []int64 {
	n := l.line.entrances
	return l.line.weight[int(d)*n : (int(d)+1)*n]
}

// weightOf is the same in leaves' worth.
func (l *Ledger) weightOf(d, x int32) float64 { return float64(l.weightAt(d, x)) / weightUnit }

// weighPod weighs what the leaves below x, the first entrance of its pod that does not
// deliver all, send to the entrances. If it is uneasy leaves that use it and whose
// entries are not the converged ones are apart from then on; what they lose is charged
// when they are told of it.
func (l *Ledger) weighPod(d, x int32, uneasy bool) {
	q := &l.line
	dest := &q.dests[d]
	pod, harmed := &dest.byPod[q.pod[x]], q.harmed[q.pod[x]] > 0
	unsure := pod.unsure
	if pod.weighed && !unsure && len(dest.apart) == 0 {
		return
	}
	pod.weighed = true
	weight := l.weights(d)
	leaves := q.pods[q.pod[x]]
	for _, peer := range q.peers[q.pod[x]] {
		weight[peer] = 0
	}
	late := false
	alike, like := int64(0), int32(-1) // leaves in a row with equal entries, and one of them
	for _, s := range leaves {
		if s == d {
			continue
		}
		if len(dest.apart) > 0 && q.place[int(d)*l.f.Leaves+int(s)] != 0 {
			late = true
			continue
		}
		set := l.ctl.Table.Of(d, s)
		isLate := unsure && l.deadAt[s] < 0 && !l.field.Converged(d, s)
		if late = late || isLate; isLate && uneasy && crosses(set, q.mask[x]) {
			l.apart(d, s)
			continue
		}
		switch {
		case harmed && len(q.harm[s]) > 0:
			l.weigh(d, s, set, 1)
		case like >= 0 && !changes(set, l.ctl.Table.Of(d, like)):
			alike++
		default:
			if like >= 0 {
				l.weigh(d, like, l.ctl.Table.Of(d, like), alike)
			}
			like, alike = s, 1
		}
	}
	if like >= 0 {
		l.weigh(d, like, l.ctl.Table.Of(d, like), alike)
	}
	pod.unsure = unsure && late
}

// weigh adds so many times a leaf's traffic for d to the weight of its next hops,
// where weights are kept.
func (l *Ledger) weigh(d, s int32, set []uint64, times int64) {
	if pod := &l.line.dests[d].byPod[l.line.pod[s]]; len(pod.doors) == 0 {
		pod.weighed = false
		return
	}
	q := &l.line
	each := times * q.shares[paths.HopsIn(set)]
	weight := l.weights(d)
	if len(q.harm[s]) > 0 {
		ports := l.f.Ports[s]
		for w, word := range set {
			for ; word != 0; word &= word - 1 {
				p := &ports[w*64+bits.TrailingZeros64(word)]
				weight[q.number[p.Peer]] += l.passed(each, l.field.Direction(p.Out()))
			}
		}
		return
	}
	peers := q.peers[q.pod[s]]
	for w, word := range set {
		for ; word != 0; word &= word - 1 {
			weight[peers[w*64+bits.TrailingZeros64(word)]] += each
		}
	}
}

// arriving finds, in arrives, how much of what leaves with converged entries send to an entrance for d
// comes there whole, by class, in leaves' worth.
func (l *Ledger) arriving(d, x int32) {
	q := &l.line
	pod, weight := q.pod[x], l.weightOf(d, x)
	for p := range q.arrives {
		q.arrives[p] = weight
	}
	for i := 0; i < len(q.pods[pod]) && q.harmedTo[q.number[x]] > 0; i++ {
		s := q.pods[pod][i]
		if len(q.harm[s]) == 0 || s == d || l.deadAt[s] >= 0 || q.place[int(d)*l.f.Leaves+int(s)] != 0 {
			continue
		}
		set := l.ctl.Table.Of(d, s)
		for _, k := range q.harm[s] {
			u := &q.uplinks[k]
			each := l.shareOf(set, u.port)
			if each == 0 || l.f.Ports[s][u.port].Peer != x {
				continue
			}
			dir := l.field.Direction(u.dir)
			come := l.passed(each, dir)
			for p := range q.arrives {
				q.arrives[p] += (float64(float64(each)*passOf(dir, p+1)) - float64(come)) / weightUnit
			}
		}
	}
}

// passOf is what a direction passes in a plane.
func passOf(dir *forwarding.Direction, plane int) float64 {
	if dir.Dead {
		return 0
	}
	return dir.Pass[plane]
}

// passed is what is left of a weight beyond a direction.
func (l *Ledger) passed(each int64, dir *forwarding.Direction) int64 {
	if pass := passOf(dir, 0); pass != 1 {
		return int64(math.Round(float64(float64(each) * pass)))
	}
	return each
}
