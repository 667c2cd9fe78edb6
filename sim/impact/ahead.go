package impact

import (
	"math"

	"halflight/sim/forwarding"
	"halflight/sim/kernel"
	"halflight/sim/linkstate"
	"halflight/sim/paths"
)

// Where leaves never carry the traffic of others (package forwarding: the core)
// and writes are known ahead (package linkstate), destinations are independent of
// one another between two changes from outside. Each is then brought up to date
// by itself, write after write, when somebody needs to know, and every loss is
// charged as of the instant at which it began or ended. What that takes:
//
//   - an account for each entrance: a router with leaves that does not deliver
//     all to the destination, charged for the leaves whose entries are the
//     converged ones by the weight of the traffic that they send there;
//   - an account for each leaf that is apart: its entry is not what it will be, and
//     what it loses depends on whose table does it;
//   - an account for each uplink of a leaf that does not pass everything.
//
// The lost share is exact, as one by one; so is what applications feel, but for what
// is hit on both ways, see App.counted, and where ways are fewer than ports.

// timeline is the state of that way of keeping accounts.
type timeline struct {
	on       bool
	waiting  []int32 // destinations with writes to come
	dests    []destination
	dues     *kernel.Shorts[linkstate.Due] // by destination
	batch    []linkstate.Due
	unsorted []linkstate.Due // the batch as it was before sorting
	sorter   kernel.Sorter
	dirty    []int32 // destinations to be looked at when the instant is closed
	retried  bool    // charges for uplinks may depend on what changed
	outside  int64   // latest instant that holds a change from outside

	weight      []int64 // by destination and number of an entrance: traffic that leaves with converged entries send it, see weightUnit; kept in pods with an entrance that does not deliver all
	number      []int32 // by router: of an entrance; -1 of others
	entrances   int
	place       []int32 // by destination and leaf: place in apart plus one, 0 for leaves that are not
	pod         []int32 // by router: of leaves and of entrances; -1 for others
	pods        [][]int32
	words       [][]sources // by pod: its leaves
	hush        bool        // charges at entrances are about to be told anew
	hushed      []int32     // entrances that they were told of meanwhile
	peers       [][]int32   // by pod: the numbers of the entrances at the ports of its leaves
	mask        [][]uint64  // by entrance: the ports of a leaf that lead to it
	shares      []int64     // by number of next hops: weight of one
	harm        [][]int32   // by leaf: its places in uplinks
	harmed      []int32     // by pod: uplinks of its leaves
	harmedTo    []int32     // by number of an entrance: those that lead to it
	arrives     []float64   // by class, see arriving
	uplinks     []uplink
	moved       []uint32 // by router: round in which it moved
	round       uint32
	steps       []int32
	upcoming    []int32    // by router: its next write for the destination at hand, plus one
	spare       []*account // shut
	list        []entry
	moves       []move
	sorted      []move
	lastIn      int // place of the last move of units on their way to a leaf
	deadAccount *account
	lostSince   int64   // while a leaf's write is put into force: since when some flow of its was lost entirely
	waitFor     int     // entrances are being charged for one after the other: leaves below them wait
	latePods    []int32 // meanwhile: pods in which leaves that are apart must look at what they lose
	lateDoors   []int32 // entrances of which leaves that are apart, and use them, must
	like        likeness
	staleStars  []int32 // destinations with a stale star
	starred     StarWrites
	after       forwarding.Spoke // of the router that writes
	before      forwarding.Spoke
	hops        []int
}

// weightUnit is the weight of a whole leaf's traffic to one destination.
const weightUnit = 1 << 40

// destination is the state of one destination.
type destination struct {
	due       []linkstate.Due
	next      int64 // the earliest of due
	waits     bool
	apart     []apartLeaf
	doors     []entrance
	byPod     []podState
	changed   []int32 // leaves whose converged entry may have changed
	reweighed []int32 // leaves of which an uplink passes something else
	isDirty   bool
	moved     bool   // the core must be followed
	again     bool   // losses must be listed anew
	retried   bool   // those must be that depend on tables or on the truth
	stars     []star // followed write by write: all that goes round for it, if any
	isListed  bool   // among those with a stale star
	uneasy    int    // entrances that are
}

