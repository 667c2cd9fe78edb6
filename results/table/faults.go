package table

import (
	"halflight/results"
	"halflight/sim/record"
)

// faultRow is one fault with where it is from.
type faultRow struct {
	*record.Fault
	of *record.Replication
}

var backgrounds = [...]string{record.Quiet: "quiet", record.Noise: "noise", record.Same: "same"}

// Faults is the faults of all replications of a set, by replication and onset.
func Faults(set *results.Set) *Table {
	h := &set.Header
	var rows []faultRow
	for i := range set.Replications {
		r := &set.Replications[i]
		for k := range r.Faults {
			rows = append(rows, faultRow{&r.Faults[k], r})
		}
	}
	m := &maker[faultRow]{}
	m.add("replication", Whole, func(f *faultRow) Cell { return whole(int64(f.of.Number)) })
	m.add("fault", Whole, func(f *faultRow) Cell { return whole(int64(f.Index)) })
	m.add("mode", Text, func(f *faultRow) Cell { return text(h.Modes[f.Mode].Name) })
	m.add("kind", Text, func(f *faultRow) Cell { return text(h.Modes[f.Mode].Kind) })
	m.add("gray", Truth, func(f *faultRow) Cell { return truth(h.Modes[f.Mode].Gray) })
	m.add("on", Text, func(f *faultRow) Cell { return text(f.On) })
	m.add("onset_s", Number, func(f *faultRow) Cell { return seconds(f.Onset - f.of.From) })
	m.add("end_s", Number, func(f *faultRow) Cell {
		if f.End == record.None {
			return Cell{}
		}
		return seconds(f.End - f.of.From)
	})
	m.add("background", Text, func(f *faultRow) Cell { return text(backgrounds[f.Background]) })
	for _, c := range []struct {
		name string
		ns   func(f *record.Fault) int64
	}{
		{"full_convergence_s", func(f *record.Fault) int64 { return f.FullConvergence }},
		{"repair_convergence_s", func(f *record.Fault) int64 { return f.RepairConvergence }},
		{"spf_wait_s", func(f *record.Fault) int64 { return f.SPFWait }},
		{"route_loss_s", func(f *record.Fault) int64 { return f.RouteLoss }},
		{"sighted_s", func(f *record.Fault) int64 { return f.Sighted }},
		{"mitigated_s", func(f *record.Fault) int64 { return f.Mitigated }},
	} {
		m.add(c.name, Number, func(f *faultRow) Cell { return seconds(c.ns(f.Fault)) })
	}
	m.add("sighted_by", Text, func(f *faultRow) Cell { return text(f.SightedBy) })
	m.add("pairs", Whole, func(f *faultRow) Cell { return whole(int64(f.Pairs)) })
	m.add("routers", Whole, func(f *faultRow) Cell { return whole(int64(f.Touched)) })
	if h.External > 0 {
		m.add("external", Truth, func(f *faultRow) Cell { return truth(f.External) })
	}
	m.add("lost_s", Number, func(f *faultRow) Cell { return number(f.LostSeconds) })
	for p, phase := range h.Phases {
		m.add("lost_"+phase+"_s", Number, func(f *faultRow) Cell {
			if p >= len(f.Phases) {
				return number(0)
			}
			return number(f.Phases[p])
		})
	}
	return m.table("faults", rows)
}
