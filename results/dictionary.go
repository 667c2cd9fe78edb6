package results

import (
	"strings"

	"halflight/results/unit"
)

// Entry explains a family of measures.
type Entry struct {
	// Pattern is the name with <class>, <mode>, <kind>, <phase>, <state>, <instrument>, <item> and
	// <quantile> for the words of the scenario; <quantile> is median, p95, p99 or
	// max (largest seen, without interval).
	Pattern string
	Unit    string
	Meaning string
}

// dictionary is in the order of a summary.
var dictionary = []Entry{
	{"app.<class>.slow_share", unit.One, "units of work of the class that were slow, of all units; those of leaves that are dead are not there. With `traffic.external` there are as many between two leaves as they have traffic, and those from and to outside are among them"},
	{"app.<class>.slow_share.worst_leaf", unit.One, "the same at the leaf that had it worst"},
	{"app.<class>.slow_share.p99_leaf", unit.One, "the same at the leaf than which 99 % of the leaves do better"},
	{"app.<class>.budget_burn", unit.One, "slow share over the error budget of the class: 1 uses up each month what a month allows"},
	{"app.<class>.degraded_leaf_hours", unit.HPerMonth, "hours in which a leaf's slow share was above the budget, summed over leaves, borders included; what lies outside is none"},
	{"app.<class>.burn.<window>.above", unit.HPerMonth, "hours at whose end the mean slow share of a window, over the error budget, was at least the rate that is too much (`burn` of the class); of windows that lie wholly in what was measured, so that of 90 d the first 3 d have none of 3 d and 696 h a month are the most there can be"},
	{"app.<class>.burn.<window>.max", unit.One, "largest such rate of any window; largest seen"},
	{"app.<class>.burn.<window>.leaf.above", unit.HPerMonth, "the same hours at a leaf, summed over leaves"},
	{"app.<class>.burn.<window>.leaf.max", unit.One, "largest rate of any window at any leaf; largest seen"},
	{"app.<class>.late.<delay>", unit.One, "units of work that were late by so much or more, of all units (`time_outs` of the class)"},
	{"app.<class>.delay.mean", unit.Seconds, "mean delay of a unit that was late; what is later than the last time-out followed counts as that"},
	{"app.<class>.delay.<quantile>", unit.Seconds, "its quantiles over late units, as whole numbers of time-outs"},
	{"lost_seconds.avoidable", unit.SPerMonth, "integral over time of the lost share of all traffic, less what had no path"},
	{"lost_seconds.stranded", unit.SPerMonth, "the same, of what had no path left"},
	{"lost_seconds.external", unit.SPerMonth, "of traffic from or to outside, avoidable or not: integral of its lost share"},
	{"lost_seconds.kind.<kind>", unit.SPerMonth, "lost seconds, avoidable or not, charged to faults of a kind"},
	{"lost_seconds.phase.<phase>", unit.SPerMonth, "lost seconds charged to a phase of a fault; stranded is one"},
	{"full_convergence.<quantile>", unit.Seconds, "Full Convergence Time (RFC 6412) of a cut: a hard fault or a restart, over cuts; what stays stranded when all has converged does not count"},
	{"full_convergence.quiet.<quantile>", unit.Seconds, "the same, of cuts that began while every live router was in its first back-off state"},
	{"full_convergence.noise.<quantile>", unit.Seconds, "the same, of cuts that began while one was not, the same part's doing in the last 10 min left out"},
	{"full_convergence.kind.<kind>.<quantile>", unit.Seconds, "the same, of faults of a kind; an episode of flapping converges as long as it lasts"},
	{"wait_now.mean", unit.Seconds, "SPF wait that an IGP event arriving at a random moment at a random router would meet"},
	{"wait_now.<quantile>", unit.Seconds, "its quantiles over routers and time"},
	{"wait_now.leaf.mean", unit.Seconds, "the same over leaves only"},
	{"wait_now.leaf.<quantile>", unit.Seconds, "its quantiles"},
	{"penalty_now.mean", unit.Seconds, "that wait less the wait of timers at rest, at least 0"},
	{"penalty_now.<quantile>", unit.Seconds, "its quantiles over routers and time"},
	{"penalty_now.leaf.mean", unit.Seconds, "the same over leaves only"},
	{"penalty_now.leaf.<quantile>", unit.Seconds, "its quantiles"},
	{"route_loss.<quantile>", unit.Seconds, "Route Loss of Connectivity Period (RFC 6412): longest time that a fault left some flow without any delivery though a path was there"},
	{"spf_wait.<quantile>", unit.Seconds, "longest wait at a router from a fault's first IGP event to the run that answers it; drains that took no traffic are left out"},
	{"backoff.<state>", unit.Share, "of router time in a state of the SPF back-off"},
	{"faults.<mode>", unit.PerMonth, "onsets of faults of a mode"},
	{"external_faults", unit.PerMonth, "faults that took traffic from or to outside"},
	{"present.<mode>", unit.One, "mean number of faults of a mode present at a time"},
	{"unseen.<mode>", unit.One, "mean number of them that no instrument has sighted yet"},
	{"unnoticed.<quantile>", unit.Seconds, "gray faults: onset to first sighting, of those sighted"},
	{"mitigation.<quantile>", unit.Seconds, "gray faults: onset to out of use, of those put out of use"},
	{"blast.pairs.<quantile>", unit.Share, "ordered pairs of leaves that a fault took traffic from, each once; over faults but for drains that took none"},
	{"blast.routers.<quantile>", unit.Share, "routers that ran SPF because of a fault, over the same faults"},
	{"spf_runs", unit.PerRouterH, "SPF runs"},
	{"busy.worst10s", unit.Share, "largest share of any 10 s that one router computed or wrote tables; largest seen"},
	{"stalls", unit.PerMonth, "leaves dark, dead or without a link that is alive, for more than 9 s: synchronous jobs of servers on that leaf alone stand still"},
	{"stalls_lost", unit.PerMonth, "of them, for more than 2 min: such jobs are lost"},
	{"servers.cut_off", unit.Share, "of the time of all groups of servers, with `homing`: none of their attachments was in use, worked and had an uplink"},
	{"servers.stalls", unit.PerMonth, "times for more than 9 s, each group by itself: synchronous jobs on it stand still"},
	{"servers.stalls_lost", unit.PerMonth, "of them, for more than 2 min: such jobs are lost"},
	{"access.lost", unit.Share, "of the access links, with `homing`, and of time: cut, or at a leaf that is dead or took them down"},
	{"overlay.resets", unit.PerMonth, "overlay sessions between two leaves that dropped, with `homing`: nothing passed for the hold time"},
	{"tickets", unit.PerMonth, "tickets about faults, come or seen coming"},
	{"repeat_tickets", unit.Share, "of them, about a part that had one in the 90 d before"},
	{"averted", unit.PerMonth, "faults that were repaired before they came"},
	{"sightings.<instrument>", unit.PerMonth, "sightings of faults by an instrument, its wrong ones included"},
	{"false_alarms.<instrument>", unit.PerMonth, "alarms of an instrument about nothing"},
	{"false_drains", unit.PerMonth, "drains of what was sound"},
	{"capacity.worst", unit.Share, "uplink share left at the leaf and moment that had least, 0 where a leaf that is not out had no link that was up; least seen"},
	{"load.worst", unit.Share, "how full the fullest link would be if the busiest hour met the leaf with the least uplink share left but none, or servers that lost one of two access links; with `traffic.congestion`, how full the fullest direction between routers was after faults and drains, largest seen: what is left to 1 is headroom"},
	{"load.over", unit.Share, "of time in which some direction was asked for more than it carries (`traffic.congestion`)"},
	{"load.hottest", unit.Share, "share of all demand that the busiest router carries at rest"},
	{"technicians.offered", unit.One, "mean number of technicians with hands on a fault"},
	{"visits", unit.PerMonth, "times that a technician began to work"},
	{"upgrades.boxes", unit.PerMonth, "boxes upgraded, if there are upgrades"},
	{"upgrades.left", unit.One, "boxes of the last campaign that were still to be upgraded at the end"},
	{"upgrades.nights", unit.One, "days, or windows over midnight, in which a box was begun, of a campaign"},
	{"upgrades.exposure", unit.HPerMonth, "hours with a box out for an upgrade, from drain to return"},
	{"upgrades.capacity.worst", unit.Share, "uplink share left meanwhile at the leaf and moment that had least, 0 where a leaf that is not out had no link that was up; least seen"},
	{"changes", unit.PerMonth, "changes of configuration, if there are any, with and without a mistake; `faults.change` are those with one"},
	{"cost.<item>", unit.PerYear, "what `costs` prices: degraded leaf-hours of a class (`cost.degraded-<class>`), instruments, technicians, spares, ports, access (ports of links to servers), total"},
}