// apartLeaf is a leaf with an account of its own for a destination.
type apartLeaf struct {
	leaf    int32
	own     int32    // with asked: the fault behind its entry when it came here, or the truth changed last
	account *account // nil while it loses nothing
	uneasy  bool     // who is charged may depend on tables or on the truth
	asked   bool
}

// podState is what is known of a pod's entrances and leaves.
type podState struct {
	doors   []doorRef // which of its entrances are in doors
	unsure  bool      // entries of its leaves may not be the converged ones
	weighed bool      // weights of its entrances are as tables are, and none of its leaves is apart
}

// sources are leaves 64 x word + i, for each bit i.
type sources struct {
	word   int
	leaves uint64
}

// doorRef says where an entrance is among doors.
type doorRef struct{ x, at int32 }

// entrance is a router with leaves that does not deliver all.
type entrance struct {
	x       int32
	still   bool  // it is among those that do not deliver all
	stale   bool  // its losses must be listed anew once somebody is charged for them
	uneasy  bool  // who is charged may depend on tables or on the truth
	inStar  bool  // it is charged for with its star
	charged int64 // weight that is charged for
	whole   int64 // since when some flow is lost entirely, -1 if none is
	used    int64 // since when it is more than none, or some of it was lost before it came here
	account *account
	losses  []entryOfUnit // of a unit of traffic, seen from leaves whose entries are converged
	view    []entryOfUnit // the same, seen from leaves whose entries are not
	lacks   []float64     // by class
	_       int64         // two cache lines, of which the first is looked at most
}

// byEntry, as the first router in a view, says that an entry loses it, not a direction.
const byEntry = -2

// entryOfUnit is what a unit of traffic at an entrance loses in one way. A fault
// of -1 in a view is whoever made the leaf's entry what it is.
type entryOfUnit struct {
	fault, first int32
	kind         uint8
	whole        bool // some flow is lost entirely
	amount       float64
}

// weighing is what is charged for more or less than a unit.
func (u *entryOfUnit) weighing(amount int64) entry {
	return entry{fault: u.fault, kind: u.kind, whole: u.whole, first: u.first, amount: amount}
}

// account is what is charged at present to one creditor.
type account struct {
	since   int64 // what is owed is charged to phases up to here
	born    int64 // or, of a leaf, since when there is a way and something is lost
	gone    bool  // of a leaf: there is no way
	entries []entry
	hits    []int64  // by class: units of work hit
	out     []int64  // by class: of a leaf, units hit more than usual; of an entrance, the usual
	room    [2]entry // the first of entries
	counts  [2]int64 // hits and out, of one class
}

func (l *Ledger) initTimeline() {
	t := &l.line
	n, all := l.f.Leaves, len(l.f.Routers)
	t.on, t.outside, t.lostSince = true, -1, linkstate.Never
	t.dests, t.dues = make([]destination, n), kernel.NewShorts[linkstate.Due](n, 4)
	t.place = kernel.Large[int32](n * n)
	t.pod, t.number, t.mask, t.harm = make([]int32, all), make([]int32, all), make([][]uint64, all), make([][]int32, n)
	t.upcoming, t.moved = make([]int32, all), make([]uint32, all)
	for x := range t.pod {
		t.pod[x], t.number[x] = -1, -1
	}
	for s := range n {
		l.findPod(int32(s))
	}
	for _, leaves := range t.pods {
		var words []sources
		for _, s := range leaves {
			if n := len(words); n == 0 || words[n-1].word != int(s>>6) {
				words = append(words, sources{word: int(s >> 6)})
			}
			words[len(words)-1].leaves |= 1 << (s & 63)
		}
		t.words = append(t.words, words)
	}
	t.weight = kernel.Large[int64](n * t.entrances)
	most := 0
	for s := range n {
		most = max(most, len(l.f.Ports[s]))
	}
	t.harmed, t.harmedTo, t.arrives = make([]int32, len(t.pods)), make([]int32, t.entrances), make([]float64, len(l.Apps))
	for i := range l.Apps {
		l.Apps[i].below, l.Apps[i].isUnder = make([]int64, len(t.pods)), make([]bool, len(t.pods))
	}
	t.shares = make([]int64, most+1)
	for k := 1; k <= most; k++ {
		t.shares[k] = int64(math.Round(weightUnit / float64(k)))
	}
	for d := range n {
		t.dests[d].due, t.dests[d].next = t.dues.Empty(d, nil), linkstate.Never
		t.dests[d].byPod = make([]podState, len(t.pods))
	}
}

