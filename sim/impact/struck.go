package impact

import (
	"math"
	"slices"

	"halflight/sim/pairs"
)

// aftermath is how long after its end, in ns, a fault's pairs are told apart still: tables are
// written by then.
const aftermath = 3_600_000_000_000

// Pairs is how many ordered leaf pairs lost traffic to a fault, each once, unless it lost some
// more than an hour after the fault had ended. Where leaves are weighed together, a leaf that
// begins to use an entrance counts if that loses something then.
func (l *Ledger) Pairs(fault int32) int {
	f := &l.Faults[fault]
	n := f.closed
	if f.struck != nil {
		n += f.struck.Count(l.f.Leaves)
	}
	return min(n, l.f.Leaves*(l.f.Leaves-1))
}

// Struck is of how many faults the pairs are told apart.
func (l *Ledger) Struck() int { return len(l.struck) }

// struckBy is the set of pairs that lost traffic to a fault.
func (l *Ledger) struckBy(fault int32) *pairs.Set {
	f := &l.Faults[fault]
	if f.struck == nil {
		f.struck = new(pairs.Set)
		l.struck = append(l.struck, fault)
	}
	return f.struck
}

// closeStruck counts the pairs of a fault that is long over, one at a time, and forgets which
// they were.
func (l *Ledger) closeStruck(now int64) {
	if len(l.struck) == 0 {
		return
	}
	last := len(l.struck) - 1
	if l.nextOver++; l.nextOver > last {
		l.nextOver = 0
	}
	i := l.nextOver
	f := &l.Faults[l.struck[i]]
	if f.End == math.MaxInt64 || now-f.End < aftermath {
		return
	}
	f.closed, f.struck, f.spells = l.Pairs(l.struck[i]), nil, pairs.Spells{}
	l.struck[i] = l.struck[last]
	l.struck = l.struck[:last]
}

// strike notes that a pair loses traffic to a fault.
func (l *Ledger) strike(fault, d, s int32) {
	l.struckBy(fault).Add(d, int(s>>6), 1<<(s&63))
}

// strikeUp notes that what a leaf sends over a port loses traffic to a fault; all says that this is
// for all leaves, none of which is dead.
func (l *Ledger) strikeUp(fault, s, port int32, all bool) {
	if all {
		l.struckBy(fault).AddFrom(s, l.f.Leaves)
		return
	}
	for d := range int32(l.f.Leaves) {
		if d != s && l.deadAt[d] < 0 && l.ctl.Table.Has(d, s, port) {
			l.strike(fault, d, s)
		}
	}
}

// strikeDead notes that a leaf that is dead loses all that it would send and get, but for what
// others, that were dead before, do.
func (l *Ledger) strikeDead(fault, leaf int32, before []int32) {
	if len(before) == 0 {
		l.struckBy(fault).AddFrom(leaf, l.f.Leaves)
		l.struckBy(fault).AddTo(leaf, l.f.Leaves)
		return
	}
	for x := range int32(l.f.Leaves) {
		if !slices.Contains(before, x) {
			l.strike(fault, x, leaf)
			l.strike(fault, leaf, x)
		}
	}
}

// strikeAt notes that leaves that are weighed together lose traffic to a fault at an entrance. While
// what is charged there is about to be told anew it only notes the entrance.
func (l *Ledger) strikeAt(fault, d, x int32) {
	q := &l.line
	if q.hush {
		q.hushed = append(q.hushed, x)
		return
	}
	set := l.struckBy(fault)
	all := true
	for _, w := range q.words[q.pod[x]] {
		leaves := w.leaves
		if int(d>>6) == w.word {
			leaves &^= 1 << (d & 63)
		}
		all = all && set.Has(d, w.word, leaves)
	}
	if all {
		return
	}
	word, sources := -1, uint64(0)
	for _, s := range q.pods[q.pod[x]] {
		if s == d || q.place[int(d)*l.f.Leaves+int(s)] != 0 || l.deadAt[s] >= 0 || !l.reaches(s, l.ctl.Table.Of(d, s), q.mask[x]) {
			continue
		}
		if int(s>>6) != word {
			if sources != 0 {
				set.Add(d, word, sources)
			}
			word, sources = int(s>>6), 0
		}
		sources |= 1 << (s & 63)
	}
	if sources != 0 {
		set.Add(d, word, sources)
	}
}

// strikeHushed notes what is charged at the entrances of d of which that was put off.
func (l *Ledger) strikeHushed(d int32) {
	q := &l.line
	for _, x := range q.hushed {
		if i := l.doorAt(d, x); i >= 0 {
			list := q.dests[d].doors[i].account.entries
			for k := range list {
				l.strikeAt(list[k].fault, d, x)
			}
		}
	}
	q.hushed = q.hushed[:0]
}

// reaches says whether some of what a leaf sends by a set comes to an entrance, whose ports are given.
func (l *Ledger) reaches(s int32, set, mask []uint64) bool {
	return crosses(set, mask) && (len(l.line.harm[s]) == 0 || l.partOf(s, set, mask, 1, 0) > 0)
}

// strikeNew notes what a leaf that is weighed with others begins to lose as its entry becomes
// another, at entrances that lose something already; of a leaf that was apart no entry was.
func (l *Ledger) strikeNew(d, s int32, was, is []uint64) {
	q := &l.line.dests[d]
	for _, r := range q.byPod[l.line.pod[s]].doors {
		o := &q.doors[r.at]
		if mask := l.line.mask[o.x]; crosses(was, mask) || !l.reaches(s, is, mask) {
			continue
		}
		if l.line.hush {
			l.line.hushed = append(l.line.hushed, o.x)
			continue
		}
		for i := range o.account.entries {
			l.strike(o.account.entries[i].fault, d, s)
		}
	}
}
