package timer

// Note says where a default comes from. Grades: A confirmed in a primary
// source, B in a secondary one or by arithmetic, C from memory, D an
// engineering assumption; CP is common practice without a source.
type Note struct {
	Path   string // key path of the setting in a scenario
	Source string
	Grade  string
	Range  string // to vary it in; empty when there is nothing to vary
	// Wide is how many times the range's high end is its low end, or the value
	// itself where the range begins at 0; 0 where it is not known, below 0 where
	// it decides nothing in this version.
	Wide float64
}

const (
	us = 1e3
	ms = 1e6
	s  = 1e9
)

// Default returns the timers of a router that nobody has tuned. SPFRun depends
// on the fabric and is SPFRun(routers, links). Without chance there is no
// jitter.
func Default(spfRun int64, random bool) Set {
	set := Set{
		SPF:           DefaultSPF(RFC8405),
		LSPGeneration: Doubling{First: 50 * ms, Incremental: 100 * ms, Maximum: 2 * s, Wait: 4 * s},
		SPFRun:        spfRun,
		Signal:        10 * ms,
		Settle:        2 * s,
		BFD:           true, BFDInterval: 100 * ms, BFDMultiplier: 3,
		Hello: true, HelloInterval: 10 * s, HelloMultiplier: 3,
		Damping: Damping{Increment: 1000, CutOff: 6000, Reuse: 750, HalfLife: 900 * s, Hold: 3600 * s},
		PerHop:  2 * ms, Exchange: 100 * us,
		Redraw:          s,
		Window:          Window{Burst: 10, Interval: 33 * ms, Receive: 60, PerAck: 15, AckDelay: 200 * ms},
		SecondLSPCounts: true,
		FIBBase:         5 * ms, FIBPerPrefix: 100 * us,
		Prefixes: 1, Entries: 1, OrderHold: 200 * ms, OrderStep: 500 * ms,
		LocalPrune: true, PruneDelay: 5 * ms,
		OverloadLeaves: true, UntilReady: true,
		Grace: 60 * s,
	}
	if random {
		set.BFDJitter, set.HelloJitter = 0.25, 0.25
	}
	return set
}

// DefaultSPF returns the default parameters of a back-off family.
func DefaultSPF(f Family) SPF {
	switch f {
	case RFC8405:
		return SPF{Family: f, Initial: 50 * ms, Short: 200 * ms, Long: 5 * s, TimeToLearn: 500 * ms, Holddown: 10 * s}
	case TwoStep:
		return SPF{Family: f, Rapid: 50 * ms, RapidRuns: 3, Slow: 5 * s, Wait: 10 * s}
	}
	return SPF{Family: f, First: 50 * ms, Incremental: 200 * ms, Maximum: 5 * s, Wait: 10 * s}
}

// SPFRun returns how long an SPF run lasts: 0.5 ms and 0.2 us for each
// direction of a link and for each of N log2 N steps of the queue, to 0.1 ms.
func SPFRun(routers, links int) int64 {
	steps := 2*float64(links) + float64(float64(routers)*log2(routers))
	tenths := int64((float64(500*us)+float64(200*steps))/(100*us) + 0.5)
	return tenths * 100 * us
}

// log2 returns the logarithm by halving, the same on every processor, to 1e-9.
func log2(n int) float64 {
	x, whole := float64(n), 0.0
	for x >= 2 {
		x, whole = x/2, whole+1
	}
	for bit := 0.5; bit > 1e-9; bit /= 2 {
		if x = float64(x * x); x >= 2 {
			x, whole = x/2, whole+bit
		}
	}
	return whole
}