// findPod puts a leaf with those that have the same routers at the same ports.
func (l *Ledger) findPod(s int32) {
	t := &l.line
	ports := l.f.Ports[s]
	first := ports[0].Peer
	if p := t.pod[first]; p >= 0 {
		mate := l.f.Ports[t.pods[p][0]]
		for i := range ports {
			if len(mate) != len(ports) || mate[i].Peer != ports[i].Peer {
				panic("impact: leaves of one pod have different spines")
			}
		}
		t.pod[s] = p
		t.pods[p] = append(t.pods[p], s)
		return
	}
	p := int32(len(t.pods))
	t.pods = append(t.pods, []int32{s})
	t.peers = append(t.peers, make([]int32, len(ports)))
	t.pod[s] = p
	for i := range ports {
		x := ports[i].Peer
		if t.pod[x] >= 0 && t.pod[x] != p {
			panic("impact: a spine of two pods")
		}
		t.pod[x] = p
		if t.mask[x] == nil {
			t.number[x] = int32(t.entrances)
			t.entrances++
			t.mask[x] = make([]uint64, (len(ports)+63)/64)
		}
		t.peers[p][i] = t.number[x]
		t.mask[x][i>>6] |= 1 << (i & 63)
	}
}

// Expect notes writes that will be due, and forgets the list.
func (l *Ledger) Expect() {
	t := &l.line
	for _, due := range l.ctl.Due {
		d := l.ctl.Writing(due.ID).Destination()
		q := &t.dests[d]
		q.due = t.dues.Append(q.due, due)
		q.next = min(q.next, due.At)
		if !q.waits {
			q.waits = true
			t.waiting = append(t.waiting, d)
		}
	}
	l.ctl.Due = l.ctl.Due[:0]
	for _, run := range l.ctl.Noted {
		n := l.ctl.Note(run)
		n.Blame = l.blameNow(n.Router, run)
	}
	l.ctl.Noted = l.ctl.Noted[:0]
}

// Next is the earliest instant at which something expected is due.
func (l *Ledger) Next() int64 {
	least := int64(linkstate.Never)
	for _, d := range l.line.waiting {
		least = min(least, l.line.dests[d].next)
	}
	return least
}

// CatchUp puts into force, and charges for, all that was due until an instant,
// itself included.
func (l *Ledger) CatchUp(until int64) {
	t := &l.line
	if len(t.waiting) == 0 {
		return
	}
	kept := t.waiting[:0]
	for _, d := range t.waiting {
		q := &t.dests[d]
		if q.next <= until {
			l.replay(d, until)
		}
		if len(q.due) > 0 {
			kept = append(kept, d)
		} else {
			q.waits = false
		}
	}
	t.waiting = kept
	l.ctl.Entered(until)
}

