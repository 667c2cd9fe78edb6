package page

import (
	"strings"

	"halflight/results"
)

// group is a block of the table.
type group struct {
	title string
	// rows picks measures: each entry is a list of patterns whose measures come in
	// the order of the summary. A * stands for any one word.
	rows []string
	// sparse leaves out what was not seen and names it below the table.
	sparse bool
}

// groups are in the order of reading: what was felt first.
var groups = []group{
	{title: "Application-visible loss", rows: []string{
		"app.*.slow_share app.*.slow_share.worst_leaf app.*.budget_burn app.*.degraded_leaf_hours app.*.burn.*.above app.*.burn.*.max app.*.delay.mean app.*.delay.p99",
		"lost_seconds.avoidable lost_seconds.stranded lost_seconds.external", "stalls stalls_lost", "servers.* access.lost overlay.resets",
	}},
	{title: "Convergence delay, in quiet and in noise", rows: []string{"full_convergence.quiet.*", "full_convergence.noise.*"}},
	{title: "Back-off: how far it is wound up, and the wait", rows: []string{
		"backoff.*",
		"wait_now.mean wait_now.p95 wait_now.p99 wait_now.leaf.mean",
		"penalty_now.mean penalty_now.p95 penalty_now.p99",
		"spf_wait.median spf_wait.p99",
	}},
	{title: "What breaks, and what it takes with it", sparse: true, rows: []string{
		"faults.* external_faults", "lost_seconds.kind.*", "lost_seconds.phase.*", "route_loss.median route_loss.p99 route_loss.max",
		"blast.pairs.median blast.pairs.max blast.routers.median blast.routers.max",
	}},
	{title: "Gray faults: present, unseen, how long", sparse: true, rows: []string{
		"present.*", "unseen.*", "unnoticed.median unnoticed.p95", "mitigation.median mitigation.p95",
	}},
	{title: "Control-plane load", rows: []string{"spf_runs", "busy.worst10s"}},
	{title: "Operations", sparse: true, rows: []string{"tickets", "repeat_tickets", "averted", "sightings.*", "false_alarms.*", "false_drains", "capacity.worst", "load.worst load.over", "load.hottest",
		"technicians.offered"}},
	{title: "Planned work", rows: []string{"upgrades.*", "upgrades.*.*", "changes"}},
	{title: "Money", rows: []string{"cost.*"}},
}

// pick returns the measures of a group and, of a sparse one, those of which
// nothing was seen.
func (g *group) pick(s *results.Summary) (shown, none []*results.Measure) {
	for _, patterns := range g.rows {
		for i := range s.Measures {
			m := &s.Measures[i]
			switch {
			case !anyMatch(patterns, m.Name) || soundOnly(s, m.Name):
			case !m.Available() && results.Matches("app.*.burn.*.*", m.Name): // a window longer than what was measured
			case g.sparse && m.Available() && m.Estimate.Value == 0 && m.Events <= 0 && m.Name != "capacity.worst": // of which 0 is the worst
				none = append(none, m)
			default:
				shown = append(shown, m)
			}
		}
	}
	return shown, none
}

// soundOnly reports whether a measure tells of a mode's presence that is no gray
// one: routers see those by themselves.
func soundOnly(s *results.Summary, name string) bool {
	mode, ok := strings.CutPrefix(name, "present.")
	if !ok {
		mode, ok = strings.CutPrefix(name, "unseen.")
	}
	if !ok {
		return false
	}
	for _, m := range s.Modes {
		if m.Name == mode {
			return !m.Gray
		}
	}
	return false
}

func anyMatch(patterns, name string) bool {
	for _, p := range strings.Fields(patterns) {
		if results.Matches(p, name) {
			return true
		}
	}
	return false
}
