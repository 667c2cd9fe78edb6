package results

import (
	"fmt"
	"slices"
	"strings"

	"halflight/results/stat"
	"halflight/results/unit"
	"halflight/sim/record"
)

// sentences says in words what the measures say: what hurt applications most,
// what convergence cost in noise against quiet, and which input it rests on.
func sentences(s *Summary, h *record.Header) []string {
	if s.Replications == 0 {
		none := "No replication was finished, so there is nothing to say"
		return []string{none + " of applications.", none + " of convergence.", s.inputs()}
	}
	return []string{mostHurt(s, h), noiseAgainstQuiet(s, h), s.inputs()}
}

// value returns the value of a measure; 0 when it has none.
func (s *Summary) value(name string) float64 {
	if m, ok := s.Find(name); ok {
		return m.Estimate.Value
	}
	return 0
}

// leading returns the measure of the prefix's words that has the largest value,
// and the one after it; nil when there is none above 0.
func leading(s *Summary, prefix string, words []string) (word string, first, second *Measure) {
	for _, w := range words {
		m, ok := s.Find(prefix + w)
		switch {
		case !ok || m.Estimate.Value == 0:
		case first == nil || m.Estimate.Value > first.Estimate.Value:
			word, first, second = w, m, first
		case second == nil || m.Estimate.Value > second.Estimate.Value:
			second = m
		}
	}
	return word, first, second
}

func mostHurt(s *Summary, h *record.Header) string {
	total := s.value("lost_seconds.avoidable") + s.value("lost_seconds.stranded")
	kind, most, next := leading(s, "lost_seconds.kind.", kindsOf(h))
	if most == nil {
		return fmt.Sprintf("What hurt applications most: nothing was lost in %s of %s.",
			unit.Count(s.Replications, "replication"), unit.Words(float64(s.Study.Horizon)/1e9, unit.Seconds))
	}
	text := fmt.Sprintf("What hurt applications most: faults of kind %s, with %s of all lost seconds (%s)",
		kind, percent(most.Estimate.Value/total), unit.Words(most.Estimate.Value, unit.SPerMonth))
	if phase, m, _ := leading(s, "lost_seconds.phase.", h.Phases); m != nil {
		text += fmt.Sprintf("; of the phases, %s leads with %s", phase, percent(m.Estimate.Value/total))
	}
	if class, burn := worstClass(s, h); class != "" {
		text += fmt.Sprintf("; the class %s burns %s of its error budget", class, unit.Digits(burn))
	}
	if next != nil && overlap(most.Estimate, next.Estimate) {
		text += fmt.Sprintf("; chance may have put it before kind %s", lastWord(next.Name))
	}
	return text + "."
}

// kindsOf lists the kinds of the modes, each once, in the order of the modes.
func kindsOf(h *record.Header) (list []string) {
	for _, m := range h.Modes {
		if !slices.Contains(list, m.Kind) {
			list = append(list, m.Kind)
		}
	}
	return list
}

func lastWord(name string) string { return name[strings.LastIndex(name, ".")+1:] }

// overlap reports whether chance may have ordered a before b: their intervals
// meet, or one of them has none.
func overlap(a, b stat.Estimate) bool {
	return !a.Available() || !b.Available() || b.High >= a.Low
}

// worstClass is the class that burns most of its budget.
func worstClass(s *Summary, h *record.Header) (class string, burn float64) {
	for _, c := range h.Classes {
		if v := s.value("app." + c.Name + ".budget_burn"); v > burn {
			class, burn = c.Name, v
		}
	}
	return class, burn
}

func noiseAgainstQuiet(s *Summary, h *record.Header) string {
	quiet, _ := s.Find("full_convergence.quiet.median")
	noise, _ := s.Find("full_convergence.noise.median")
	if quiet.Events < stat.EventsLeast || noise.Events < stat.EventsLeast {
		return waitsInstead(s, h, quiet.Events, noise.Events)
	}
	text := fmt.Sprintf("What noise cost convergence: it took %s in the median and %s at p95 in noise, against %s and %s in quiet",
		s.words("full_convergence.noise.median"), s.words("full_convergence.noise.p95"),
		s.words("full_convergence.quiet.median"), s.words("full_convergence.quiet.p95"))
	if q := quiet.Estimate.Value; q > 0 {
		text += fmt.Sprintf(", %s times as long in the median", unit.Digits(noise.Estimate.Value/q))
	}
	if overlap(noise.Estimate, quiet.Estimate) {
		text += ", which chance alone may have done"
	}
	return text + "."
}

// waitsInstead answers from the state of the back-off at random moments.
func waitsInstead(s *Summary, h *record.Header, quiet, noise int) string {
	what, n := "in noise", noise
	if noise >= stat.EventsLeast {
		what, n = "in quiet", quiet
	}
	few := fmt.Sprintf("only %s with a convergence time began %s, fewer than %d", unit.Count(n, "fault"), what, stat.EventsLeast)
	if n == 0 {
		few = "no fault with a convergence time began " + what
	}
	text := "What noise cost convergence: " + few + ", so the waits speak instead"
	if m, ok := s.Find("wait_now.mean"); !ok || !m.Available() {
		return text + ", but no router time was measured."
	}
	text += fmt.Sprintf(": a fresh event would have waited %s on average and %s at p99, of which %s and %s beyond timers at rest",
		s.words("wait_now.mean"), s.words("wait_now.p99"), s.words("penalty_now.mean"), s.words("penalty_now.p99"))
	if len(h.States) > 0 {
		first := s.value("backoff." + strings.ToLower(h.States[0]))
		text += fmt.Sprintf("; timers were wound up %s of the time", percent(1-first))
	}
	return text + "."
}

// words writes the value of a measure.
func (s *Summary) words(name string) string {
	m, _ := s.Find(name)
	return unit.Words(m.Estimate.Value, m.Unit)
}

func percent(share float64) string { return unit.Words(share, unit.Share) }

// named is how many unsure inputs are named.
const named = 3

func unsureInputs(list []Input) string {
	if len(list) == 0 {
		return "Which input decides it: inputs: not varied; every one in force has a source or was given."
	}
	parts := make([]string, 0, named)
	for _, in := range list[:min(named, len(list))] {
		text := in.Path + " = " + in.Value
		if in.Range != "" {
			text += " (range " + in.Range + ")"
		}
		parts = append(parts, text)
	}
	verb := "the largest without a source are "
	if len(parts) == 1 {
		verb = "the largest without a source is "
	}
	rest := ""
	if more := len(list) - len(parts); more > 0 {
		rest = fmt.Sprintf(", and %d more", more)
	}
	return "Which input decides it: inputs: not varied; " + verb + strings.Join(parts, ", ") + rest +
		"; measure or vary these before trusting the figures."
}