// replay brings one destination up to date.
func (l *Ledger) replay(d int32, until int64) {
	t := &l.line
	q := &t.dests[d]
	if len(q.due) == 1 && len(q.doors) == 0 && len(q.apart) == 0 && l.replayOne(d, q.due[0]) {
		q.due, q.next = t.dues.Empty(int(d), q.due), linkstate.Never
		return
	}
	batch, rest := t.batch[:0], q.due[:0]
	q.next = linkstate.Never
	for _, due := range q.due {
		if due.At <= until {
			batch = append(batch, due)
		} else {
			rest = append(rest, due)
			q.next = min(q.next, due.At)
		}
	}
	if q.due, t.batch = rest, batch; len(rest) == 0 {
		q.due = t.dues.Empty(int(d), q.due)
	}
	l.sortDue(batch)
	l.foresee(batch, rest)
	for _, due := range batch {
		w := l.ctl.Writing(due.ID)
		x, after := w.Router, w.After
		if l.ctl.Void(due.ID) {
			t.upcoming[x] = after
			continue
		}
		l.stamp++
		l.stir = l.stir[:0]
		if l.Listen && changes(l.ctl.Table.Of(d, x), l.ctl.SetOf(due.ID)) {
			l.Wrote = append(l.Wrote, x)
		}
		if int(x) < l.f.Leaves {
			l.leafWrites(d, x, due)
		} else if changes(l.ctl.Table.Of(d, x), l.ctl.SetOf(due.ID)) {
			l.coreWrites(d, x, due.ID, due.At)
		} else {
			l.ctl.Enter(due.ID)
		}
		l.stirred(due.At)
		t.upcoming[x] = after
	}
	l.rest(d)
	for _, due := range rest {
		t.upcoming[l.ctl.Writing(due.ID).Router] = 0
	}
}

// replayOne puts a leaf's write into force that is the only one and changes
// nothing of what is lost beyond its uplinks.
func (l *Ledger) replayOne(d int32, due linkstate.Due) bool {
	w := l.ctl.Writing(due.ID)
	x := w.Router
	if int(x) >= l.f.Leaves || l.Listen || paths.HopsIn(l.ctl.SetOf(due.ID)) == 0 {
		return false
	}
	if l.ctl.Void(due.ID) {
		return true
	}
	l.stamp++
	l.stir = l.stir[:0]
	l.line.upcoming[x] = due.ID + 1
	l.leafWrites(d, x, due)
	l.line.upcoming[x] = 0
	l.stirred(due.At)
	return true
}

func changes(a, b []uint64) bool {
	for i, w := range a {
		if w != b[i] {
			return true
		}
	}
	return false
}

// sortDue puts writes into order: by instant; at one instant what a prune or a
// death writes first; then by router.
func (l *Ledger) sortDue(list []linkstate.Due) {
	if len(list) < 2 {
		return
	}
	first, last := list[0].At, list[0].At
	for _, due := range list {
		first, last = min(first, due.At), max(last, due.At)
	}
	was := append(l.line.unsorted[:0], list...)
	order := l.line.sorter.Order(len(was), uint64(last-first), func(i int) uint64 { return uint64(was[i].At - first) }, func(i, j int32) bool {
		a, b := was[i], was[j]
		if a.At != b.At {
			return a.At < b.At
		}
		v, w := l.ctl.Writing(a.ID), l.ctl.Writing(b.ID)
		if r, s := v.Run >= 0, w.Run >= 0; r != s {
			return s
		}
		return v.Router < w.Router
	})
	for k, i := range order {
		list[k] = was[i]
	}
	l.line.unsorted = was
}

// foresee notes each router's next write.
func (l *Ledger) foresee(batch, rest []linkstate.Due) {
	t := &l.line
	for i := range rest {
		w := l.ctl.Writing(rest[i].ID)
		u := t.upcoming[w.Router]
		if u > 0 && l.ctl.Writing(u-1).At <= w.At {
			v := l.ctl.Writing(u - 1)
			w.After, v.After = v.After, rest[i].ID+1
			continue
		}
		w.After, t.upcoming[w.Router] = u, rest[i].ID+1
	}
	for i := len(batch) - 1; i >= 0; i-- {
		w := l.ctl.Writing(batch[i].ID)
		w.After, t.upcoming[w.Router] = t.upcoming[w.Router], batch[i].ID+1
	}
}
