package impact

import (
	"math"

	"halflight/sim/forwarding"
)

// uplink is what traffic for sound destinations (see package forwarding) loses
// on one uplink of a leaf.
type uplink struct {
	dir   int32
	entry entry
	since int64 // some flow has been lost entirely since, -1 when none is
}

// refreshUplinks replaces what is charged for uplinks that do not pass
// everything.
func (l *Ledger) refreshUplinks(now int64) {
	l.field.UplinksChanged = false
	before := l.uplinks
	for _, u := range before {
		if u.entry.amount != 0 {
			l.charge(u.entry, -1, now)
		}
	}
	for i := range l.Apps {
		l.Apps[i].beginUplinks(now, l)
	}
	var after []uplink
	l.field.Uplinks(func(dir int32, state *forwarding.Direction, pairs float64) {
		u := uplink{dir: dir, since: -1}
		leaf := l.f.From(dir)
		pass := 0.0
		if !state.Dead {
			pass = state.Pass[0]
		}
		u.entry = entry{fault: state.Cause, kind: cellGray, first: -1, amount: int64(math.Round(float64(pairs*(1-pass)) * l.unit))}
		if state.Dead && !l.Truth.LinkUp[dir>>1] {
			u.entry.kind, u.entry.first = transit, leaf
			if l.Faults[state.Cause].Maintenance {
				u.entry.kind = cellMaintenance
			}
		}
		if u.entry.amount != 0 {
			l.charge(u.entry, 1, now)
		}
		if (state.Dead || state.Whole) && pairs > 0 && l.Truth.Path((leaf+1)%int32(l.f.Leaves), leaf) {
			u.since = l.lostSince(before, dir, state.Cause, now)
		}
		for i := range l.Apps {
			hit := 1.0
			if !state.Dead {
				hit = 1 - state.Pass[i+1]
			}
			l.Apps[i].addUplink(leaf, float64(pairs*hit))
		}
		after = append(after, u)
	})
	l.closeUplinks(before, after, now)
	l.uplinks = after
}

// lostSince is since when an uplink has lost some flow entirely.
func (l *Ledger) lostSince(before []uplink, dir, cause int32, now int64) int64 {
	for _, u := range before {
		if u.dir == dir && u.since >= 0 {
			return u.since
		}
	}
	l.Faults[cause].Pairs += int32(l.f.Leaves - 1)
	return now
}

// closeUplinks books the time of uplinks that lose no flow entirely any more.
func (l *Ledger) closeUplinks(before, after []uplink, now int64) {
	for _, u := range before {
		if u.since < 0 {
			continue
		}
		goes := false
		for _, v := range after {
			goes = goes || v.dir == u.dir && v.since == u.since
		}
		if f := &l.Faults[u.entry.fault]; !goes {
			f.RouteLoss = max(f.RouteLoss, now-u.since)
		}
	}
}
