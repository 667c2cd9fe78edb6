package results

import (
	"halflight/results/unit"
	"halflight/sim/record"
)

// Times after which servers that are cut off have cost what runs on them: Qian et
// al., SIGCOMM 2024, section 9.3, as of leaves that are dark.
const (
	stallsAfter = int64(9e9)
	lostAfter   = int64(120e9)
)

// InWindow is how much of the time that servers were cut off lies in the measured
// window, ns.
func InWindow(r *record.Replication, c *record.Cutoff) int64 { return c.To - max(c.From, r.From) }

// servers adds what became of groups of servers and of their attachments, where
// they were followed.
func (b *summary) servers() {
	h := b.header.Servers
	if h == nil {
		return
	}
	longer := func(r *record.Replication, than int64) (n int64) {
		for i := range r.Servers.Cutoffs {
			c := &r.Servers.Cutoffs[i]
			if InWindow(r, c) > than {
				n += int64(c.Groups)
			}
		}
		return n
	}
	cuts := b.counts(func(r *record.Replication) int64 { return longer(r, 0) })
	share := b.each(func(r *record.Replication) float64 {
		sum := 0.0
		for i := range r.Servers.Cutoffs {
			c := &r.Servers.Cutoffs[i]
			sum += float64(float64(InWindow(r, c)) * float64(c.Groups))
		}
		return sum / float64(r.To-r.From) / float64(h.Groups)
	})
	b.addMean("servers.cut_off", unit.Share, b.amount(share, 1, cuts), total(cuts), share)
	b.addRate("servers.stalls", b.counts(func(r *record.Replication) int64 { return longer(r, stallsAfter) }))
	b.addRate("servers.stalls_lost", b.counts(func(r *record.Replication) int64 { return longer(r, lostAfter) }))
	faults := b.countFaults(func(*record.Fault) bool { return true })
	lost := b.each(func(r *record.Replication) float64 { return r.Servers.Lost / float64(h.Access) })
	b.addMean("access.lost", unit.Share, b.amount(lost, 1, faults), total(faults), lost)
	b.addRate("overlay.resets", b.counts(func(r *record.Replication) int64 { return r.Servers.Resets }))
}
