package linkstate

import "halflight/sim/kernel"

// lsp is the content of one version of a router's link-state PDU: a metric for
// each of its ports, 0 where it lists no adjacency, and the overload bit.
type lsp struct {
	metric   []uint32
	overload bool
	hosts    uint32 // changes of hosts behind its origin so far
	fault    int32  // the fault behind it, for the record; -1 for none
	order    uint64 // of its origination among floods and adjacencies that came up
}

func (a *lsp) equal(b *lsp) bool {
	if a == nil || b == nil {
		return a == b
	}
	if a.overload != b.overload || a.hosts != b.hosts {
		return false
	}
	for i, m := range a.metric {
		if m != b.metric[i] {
			return false
		}
	}
	return true
}

func (a *lsp) lists(port int32) bool { return a != nil && a.metric[port] != 0 }

// history holds the versions of one origin that some router may still have.
// The first sequence number is 1; 0 stands for no LSP.
type history struct {
	first   uint32 // sequence number of versions[0]
	content []*lsp
	most    int // versions held before the next look at what can be forgotten
}

func (h *history) newest() uint32 { return h.first + uint32(len(h.content)) - 1 }

func (h *history) at(seq uint32) *lsp {
	if seq == 0 {
		return nil
	}
	return h.content[seq-h.first]
}

func (h *history) add(l *lsp) uint32 {
	h.content = append(h.content, l)
	return h.newest()
}

// forget drops versions below seq.
func (h *history) forget(seq uint32) {
	if n := int(seq) - int(h.first); n > 0 {
		h.content = append([]*lsp(nil), h.content[n:]...)
		h.first = seq
	}
}

// database is which version of every LSP every router has.
type database struct {
	seq  [][]uint32 // by origin and router; 0 for none
	hash []uint64   // by router: a digest of its column
	logs []history  // by origin
}

func newDatabase(routers int) *database {
	d := &database{hash: make([]uint64, routers), logs: make([]history, routers)}
	seq := kernel.Large[uint32](routers * routers)
	for o := range routers {
		d.seq = append(d.seq, seq[o*routers:(o+1)*routers:(o+1)*routers])
		d.logs[o].first, d.logs[o].most = 1, 64
	}
	return d
}

// digest mixes an origin and a sequence number. No LSP has digest 0.
func digest(origin int32, seq uint32) uint64 {
	if seq == 0 {
		return 0
	}
	return kernel.Mix(uint64(origin)<<32 | uint64(seq))
}

// put gives router x another version of origin's LSP.
func (d *database) put(x, origin int32, seq uint32) {
	d.hash[x] ^= digest(origin, d.seq[origin][x]) ^ digest(origin, seq)
	d.seq[origin][x] = seq
}

// holds returns the content of origin's LSP at router x, nil for none.
func (d *database) holds(x, origin int32) *lsp { return d.logs[origin].at(d.seq[origin][x]) }

// erase empties router x's database.
func (d *database) erase(x int32) {
	for o := range d.seq {
		d.seq[o][x] = 0
	}
	d.hash[x] = 0
}

// trim forgets versions of origin that no router has any more and that are not
// on their way to one.
func (c *Control) trim(origin int32) {
	low := c.data.logs[origin].newest()
	for _, s := range c.data.seq[origin] {
		if s != 0 && s < low {
			low = s
		}
	}
	onTheWay := func(list []version) {
		for _, v := range list {
			if v.origin == origin && v.seq < low {
				low = v.seq
			}
		}
	}
	s := &c.flooding
	for _, fl := range s.floods.all {
		onTheWay(fl.lsps)
	}
	for i := range s.crossings.all {
		onTheWay(s.crossings.all[i].lsps)
	}
	for i := range s.debts {
		onTheWay(s.debts[i].lsps)
	}
	log := &c.data.logs[origin]
	log.forget(low)
	log.most = max(64, 2*len(log.content))
}
