package setting

import "halflight/model/timer"

// notes are the sources of all defaults but those of timers, by key path; "*"
// stands for one key, and a note holds for all keys below it. Notes of a mode's
// rate are in the mode. Speeds and the mean load decide nothing as long as
// congestion is not simulated.
var notes = []timer.Note{
	{Path: "warm_up", Source: "long enough for repairs and back-off to be as they are in the long run; none with random: false", Grade: "CP"},
	{Path: "replications", Source: "fewest for a t interval worth printing; one with random: false", Grade: "CP"},
	{Path: "fabric.speed.*", Source: "assumed; decides nothing but load", Grade: "D", Wide: -1},
	{Path: "routers.spread", Source: "after the spread of table writes in RFC 5714 section 4, value from memory", Grade: "C", Range: "0 to 1"},
	{Path: "groups.power_domain.leaves", Source: "assumed: a domain is two racks", Grade: "D", Range: "1 to 25", Wide: 25},
	{Path: "groups.line_card.ports", Source: "assumed", Grade: "D", Range: "8 to 48", Wide: 6},
	{Path: "traffic.load", Source: "assumed", Grade: "D", Range: "0.1 to 0.8", Wide: -1},
	{Path: "traffic.busiest", Source: "assumed", Grade: "D", Range: "0.2 to 0.9", Wide: 4.5},
	{Path: "applications.*.request.packets", Source: "assumed", Grade: "D", Range: "2 to 100", Wide: 50},
	{Path: "applications.*.request", Source: "assumed", Grade: "D"},
	{Path: "telemetry.*.polling.every", Source: "common practice, no source", Grade: "CP", Range: "1 to 300 s", Wide: 300},
	{Path: "telemetry.*.polling.threshold", Source: "a link at the bit error ratio of IEEE 802.3 loses 1.2e-8", Grade: "B"},
	{Path: "telemetry.*.polling.in_a_row", Source: "common practice, no source", Grade: "CP"},
	{Path: "telemetry.*.polling.wrong_link", Source: "a counter belongs to its port", Grade: "B"},
	{Path: "telemetry.*.probes.rate", Source: "a probing system in a paper of SIGCOMM 2024", Grade: "B", Range: "0.1 to 100 a second", Wide: 1000},
	{Path: "telemetry.*.probes.time_out", Source: "a probing system in a paper of SIGCOMM 2024", Grade: "B"},
	{Path: "telemetry.*.probes.wrong_link", Source: "85 % of located faults correct in an audit (SIGCOMM 2024)", Grade: "B", Range: "0 to 30 %"},
	{Path: "telemetry.*.probes", Source: "sizes after Dong et al., NSDI 2025; the rest assumed", Grade: "B"},
	{Path: "telemetry.*.complaints.rate", Source: "no published law of complaints", Grade: "D", Range: "1/4h to 1/7d", Wide: 42},
	{Path: "telemetry.*.complaints", Source: "no published law of complaints", Grade: "D"},
	{Path: "operations.reaction", Source: "80 % of incidents fixed within 10 to 100 min (Govindan et al., SIGCOMM 2016), log-normal by arithmetic", Grade: "B", Range: "5 to 300 min", Wide: 60},
	{Path: "operations.floor", Source: "a floor is used in Zhuo et al., SIGCOMM 2017; value from memory", Grade: "C", Range: "0.5 to 0.9", Wide: 1.8},
	{Path: "operations.soak", Source: "assumed", Grade: "D"},
	{Path: "operations.crew", Source: "unlimited: watch the offered work", Grade: "CP"},
	{Path: "operations.first_repair", Source: "ratio in the abstract of Zhuo et al., SIGCOMM 2017; values from memory", Grade: "C", Range: "0.4 to 0.9", Wide: 2.25},
	{Path: "failures.*.repair", Source: "days for optics (arXiv 2305.13792), 1 to 6 h for routers (Dean, 2009); the split into waiting and work assumed", Grade: "D", Range: "4 to 72 h"},
	{Path: "failures.*.frailty", Source: "few links have most failures (Markopoulou et al., INFOCOM 2004), value from memory", Grade: "C", Range: "0 to 1.5"},
	{Path: "failures.*.one_way", Source: "Zhuo et al., SIGCOMM 2017, from memory", Grade: "C", Range: "0.8 to 1"},
	{Path: "failures.*.loss", Source: "table of Zhuo et al., SIGCOMM 2017, or 1 to 2 % in Guo et al., SIGCOMM 2015; both from memory", Grade: "C"},
	{Path: "failures.*.share", Source: "assumed; kinds of hole, and of entries that are wrong in the hardware, from Guo et al., SIGCOMM 2015", Grade: "D"},
	{Path: "failures.*.above", Source: "loss above 1 kB in Dong et al., NSDI 2025", Grade: "B"},
	{Path: "failures.*.flaps", Source: "assumed", Grade: "D", Range: "1 to 50"},
	{Path: "failures.*.down", Source: "seconds for a flap (Jiang et al., NSDI 2024), minutes for a reload (Dean, 2009)", Grade: "B", Range: "0.5 to 10 s; 1 to 30 min"},
	{Path: "failures.*.plane", Source: "RFC 8706 and RFC 3277 tell forwarding from control; which of the two hangs is assumed", Grade: "D"},
	{Path: "failures.*.kept", Source: "a restart that keeps its tables is RFC 8706; without is a cold start", Grade: "A"},
	{Path: "failures.*.factor", Source: "assumed; how slow a busy control plane is has not been published", Grade: "D", Range: "2 to 100", Wide: 50},
	{Path: "failures.*.lasts", Source: "80 % of incidents fixed within 10 to 100 min (Govindan et al., SIGCOMM 2016), log-normal by arithmetic", Grade: "B", Range: "5 to 300 min", Wide: 60},
	{Path: "failures.*.gap", Source: "assumed", Grade: "D"},
}
