package linkstate

import (
	"slices"

	"halflight/model/timer"
	"halflight/sim/record"
)

// waitBook keeps, over many routers, the distribution of the SPF wait that an
// IGP event arriving at a uniformly random moment would meet: the time that
// the wait stood at a value, and the timers that ran down. The mean is exact;
// pieces of doubling form B, whose spacing takes any value, are kept in whole
// milliseconds.
type waitBook struct {
	rest, short, long    int64 // the usual values, counted without a search
	restTime, shortTime  float64
	longTime             float64
	restRan, longRan     int64
	others               []record.Wait // sorted by From, To
	routerTime, integral float64       // ns, ns^2
}

func newWaitBook(p *timer.SPF) *waitBook {
	return &waitBook{rest: restWait(p), short: p.Short, long: p.Long}
}

// stand books [from, to), in which the SPF timer was off and the state s.
func (w *waitBook) stand(b *backoff, p *timer.SPF, s int, from, to int64) {
	span := to - from
	if p.Family == timer.RFC8405 {
		switch s {
		case 0:
			w.restTime += float64(span)
		case 1:
			w.shortTime += float64(span)
		default:
			w.longTime += float64(span)
		}
		return
	}
	if from >= b.last+p.Wait {
		w.restTime += float64(span)
		return
	}
	if p.Family == timer.DoublingB && b.ran != Never {
		// The spacing runs down to the first delay, then the wait stands.
		flat := min(max(b.ran+b.next-p.First, from), to)
		w.ramp(b.ran+b.next-from, b.ran+b.next-flat)
		from, span = flat, to-flat
	}
	if span > 0 {
		w.piece(b.waitOther(p, from), b.waitOther(p, from)).Total += float64(span)
	}
}

// ramp books a timer that ran down from one value to another.
func (w *waitBook) ramp(from, to int64) {
	if from <= to {
		return
	}
	span := float64(from - to)
	w.integral += span * (float64(from) + float64(to)) / 2
	w.routerTime += span
	switch {
	case to == 0 && from == w.rest:
		w.restRan++
	case to == 0 && from == w.long:
		w.longRan++
	default:
		const grain = 1_000_000
		if from > grain && to > grain {
			from, to = (from+grain/2)/grain*grain, (to+grain/2)/grain*grain
		}
		if from > to {
			w.piece(from, to).Count++
		}
	}
}

func (w *waitBook) piece(from, to int64) *record.Wait {
	i, ok := slices.BinarySearchFunc(w.others, [2]int64{from, to}, func(e record.Wait, k [2]int64) int {
		if e.From != k[0] {
			return int(e.From - k[0])
		}
		return int(e.To - k[1])
	})
	if !ok {
		w.others = slices.Insert(w.others, i, record.Wait{From: from, To: to})
	}
	return &w.others[i]
}

// piecesOf returns the distribution over the routers of all books in a fixed order
// and the exact mean in ns.
func piecesOf(books ...*waitBook) (out []record.Wait, mean float64) {
	var all waitBook
	integral, time := 0.0, 0.0
	for _, w := range books {
		all.add(w.others)
		all.piece(w.rest, w.rest).Total += w.restTime
		all.piece(w.short, w.short).Total += w.shortTime
		all.piece(w.long, w.long).Total += w.longTime
		all.piece(w.rest, 0).Count += w.restRan
		all.piece(w.long, 0).Count += w.longRan
		integral += w.integral
		time += w.routerTime
	}
	for _, e := range all.others {
		integral += float64(e.Total * float64(e.From))
		time += e.Total
		if e.Total > 0 || (e.Count > 0 && e.From > e.To) {
			out = append(out, e)
		}
	}
	if time > 0 {
		mean = integral / time
	}
	return out, mean
}

// plus returns the distribution over the routers of both books, which are of one kind of
// back-off.
func (w *waitBook) plus(o *waitBook) *waitBook {
	sum := *w
	sum.others = slices.Clone(w.others)
	sum.restTime += o.restTime
	sum.shortTime += o.shortTime
	sum.longTime += o.longTime
	sum.restRan += o.restRan
	sum.longRan += o.longRan
	sum.integral += o.integral
	sum.routerTime += o.routerTime
	sum.add(o.others)
	return &sum
}

// add adds pieces.
func (w *waitBook) add(pieces []record.Wait) {
	for _, e := range pieces {
		p := w.piece(e.From, e.To)
		p.Total += e.Total
		p.Count += e.Count
	}
}