// Dictionary lists all families of measures in the order of a summary.
func Dictionary() []Entry { return append([]Entry(nil), dictionary...) }

// Explain returns the entry of a measure's name.
func Explain(name string) (Entry, bool) {
	for _, e := range dictionary {
		if Matches(e.Pattern, name) {
			return e, true
		}
	}
	return Entry{}, false
}

// Matches says whether a measure's name has a pattern, word by word: <quantile> is
// one of the four, * or any other placeholder is any word.
func Matches(pattern, name string) bool {
	p, n := strings.Split(pattern, "."), strings.Split(name, ".")
	if len(p) != len(n) {
		return false
	}
	for i, word := range p {
		switch {
		case word == "<quantile>":
			if !isQuantile(n[i]) {
				return false
			}
		case word == "*" || strings.HasPrefix(word, "<"):
		case word != n[i]:
			return false
		}
	}
	return true
}

func isQuantile(word string) bool {
	for _, q := range quantiles {
		if q.name == word {
			return true
		}
	}
	return word == "max"
}

// quantiles are those of every distribution; max comes after them.
var quantiles = []struct {
	name string
	at   float64
}{{"median", 0.5}, {"p95", 0.95}, {"p99", 0.99}}

// PhaseWords says in words what each phase means.
var PhaseWords = map[string]string{
	"unnoticed": "nobody knows yet", "noticed": "known, still in use", "detection": "routers have not noticed", "lsp_wait": "the LSP waits to be sent",
	"flooding": "the LSP is on its way", "spf_wait": "SPF waits, as timers at rest would", "penalty": "timers wait beyond that: the price of noise",
	"spf_run": "SPF runs", "fib_update": "tables are written, or a local prune is waited for", "loop": "packets go round", "congestion": "links are full", "overlay": "servers or leaves still use what does not work, or not yet what does",
	"maintenance": "drains", "stranded": "no path is left",
}
