package results

import (
	"fmt"
	"strings"

	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// halvesTail is the probability with which some figure of a study in balance is
// taken for one that still grows or falls.
const halvesTail = 0.01

// half is one figure in the two halves of the measured window, by replication.
type half struct {
	name          string
	first, second []float64
}

// halves compares the first half of the measured window with the second, pair by
// pair: had the warm-up been long enough the two would be alike. What a script
// does is no matter of balance: with one, only onsets by chance are compared.
func (b *summary) halves() {
	figures := []half{b.onsetHalves()}
	if !b.scripted() {
		figures = append(figures, b.slotHalves("gray faults present", func(s *record.Series) []float32 { return s.Gray }))
		for i, state := range b.header.States[:min(1, len(b.header.States))] {
			figures = append(figures, b.slotHalves("share of router time in "+state, func(s *record.Series) []float32 { return s.States[i] }))
		}
	}
	level := 1 - halvesTail/float64(len(figures))
	text := ""
	for _, f := range figures {
		growth := make([]float64, len(f.first))
		for k := range growth {
			growth[k] = f.second[k] - f.first[k]
		}
		e := stat.Mean(growth, level)
		if e.Sides != stat.TwoSided || e.Low == e.High || e.Low <= 0 && e.High >= 0 {
			continue
		}
		if text != "" {
			text += "; "
		}
		text += fmt.Sprintf("%s, %.3g and %.3g", f.name, stat.Mean(f.first, level).Value, stat.Mean(f.second, level).Value)
	}
	if text != "" {
		b.out.Doubts = append(b.out.Doubts, stat.Warning{Code: ShortWarmUp, Text: "the first half of the measured window is not like the second: " +
			text + " (means over replications); the warm-up is too short for them, so try twice as long a warm_up"})
	}
}

// arranged says whether faults of a kind come when somebody wants them to, or, as
// demand that is too much by itself, do not come at all.
func arranged(kind string) bool {
	return kind == "script" || kind == "drain" || kind == "upgrade" || kind == "demand"
}

// scripted reports whether a script, or upgrades, have a part in what was measured.
func (b *summary) scripted() bool {
	for m, mode := range b.header.Modes {
		for i := range b.set.Replications {
			if (mode.Kind == "script" || mode.Kind == "upgrade") && b.set.Replications[i].Onsets[m] > 0 {
				return true
			}
		}
	}
	return false
}

// onsetHalves counts onsets by chance, of faults that are told of.
func (b *summary) onsetHalves() half {
	h := half{name: "onsets of faults"}
	for i := range b.set.Replications {
		r := &b.set.Replications[i]
		middle := r.From + (r.To-r.From)/2
		var n [2]float64
		for k := range r.Faults {
			f := &r.Faults[k]
			if arranged(b.header.Modes[f.Mode].Kind) {
				continue
			}
			if f.Onset < middle {
				n[0]++
			} else {
				n[1]++
			}
		}
		h.first, h.second = append(h.first, n[0]), append(h.second, n[1])
	}
	return h
}

// slotHalves takes the means of a wide series over as many of its first slots as
// of its last whole ones; nothing when a replication did not keep it.
func (b *summary) slotHalves(name string, of func(s *record.Series) []float32) half {
	h := half{name: name}
	for i := range b.set.Replications {
		r := &b.set.Replications[i]
		s := &r.Series
		if s.Slot == 0 || len(s.States) < len(b.header.States) {
			return half{name: name}
		}
		slots := of(s)
		whole := min(len(slots), int((r.To-r.From)/(s.Slot*int64(s.Wide))))
		n := whole / 2
		if n == 0 {
			return half{name: name}
		}
		h.first, h.second = append(h.first, meanOf(slots[:n])), append(h.second, meanOf(slots[whole-n:whole]))
	}
	return h
}

func meanOf(list []float32) float64 {
	var s stat.RunningSum
	for _, v := range list {
		s.Add(float64(v))
	}
	return s.Value() / float64(len(list))
}

// rare doubts the study where so few faults of a mode were seen, or none, that a
// figure may owe most of itself to what happened to be seen of them: intervals of
// figures that rest on no number of events cannot tell.
func (b *summary) rare() {
	var list []string
	for m, mode := range b.header.Modes {
		if arranged(mode.Kind) {
			continue
		}
		if n := total(b.counts(func(r *record.Replication) int64 { return r.Onsets[m] })); n < stat.EventsLeast {
			list = append(list, fmt.Sprintf("%s (%d)", mode.Name, n))
		}
	}
	if len(list) == 0 || len(b.set.Replications) == 0 {
		return
	}
	more := ""
	if n := len(list) - named; n > 0 {
		list, more = list[:named], fmt.Sprintf(" and %s", unit.Count(n, "other mode"))
	}
	b.out.Doubts = append(b.out.Doubts, stat.Warning{Code: stat.FewEvents, Text: fmt.Sprintf(
		"fewer than %d faults were seen of %s%s; if one of them matters, figures and their intervals may be far off, above all those without a number of events",
		stat.EventsLeast, strings.Join(list, ", "), more)})
}
