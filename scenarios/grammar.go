package scenarios

import (
	"halflight/scenarios/law"
	"halflight/scenarios/outline"
)

// grammar is what --set must know of the language.
var grammar = outline.Grammar{
	Alternatives: [][]string{
		{"rfc8405", "doubling", "two_step"},
		law.Names,
		{"polling", "probes", "hosts", "drops", "optics", "complaints"},
		{"life", "episodes"}, {"request", "bulk", "collective"},
		{"median", "mean"}, {"mean", "scale"},
		{"in_a_row", "false_alarms"}, {"crew", "shifts"},
		{"changes", "period"}, {"changes", "off"},
		{"value", "low"}, {"value", "high"},
		{"at_most", "at_least"},
	},
	Lists: []string{"failures", "script", "telemetry", "applications", "objectives"},
}
