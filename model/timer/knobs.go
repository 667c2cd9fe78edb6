package timer

// Knob is a timer that may be searched.
type Knob struct {
	Path        string // key path in a scenario
	Floor, Most int64  // ns; a search goes no lower and no higher unless asked to
	of          func(*Set) *int64
}

// Value returns the knob of a set, ns.
func (k *Knob) Value(t *Set) int64 { return *k.of(t) }

// Turn sets the knob of a set.
func (k *Knob) Turn(t *Set, ns int64) { *k.of(t) = ns }

// Knobs are the timers of a set that may be searched: back-off of SPF and of LSP
// generation, settle time, and the interval of BFD where that is on. Floors and
// ceilings are common practice without a source, but for BFD: its floor is among
// the intervals of RFC 7419 section 3, and software cannot always keep faster
// ones.
func Knobs(t *Set) []Knob {
	var list []Knob
	switch t.SPF.Family {
	case RFC8405:
		list = []Knob{
			{"timers.spf.rfc8405.initial_delay", 10 * ms, 1 * s, func(t *Set) *int64 { return &t.SPF.Initial }},
			{"timers.spf.rfc8405.short_delay", 20 * ms, 2 * s, func(t *Set) *int64 { return &t.SPF.Short }},
			{"timers.spf.rfc8405.long_delay", 200 * ms, 10 * s, func(t *Set) *int64 { return &t.SPF.Long }},
			{"timers.spf.rfc8405.time_to_learn", 100 * ms, 5 * s, func(t *Set) *int64 { return &t.SPF.TimeToLearn }},
			{"timers.spf.rfc8405.holddown", 1 * s, 60 * s, func(t *Set) *int64 { return &t.SPF.Holddown }},
		}
	case TwoStep:
		list = []Knob{
			{"timers.spf.two_step.rapid_delay", 10 * ms, 1 * s, func(t *Set) *int64 { return &t.SPF.Rapid }},
			{"timers.spf.two_step.slow_delay", 200 * ms, 10 * s, func(t *Set) *int64 { return &t.SPF.Slow }},
			{"timers.spf.two_step.wait_time", 1 * s, 60 * s, func(t *Set) *int64 { return &t.SPF.Wait }},
		}
	default:
		list = []Knob{
			{"timers.spf.doubling.first_delay", 10 * ms, 1 * s, func(t *Set) *int64 { return &t.SPF.First }},
			{"timers.spf.doubling.incremental_delay", 20 * ms, 2 * s, func(t *Set) *int64 { return &t.SPF.Incremental }},
			{"timers.spf.doubling.maximum_delay", 200 * ms, 10 * s, func(t *Set) *int64 { return &t.SPF.Maximum }},
			{"timers.spf.doubling.wait_time", 1 * s, 60 * s, func(t *Set) *int64 { return &t.SPF.Wait }},
		}
	}
	list = append(list,
		Knob{"timers.lsp_generation.first_delay", 10 * ms, 1 * s, func(t *Set) *int64 { return &t.LSPGeneration.First }},
		Knob{"timers.lsp_generation.incremental_delay", 20 * ms, 2 * s, func(t *Set) *int64 { return &t.LSPGeneration.Incremental }},
		Knob{"timers.lsp_generation.maximum_delay", 200 * ms, 10 * s, func(t *Set) *int64 { return &t.LSPGeneration.Maximum }},
		Knob{"timers.lsp_generation.wait_time", 1 * s, 60 * s, func(t *Set) *int64 { return &t.LSPGeneration.Wait }},
		Knob{"detection.settle", 500 * ms, 60 * s, func(t *Set) *int64 { return &t.Settle }})
	if t.BFD {
		list = append(list, Knob{"detection.bfd.interval", 50 * ms, 1 * s, func(t *Set) *int64 { return &t.BFDInterval }})
	}
	return list
}

// Consistent moves what the standards forbid by as little as it takes: the
// hold-down above the time to learn, quiet times above the longest delay, the
// settle time not below that of losing light.
func (t *Set) Consistent() {
	above := func(v *int64, than int64) { *v = max(*v, than+than/10+1*ms) }
	switch t.SPF.Family {
	case RFC8405:
		above(&t.SPF.Holddown, t.SPF.TimeToLearn)
	case DoublingA, DoublingB:
		above(&t.SPF.Wait, t.SPF.Maximum)
	}
	above(&t.LSPGeneration.Wait, t.LSPGeneration.Maximum)
	t.Settle = max(t.Settle, t.Signal)
}
