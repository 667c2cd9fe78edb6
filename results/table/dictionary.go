package table

import "strings"

// Entry explains a column, or a family of columns.
type Entry struct {
	Table string // faults or replications
	// Pattern is the name, with <phase>, <mode>, <class> and <state> for the words
	// of the scenario.
	Pattern string
	Unit    string // 1: a pure number
	Meaning string
}

var dictionary = []Entry{
	{"faults", "replication", "", "number of the replication, from 0"},
	{"faults", "fault", "", "number of the fault in its replication, as `trace --fault` takes it; drains that took no traffic have no row"},
	{"faults", "mode", "", "name of the mode of failure in the scenario; `drain`, `script`, `upgrade` and `change` have no mode"},
	{"faults", "kind", "", "hard, lossy, silent, blackhole, oversize, flapping, restart, drain, script, upgrade or change"},
	{"faults", "gray", "", "packets can be dropped without the routers noticing: true or false"},
	{"faults", "on", "", "the part or group that failed"},
	{"faults", "onset_s", "s", "when it began, since the end of the warm-up"},
	{"faults", "end_s", "s", "when it was repaired, since the end of the warm-up; none: still there at the horizon"},
	{"faults", "background", "", "routers at onset: quiet, noise, or same (noise of the same part's own making)"},
	{"faults", "full_convergence_s", "s", "Full Convergence Time (RFC 6412); none where it has no meaning"},
	{"faults", "repair_convergence_s", "s", "the same, from the repair on"},
	{"faults", "spf_wait_s", "s", "longest wait at a router from the first IGP event to the run that answers it"},
	{"faults", "route_loss_s", "s", "Route Loss of Connectivity Period (RFC 6412) of the flow that had it longest"},
	{"faults", "sighted_s", "s", "from onset to the first sighting; none: never"},
	{"faults", "mitigated_s", "s", "from onset to out of use; none: never"},
	{"faults", "sighted_by", "", "the instrument that sighted it first"},
	{"faults", "pairs", "1", "ordered pairs of leaves that lost traffic, each once"},
	{"faults", "routers", "1", "routers that ran SPF because of it, each once"},
	{"faults", "external", "", "some of the lost traffic was from or to outside: true or false; only with traffic.external"},
	{"faults", "lost_s", "s", "lost seconds: integral over time of the lost share of all traffic"},
	{"faults", "lost_<phase>_s", "s", "of them charged to a phase; the phases sum to `lost_s`"},

	{"replications", "replication", "", "its number, from 0"},
	{"replications", "measured_s", "s", "length of the measured window"},
	{"replications", "lost_avoidable_s", "s", "lost seconds of the window that had a path left"},
	{"replications", "lost_stranded_s", "s", "those that had none"},
	{"replications", "lost_external_s", "s", "lost seconds of traffic from or to outside, in seconds of all of it; only with traffic.external"},
	{"replications", "app_<class>_slow_share", "1", "units of work of the class that were slow, of all units"},
	{"replications", "app_<class>_worst_leaf", "1", "the same at the leaf that had it worst"},
	{"replications", "app_<class>_p99_leaf", "1", "the same at the leaf than which 99 % of the leaves do better"},
	{"replications", "app_<class>_degraded_leaf_h", "h", "hours in which a leaf's slow share was above the budget, summed over leaves"},
	{"replications", "app_<class>_burn_<window>_most", "1", "largest burn rate of the error budget in a window, of all units; none: the window is longer than what was measured"},
	{"replications", "app_<class>_burn_<window>_most_leaf", "1", "the same at any leaf"},
	{"replications", "app_<class>_burn_<window>_leaf_above_h", "h", "time for which the rate of a leaf was too much, summed over leaves"},
	{"replications", "app_<class>_burn_<window>_above_h", "h", "the same of the rate of all units"},
	{"replications", "app_<class>_late_<delay>", "1", "units of work that were late by so much or more, of all units"},
	{"replications", "router_time_h", "h", "time that routers were alive, summed over routers"},
	{"replications", "backoff_<state>", "share", "of it in a state of the SPF back-off"},
	{"replications", "wait_mean_s", "s", "mean SPF wait that an IGP event would meet at a random router at a random moment"},
	{"replications", "leaf_wait_mean_s", "s", "the same over leaves only"},
	{"replications", "rest_wait_s", "s", "the wait of timers at rest"},
	{"replications", "spf_runs", "1", "SPF runs of all routers"},
	{"replications", "originations", "1", "LSPs originated"},
	{"replications", "sightings", "1", "sightings by instruments, right or wrong"},
	{"replications", "drains", "1", "links and routers that were drained"},
	{"replications", "false_drains", "1", "of them sound"},
	{"replications", "refused", "1", "drains that the floor or the last path forbade"},
	{"replications", "stalls", "1", "leaves dark for more than 9 s"},
	{"replications", "stalls_lost", "1", "of them, for more than 2 min"},
	{"replications", "tickets", "1", "tickets about faults, come or seen coming"},
	{"replications", "repeats", "1", "of them, about a part that had one in the 90 d before"},
	{"replications", "visits", "1", "times that a technician began to work"},
	{"replications", "repairs", "1", "repairs that mended something"},
	{"replications", "replaced", "1", "parts given up and replaced whole"},
	{"replications", "averted", "1", "faults that were repaired before they came"},
	{"replications", "sightings_<instrument>", "1", "sightings of faults by an instrument"},
	{"replications", "false_alarms_<instrument>", "1", "alarms of an instrument about nothing"},
	{"replications", "busy_worst10s", "share", "largest share of any 10 s that one router computed or wrote tables"},
	{"replications", "hands_on", "1", "mean number of technicians with hands on a fault"},
	{"replications", "capacity_worst", "share", "least uplink share left at any leaf"},
	{"replications", "upgraded", "1", "boxes upgraded, if there are upgrades"},
	{"replications", "upgrades_left", "1", "boxes of the last campaign still to be upgraded at the end"},
	{"replications", "campaigns", "1", "rounds of upgrades begun"},
	{"replications", "campaigns_skipped", "1", "rounds due while another was under way"},
	{"replications", "nights", "1", "days, or windows over midnight, in which a box was begun, summed over campaigns"},
	{"replications", "exposure_s", "s", "time with a box out for an upgrade"},
	{"replications", "capacity_exposed", "share", "least uplink share left at any leaf meanwhile"},
	{"replications", "changes", "1", "changes of configuration, if there are any"},
	{"replications", "servers_cut_off_s", "s", "with `homing`: time that groups of servers were cut off, summed over them"},
	{"replications", "access_lost", "1", "with `homing`: mean number of access links that did not work"},
	{"replications", "overlay_resets", "1", "with `homing`: overlay sessions that dropped"},
	{"replications", "load_worst", "share", "how full the fullest direction was; none without `traffic.congestion`"},
	{"replications", "load_over", "share", "of time in which some direction was asked for more than it carries; none without `traffic.congestion`"},
	{"replications", "onsets_<mode>", "1", "faults of the mode that began in the window"},
	{"replications", "present_<mode>", "1", "mean number of them present"},
	{"replications", "unseen_<mode>", "1", "mean number of them not yet sighted"},
	{"replications", "lost_<mode>_s", "s", "lost seconds charged to the mode, those of faults from before the window too"},
}

// Dictionary lists the columns of both tables, in their order.
func Dictionary() []Entry { return append([]Entry(nil), dictionary...) }

// Explain returns the entry of a column of a table.
func Explain(table, column string) (Entry, bool) {
	for _, e := range dictionary {
		if e.Table == table && fits(e.Pattern, column) {
			return e, true
		}
	}
	return Entry{}, false
}

// fits says whether a column's name has a pattern; each <...> is one letter or more.
func fits(pattern, name string) bool {
	before, rest, wild := strings.Cut(pattern, "<")
	if !wild {
		return pattern == name
	}
	if !strings.HasPrefix(name, before) {
		return false
	}
	_, after, _ := strings.Cut(rest, ">")
	for i := len(before) + 1; i <= len(name); i++ {
		if fits(after, name[i:]) {
			return true
		}
	}
	return false
}