// Notes are the sources of Default and DefaultSPF, by key path.
var Notes = []Note{
	{"timers.spf.rfc8405.initial_delay", "RFC 8405 section 6, default", "A", "0 to 6 s", 0},
	{"timers.spf.rfc8405.short_delay", "RFC 8405 section 6, default", "A", "0 to 6 s", 0},
	{"timers.spf.rfc8405.long_delay", "RFC 8405 section 6, default", "A", "0 to 6 s", 0},
	{"timers.spf.rfc8405.time_to_learn", "RFC 8405 section 6, default", "A", "", 0},
	{"timers.spf.rfc8405.holddown", "RFC 8405 section 6, default", "A", "", 0},
	{"timers.spf.doubling.form", "form of RFC 8541 section 4.2", "A", "", 0},
	{"timers.spf.doubling.first_delay", "as RFC 8405's initial delay", "D", "0 to 1 s", 20},
	{"timers.spf.doubling.incremental_delay", "as RFC 8405's short delay", "D", "50 ms to 1 s", 20},
	{"timers.spf.doubling.maximum_delay", "as RFC 8405's long delay", "D", "1 to 10 s", 10},
	{"timers.spf.doubling.wait_time", "twice the maximum delay: common practice, no source", "CP", "", 0},
	{"timers.spf.two_step.rapid_delay", "as RFC 8405's initial delay", "D", "0 to 1 s", 20},
	{"timers.spf.two_step.rapid_runs", "as the example of RFC 8541 section 5", "B", "1 to 10", 0},
	{"timers.spf.two_step.slow_delay", "as RFC 8405's long delay", "D", "1 to 10 s", 10},
	{"timers.spf.two_step.wait_time", "twice the slow delay: common practice, no source", "CP", "", 0},
	{"timers.mixed.*.spf.rfc8405", "RFC 8405 section 6, default", "A", "", 0},
	{"timers.mixed.*.spf", "as timers.spf", "D", "", 0},
	{"timers.lsp_generation.first_delay", "example of a routing guide; form of RFC 8541 section 4.2", "B", "0 to 1 s", 0},
	{"timers.lsp_generation.incremental_delay", "example of a routing guide; form of RFC 8541 section 4.2", "B", "20 ms to 1 s", 0},
	{"timers.lsp_generation.maximum_delay", "example of a routing guide; form of RFC 8541 section 4.2", "B", "1 to 30 s", 0},
	{"timers.lsp_generation.wait_time", "twice the maximum delay: common practice, no source", "CP", "", 0},
	{"timers.spf_run", "0.5 ms + 0.2 us x (directions + N log2 N), assumed, so the range is in proportion; RFC 5714 section 4 says a few ms", "D", "x 0.1 to x 10", 100},
	{"detection.signal", "RFC 5714 section 4: a few ms at the physical layer, and debouncing", "A/D", "5 to 200 ms", 40},
	{"detection.settle", "no source; the strongest single knob on flaps", "D", "0 to 60 s", 30},
	{"detection.bfd.interval", "among the intervals of RFC 7419 section 3", "A/CP", "10 ms to 1 s", 0},
	{"detection.bfd.multiplier", "common practice, no source", "CP", "", 0},
	{"detection.hello.jitter", "RFC 1142 section 10.1: up to a quarter; none with random: false", "A", "", 0},
	{"detection.bfd.jitter", "RFC 5880 section 6.8.7: up to a quarter; none with random: false", "A", "", 0},
	{"detection.hello.interval", "common practice, no source", "CP", "1 to 10 s", 0},
	{"detection.hello.multiplier", "common practice, no source", "CP", "", 0},
	{"detection.bfd.receive", "as the interval; RFC 5880 section 6.8.1", "A", "", 0},
	{"detection.bfd.at.*.interval", "given", "A", "", 0},
	{"detection.bfd.at.*.receive", "given", "A", "", 0},
	{"detection.bfd.at.*.multiplier", "given", "A", "", 0},
	{"detection.hello.three_way", "RFC 5303 section 3; off: each end judges by what it hears", "A", "", 0},
	{"detection.damping", "off: RFC 7938 section 7.3 advises against it in such a fabric", "A", "", 0},
	{"detection.damping.increment", "RFC 7196 table 1", "A", "", 0},
	{"detection.damping.cut_off", "RFC 7196 section 6: at least 6,000", "A", "2,000 to 12,000", 0},
	{"detection.damping.reuse", "RFC 7196 table 1", "A", "", 0},
	{"detection.damping.half_life", "RFC 7196 table 1", "A", "", 0},
	{"detection.damping.hold", "RFC 7196 table 1", "A", "", 0},
	{"flooding.per_hop", "RFC 5714 section 4 gives 10 to 100 ms as upper bound; fast implementations assumed", "A/D", "1 to 100 ms", 100},
	{"flooding.exchange", "between the intervals of RFC 9681 and none", "A/D", "0.03 to 33 ms", 1100},
	{"flooding.pacing", "off: fast flooding as RFC 9681 allows", "A", "", 0},
	{"flooding.reduced.degree", "RFC 9667 wants a topology that survives one failure: two", "A", "1 to 4", 0},
	{"flooding.reduced.redraw", "assumed: an SPF run of the area leader and the flooding of its choice", "D", "0.1 to 10 s", 100},
	{"flooding.reduced", "off: every link floods, as in ISO/IEC 10589", "A", "", 0},
	{"flooding.window", "off: flooding.exchange stands for it", "D", "", 0},
	{"flooding.window.burst", "example of RFC 9681 section 6.2.4.1", "A", "5 to 20", 0},
	{"flooding.window.interval", "ISO/IEC 10589, from RFC 9681 section 3", "A", "1 to 33 ms", 0},
	{"flooding.window.receive", "example of RFC 9681 section 6.2.4.1", "A", "30 to 200", 0},
	{"flooding.window.per_ack", "example of RFC 9681 section 6.2.4.1", "A", "5 to 90", 0},
	{"flooding.window.ack_delay", "RFC 9681 sections 5.1 and 6.2.4.1", "A", "50 to 500 ms", 0},
	{"flooding.lossy", "off: in a Clos every router hears an LSP over many links (by arithmetic)", "B", "", 0},
	{"flooding.second_lsp_counts", "every changed LSP is an IGP event in RFC 8405", "A", "", 0},
	{"fib.base", "RFC 5714 section 4: the largest and most variable step", "C", "1 to 100 ms", 100},
	{"fib.per_prefix", "Francois et al., CCR 35(3) 2005, from memory", "C", "10 us to 1 ms", 100},
	{"fib.local_prune", "common practice, no source", "CP", "", 0},
	{"underlay.reboots.rate", "assumed: one a month", "D", "", 0},
	{"underlay.reboots.away", "as a router's reload", "D", "1 to 30 min", 30},
	{"underlay.flaps.rate", "assumed", "D", "", 0},
	{"underlay.flaps.away", "as a flap of an optic", "D", "0.5 to 10 s", 20},
	{"underlay", "hosts are no routers: common practice, no source", "CP", "", 0},
	{"fib.prefixes", "one for all servers of a leaf, and one of each host that is a router: common practice, no source", "CP", "1 to 100", 0},
	{"fib.families", "one family of prefixes: assumed", "D", "1 or 2", 2},
	{"fib.labels", "plain IP forwarding: common practice, no source", "CP", "0 to 2", 0},
	{"fib.shared_groups", "off: each entry is written by itself, as RFC 5714 section 4 reckons", "B", "", 0},
	{"fib.repair_tunnel", "off: common practice, no source; form of RFC 5714 section 3", "CP", "", 0},
	{"fib.local_delay", "off: an option of RFC 8333", "A", "0 to 10 s", 0},
	{"fib.ordered", "off: an option of RFC 6976", "A", "", 0},
	{"fib.ordered.hold", "time for all LSPs of a failure to come (RFC 6976); value assumed", "D", "0 to 1 s", 0},
	{"fib.ordered.step", "time in which the slowest router writes (RFC 6976); value from memory", "C", "10 ms to 2 s", 0},
	{"fib.prune_delay", "as fib.base", "C", "1 to 100 ms", 100},
	{"overload.leaves", "valley-free routing: common practice, no source", "CP", "", 0},
	{"overload.until_ready", "common practice, no source", "CP", "", 0},
	{"restart.grace", "between the timers of RFC 8706; for restarts that keep their tables", "D", "10 to 180 s", -1},
}
