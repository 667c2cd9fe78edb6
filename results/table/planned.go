package table

import (
	"halflight/results"
	"halflight/sim/record"
)

// planned adds what planned work did, if there was any.
func planned(m *maker[record.Replication], set *results.Set) {
	upgrades, changes := false, false
	for _, mode := range set.Header.Modes {
		upgrades, changes = upgrades || mode.Kind == "upgrade", changes || mode.Kind == "change"
	}
	of := func(r *record.Replication) *record.Planned {
		if r.Planned == nil {
			return &record.Planned{}
		}
		return r.Planned
	}
	if upgrades {
		m.add("upgraded", Whole, func(r *record.Replication) Cell { return whole(of(r).Boxes) })
		m.add("upgrades_left", Whole, func(r *record.Replication) Cell { return whole(of(r).Left) })
		m.add("campaigns", Whole, func(r *record.Replication) Cell { return whole(of(r).Campaigns) })
		m.add("campaigns_skipped", Whole, func(r *record.Replication) Cell { return whole(of(r).Skipped) })
		m.add("nights", Whole, func(r *record.Replication) Cell { return whole(of(r).Nights) })
		m.add("exposure_s", Number, func(r *record.Replication) Cell { return seconds(of(r).Exposed) })
		m.add("capacity_exposed", Number, func(r *record.Replication) Cell { return number(of(r).CapacityWorst) })
	}
	if changes {
		m.add("changes", Whole, func(r *record.Replication) Cell { return whole(of(r).Changes) })
	}
}
