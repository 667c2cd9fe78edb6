package table

import (
	"strings"

	"halflight/results"
	"halflight/sim/record"
)

// stranded is the phase of what had no path left.
const stranded = "stranded"

// Replications is one row a replication of a set.
func Replications(set *results.Set) *Table {
	h := &set.Header
	m := &maker[record.Replication]{}
	m.add("replication", Whole, func(r *record.Replication) Cell { return whole(int64(r.Number)) })
	m.add("measured_s", Number, func(r *record.Replication) Cell { return seconds(r.To - r.From) })
	m.add("lost_avoidable_s", Number, func(r *record.Replication) Cell { return number(lost(h, r, false)) })
	m.add("lost_stranded_s", Number, func(r *record.Replication) Cell { return number(lost(h, r, true)) })
	if h.External > 0 {
		m.add("lost_external_s", Number, func(r *record.Replication) Cell { return number(r.LostExternal) })
	}
	for c, class := range h.Classes {
		app := func(name string, figure func(a *record.Application) float64) {
			m.add("app_"+class.Name+"_"+name, Number, func(r *record.Replication) Cell { return number(figure(&r.Applications[c])) })
		}
		app("slow_share", func(a *record.Application) float64 { return a.SlowShare })
		app("worst_leaf", func(a *record.Application) float64 { return a.WorstLeaf })
		app("p99_leaf", func(a *record.Application) float64 { return a.P99Leaf })
		app("degraded_leaf_h", func(a *record.Application) float64 { return a.DegradedLeafHours })
		for i, w := range class.Windows {
			burn := func(name string, figure func(b *record.Burn) float64) {
				m.add("app_"+class.Name+"_burn_"+w.Name+"_"+name, Number, func(r *record.Replication) Cell {
					if len(r.Applications[c].Burn) == 0 {
						return Cell{}
					}
					v := figure(&r.Applications[c].Burn[i])
					return Cell{There: v != record.None, Number: v}
				})
			}
			burn("most", func(b *record.Burn) float64 { return b.Most })
			burn("most_leaf", func(b *record.Burn) float64 { return b.MostLeaf })
			burn("above_h", func(b *record.Burn) float64 { return float64(b.Above) / 3600e9 })
			burn("leaf_above_h", func(b *record.Burn) float64 { return float64(b.LeafAbove) / 3600e9 })
		}
		for k, at := range class.Delays {
			app("late_"+results.DelayName(at), func(a *record.Application) float64 { return a.Late[k] })
		}
	}
	m.add("router_time_h", Number, func(r *record.Replication) Cell { return hours(r.RouterTime) })
	for s, state := range h.States {
		m.add("backoff_"+strings.ToLower(state), Number, func(r *record.Replication) Cell { return part(r.StateTime[s], r.RouterTime) })
	}
	m.add("wait_mean_s", Number, func(r *record.Replication) Cell { return number(r.WaitMean / 1e9) })
	m.add("leaf_wait_mean_s", Number, func(r *record.Replication) Cell { return number(r.LeafWaitMean / 1e9) })
	m.add("rest_wait_s", Number, func(r *record.Replication) Cell { return seconds(r.RestWait) })
	for _, c := range []struct {
		name  string
		count func(r *record.Replication) int64
	}{
		{"spf_runs", func(r *record.Replication) int64 { return r.SPFRuns }},
		{"originations", func(r *record.Replication) int64 { return r.Originations }},
		{"sightings", func(r *record.Replication) int64 { return r.Sightings }},
		{"drains", func(r *record.Replication) int64 { return r.Drains }},
		{"false_drains", func(r *record.Replication) int64 { return r.FalseDrains }},
		{"refused", func(r *record.Replication) int64 { return r.Refused }},
		{"stalls", func(r *record.Replication) int64 { return r.Stalls }},
		{"stalls_lost", func(r *record.Replication) int64 { return r.StallsLost }},
		{"tickets", func(r *record.Replication) int64 { return r.Tickets }},
		{"repeats", func(r *record.Replication) int64 { return r.Repeats }},
		{"visits", func(r *record.Replication) int64 { return r.Visits }},
		{"repairs", func(r *record.Replication) int64 { return r.Repairs }},
		{"replaced", func(r *record.Replication) int64 { return r.Replaced }},
		{"averted", func(r *record.Replication) int64 { return r.Averted }},
	} {
		m.add(c.name, Whole, func(r *record.Replication) Cell { return whole(c.count(r)) })
	}
	for i, ins := range h.Instruments {
		m.add("sightings_"+ins.Name, Whole, func(r *record.Replication) Cell { return whole(r.Watched[i].Sightings) })
		m.add("false_alarms_"+ins.Name, Whole, func(r *record.Replication) Cell { return whole(r.Watched[i].FalseAlarms) })
	}
	m.add("busy_worst10s", Number, func(r *record.Replication) Cell { return number(r.BusyWorst10s) })
	m.add("hands_on", Number, func(r *record.Replication) Cell { return number(r.HandsOn) })
	m.add("capacity_worst", Number, func(r *record.Replication) Cell { return number(r.CapacityLeft()) })
	planned(m, set)
	m.add("load_worst", Number, func(r *record.Replication) Cell { return Cell{There: h.Congestion, Number: r.LoadWorst} })
	m.add("load_over", Number, func(r *record.Replication) Cell { return Cell{There: h.Congestion, Number: r.LoadOver} })
	if h.Servers != nil {
		m.add("servers_cut_off_s", Number, func(r *record.Replication) Cell { return number(cutOff(r)) })
		m.add("access_lost", Number, func(r *record.Replication) Cell { return number(r.Servers.Lost) })
		m.add("overlay_resets", Whole, func(r *record.Replication) Cell { return whole(r.Servers.Resets) })
	}
	for i, mode := range h.Modes {
		m.add("onsets_"+mode.Name, Whole, func(r *record.Replication) Cell { return whole(r.Onsets[i]) })
		m.add("present_"+mode.Name, Number, func(r *record.Replication) Cell { return number(r.Present[i]) })
		m.add("unseen_"+mode.Name, Number, func(r *record.Replication) Cell { return number(r.Unseen[i]) })
		m.add("lost_"+mode.Name+"_s", Number, func(r *record.Replication) Cell { return number(sum(r.LostSeconds[i])) })
	}
	return m.table("replications", set.Replications)
}

// lost sums the lost seconds of a replication that were stranded, or all others.
func lost(h *record.Header, r *record.Replication, was bool) (total float64) {
	for _, row := range r.LostSeconds {
		for p, v := range row {
			if (h.Phases[p] == stranded) == was {
				total += v
			}
		}
	}
	return total
}

// cutOff is the time during which groups of servers were cut off, summed over them, s.
func cutOff(r *record.Replication) (total float64) {
	for i := range r.Servers.Cutoffs {
		c := &r.Servers.Cutoffs[i]
		total += float64(float64(results.InWindow(r, c)) / 1e9 * float64(c.Groups))
	}
	return total
}

func sum(list []float64) (total float64) {
	for _, v := range list {
		total += v
	}
	return total
}
