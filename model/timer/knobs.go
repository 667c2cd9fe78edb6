package timer

import "math"

// Knob is a setting of the control plane that may be searched.
type Knob struct {
	Path  string // key path in a scenario
	Whole bool   // a whole number, of packets or of penalty; otherwise a time, ns
	// Floor and Most are as low and as high as a search goes unless asked to.
	Floor, Most int64
	// Off: from here on it means that what it belongs to is off; 0: it cannot be.
	Off  int64
	get  func(*Set) int64
	turn func(*Set, int64)
}

// Value returns the knob of a set.
func (k *Knob) Value(t *Set) int64 { return k.get(t) }

// Turn sets the knob of a set.
func (k *Knob) Turn(t *Set, v int64) { k.turn(t, v) }

// span is a knob that is a time.
func span(path string, floor, most int64, of func(*Set) *int64) Knob {
	return Knob{Path: path, Floor: floor, Most: most, get: func(t *Set) int64 { return *of(t) }, turn: func(t *Set, v int64) { *of(t) = v }}
}

// The cut-off of damping is searched up to dampingOff, and as much again in
// proportion beyond it, where damping is off.
const dampingFloor, dampingOff = 6000, 12_000

// Knobs are the settings of a set that may be searched: back-off of SPF and of LSP
// generation, settle time, interval and multiplier of BFD where that is on, and
// damping, on or off. Floors and ceilings are common practice without a source, but
// for the floors of BFD's interval, which is among those of RFC 7419 section 3
// (software cannot always keep faster ones), and of damping's cut-off, the least that
// RFC 7196 section 6 calls safe.
func Knobs(t *Set) []Knob {
	var list []Knob
	switch t.SPF.Family {
	case RFC8405:
		list = []Knob{
			span("timers.spf.rfc8405.initial_delay", 10*ms, 1*s, func(t *Set) *int64 { return &t.SPF.Initial }),
			span("timers.spf.rfc8405.short_delay", 20*ms, 2*s, func(t *Set) *int64 { return &t.SPF.Short }),
			span("timers.spf.rfc8405.long_delay", 200*ms, 10*s, func(t *Set) *int64 { return &t.SPF.Long }),
			span("timers.spf.rfc8405.time_to_learn", 100*ms, 5*s, func(t *Set) *int64 { return &t.SPF.TimeToLearn }),
			span("timers.spf.rfc8405.holddown", 1*s, 60*s, func(t *Set) *int64 { return &t.SPF.Holddown }),
		}
	case TwoStep:
		list = []Knob{
			span("timers.spf.two_step.rapid_delay", 10*ms, 1*s, func(t *Set) *int64 { return &t.SPF.Rapid }),
			span("timers.spf.two_step.slow_delay", 200*ms, 10*s, func(t *Set) *int64 { return &t.SPF.Slow }),
			span("timers.spf.two_step.wait_time", 1*s, 60*s, func(t *Set) *int64 { return &t.SPF.Wait }),
		}
	default:
		list = []Knob{
			span("timers.spf.doubling.first_delay", 10*ms, 1*s, func(t *Set) *int64 { return &t.SPF.First }),
			span("timers.spf.doubling.incremental_delay", 20*ms, 2*s, func(t *Set) *int64 { return &t.SPF.Incremental }),
			span("timers.spf.doubling.maximum_delay", 200*ms, 10*s, func(t *Set) *int64 { return &t.SPF.Maximum }),
			span("timers.spf.doubling.wait_time", 1*s, 60*s, func(t *Set) *int64 { return &t.SPF.Wait }),
		}
	}
	list = append(list,
		span("timers.lsp_generation.first_delay", 10*ms, 1*s, func(t *Set) *int64 { return &t.LSPGeneration.First }),
		span("timers.lsp_generation.incremental_delay", 20*ms, 2*s, func(t *Set) *int64 { return &t.LSPGeneration.Incremental }),
		span("timers.lsp_generation.maximum_delay", 200*ms, 10*s, func(t *Set) *int64 { return &t.LSPGeneration.Maximum }),
		span("timers.lsp_generation.wait_time", 1*s, 60*s, func(t *Set) *int64 { return &t.LSPGeneration.Wait }),
		span("detection.settle", 500*ms, 60*s, func(t *Set) *int64 { return &t.Settle }))
	if t.BFD {
		list = append(list, span("detection.bfd.interval", 50*ms, 1*s, func(t *Set) *int64 { return &t.BFDInterval }),
			Knob{Path: "detection.bfd.multiplier", Whole: true, Floor: 3, Most: 10,
				get: func(t *Set) int64 { return int64(t.BFDMultiplier) }, turn: func(t *Set, v int64) { t.BFDMultiplier = int(v) }})
	}
	return append(list, dampingKnobs(t)...)
}

// dampingKnobs are the cut-off of damping, which beyond its range means off, and
// the half-life.
func dampingKnobs(t *Set) []Knob {
	off := int64(dampingOff)
	if t.Damping.On {
		off = max(off, int64(math.Ceil(2*t.Damping.CutOff)))
	}
	most := off * off / dampingFloor
	cutOff := Knob{Path: "detection.damping.cut_off", Whole: true, Floor: dampingFloor, Most: most, Off: off,
		get: func(t *Set) int64 {
			if !t.Damping.On {
				return most
			}
			return int64(t.Damping.CutOff)
		},
		turn: func(t *Set, v int64) { t.Damping.On, t.Damping.CutOff = v < off, float64(v) }}
	return []Knob{cutOff, span("detection.damping.half_life", 60*s, 1800*s, func(t *Set) *int64 { return &t.Damping.HalfLife })}
}

// Consistent moves what the standards forbid by as little as it takes: the
// hold-down above the time to learn, the quiet time of LSP generation above its longest delay, the
// settle time not below that of losing light. Damping whose cut-off is never
// exceeded, or lies below what lets a link back, is off (RFC 2439 section 4.2), and
// all that is off is alike.
func (t *Set) Consistent() {
	above := func(v *int64, than int64) { *v = max(*v, than+than/10+1*ms) }
	if t.SPF.Family == RFC8405 {
		above(&t.SPF.Holddown, t.SPF.TimeToLearn)
	}
	above(&t.LSPGeneration.Wait, t.LSPGeneration.Maximum)
	t.Settle = max(t.Settle, t.Signal)
	if d := &t.Damping; !d.On || d.CutOff >= d.Ceiling() || d.CutOff <= d.Reuse {
		*d = Default(0, false).Damping
	}
}
