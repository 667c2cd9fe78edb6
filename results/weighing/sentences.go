package weighing

import (
	"fmt"
	"math"

	"halflight/results/stat"
	"halflight/results/unit"
)

// Sentences say in words what was found, the most useful first.
func (w *Weighing) Sentences() []string {
	list := []string{w.patienceSentence(), w.largest(), w.orderSentence()}
	if text := w.nothingToSee(); text != "" {
		list = append([]string{text}, list...)
	}
	if text := w.undecided(); text != "" {
		list = append(list, text)
	}
	list = append(list, w.inputs())
	return list
}

// Span writes a time in s.
func Span(s float64) string { return unit.Words(s, unit.Seconds) }

// patienceSentence speaks first: no law of complaints is published, so what
// matters is from when on telemetry pays.
func (w *Weighing) patienceSentence() string {
	times := w.Question.Complaints
	if len(times) == 0 {
		return "Nobody complains in this scenario, so that faults which no instrument sees stay until the horizon."
	}
	text := "How long users bear a fault is published nowhere"
	if len(times) == 1 {
		return text + "; only the scenario's " + Span(times[0]) + " was played."
	}
	lowest, highest := times[0], times[0]
	for _, t := range times {
		lowest, highest = min(lowest, t), max(highest, t)
	}
	always, never, sure, between := 0, 0, 0, ""
	for _, l := range w.Alone {
		switch l.Patience.Kind {
		case "always":
			always++
			if l.Patience.Sure {
				sure++
			}
		case "never":
			never++
		case "from":
			between = fmt.Sprintf("; %s pays once it is above %s", l.Name, Span(l.Patience.Value))
		}
	}
	return fmt.Sprintf("%s: between %s and %s, %d of %d instruments pay at every time that was played, %d of them beyond chance, and %d at none%s.", text, Span(lowest), Span(highest),
		always, len(w.Alone), sure, never, between)
}

// fewFaults is how many gray faults a word about seeing rests on at least.
const fewFaults = 30

// nothingToSee says that there was next to nothing to see.
func (w *Weighing) nothingToSee() string {
	if n := w.None.Faults; n == 0 {
		return "No gray fault began in what was measured, so there is nothing to see: what is avoided was caused by faults from before it. A longer horizon or more replications would tell."
	} else if n < fewFaults {
		faults, them := fmt.Sprintf("%d gray faults", n), "them"
		if n == 1 {
			faults, them = "one gray fault", "it"
		}
		return fmt.Sprintf("Only %s began in what was measured, fewer than %d: all that is said of seeing and saving hangs on %s. A longer horizon or more replications would tell.", faults, fewFaults, them)
	}
	return ""
}

// best is the line that saves most.
func best(list []Line) *Line {
	var b *Line
	for i := range list {
		if b == nil || list[i].Saving.Value > b.Saving.Value {
			b = &list[i]
		}
	}
	return b
}

func (w *Weighing) largest() string {
	b := best(w.Alone)
	if b == nil || b.Saving.Value <= 0 {
		return "No instrument saves more than it costs, on average."
	}
	text := fmt.Sprintf("Alone, %s saves most: %s %s a year", b.Name, unit.Digits(b.Saving.Value), w.Currency)
	if b.Saving.Low != nil {
		text += fmt.Sprintf(" (%s to %s)", unit.Digits(*b.Saving.Low), unit.Digits(*b.Saving.High))
	}
	if !b.Saving.Decided {
		text += ", which chance alone may have done"
	}
	return text + fmt.Sprintf("; it avoids %s of the slow units that there are without telemetry.", unit.Words(b.SlowAvoided, unit.Share))
}

func (w *Weighing) orderSentence() string {
	if len(w.Order) == 0 {
		return "Nothing is worth buying first, by the mean of what was played."
	}
	text := "In the order in which one would buy them"
	for i, l := range w.Order {
		sep := ", then "
		if i == 0 {
			sep = ": "
		}
		text += fmt.Sprintf("%s%s (%s a year more)", sep, l.Name, unit.Digits(l.Saving.Value))
	}
	if left := len(w.Alone) - len(w.Order); left > 0 {
		text += fmt.Sprintf("; after these none of the other %d saves what it costs", left)
	}
	return text + ". The order was chosen by the same replications, so its figures flatter a little; another seed shows how much."
}

// undecided says what chance leaves open, and what would settle it.
func (w *Weighing) undecided() string {
	if w.Replications < stat.PairsLeast {
		return fmt.Sprintf("%d replications decide nothing, whatever their intervals are: that takes at least %d.", w.Replications, stat.PairsLeast)
	}
	text := ""
	for _, l := range w.Alone {
		f := l.Saving
		if f.Decided || f.Value == 0 {
			continue
		}
		if text != "" {
			text += "; "
		}
		text += l.Name + ": "
		switch {
		case f.Needed > 0 && w.Replications < stat.LookFirst:
			text += fmt.Sprintf("%d replications or more would, but %d tell little of how far they spread", f.Needed, w.Replications)
		case f.Needed > 0:
			text += fmt.Sprintf("about %d replications would settle it", f.Needed)
		default:
			text += "no number of replications that anybody would play would settle it"
		}
	}
	if text == "" {
		return ""
	}
	return "The interval of the saving holds zero for " + text + "."
}

// inputs says what no interval speaks of.
func (w *Weighing) inputs() string {
	text := "These intervals speak of chance alone; inputs: not varied, but for the time to a complaint"
	if w.Replications < stat.LookFirst {
		text = fmt.Sprintf("%d replications are too few to trust an interval: run at least %d. ", w.Replications, stat.LookFirst) + text
	}
	return text + ". Every saving grows with the rates of gray faults and with the price of a degraded leaf-hour, neither of which is published; the price from which each pays stands in its row. Which kinds of fault an instrument can see at all was put in, and only comes back out."
}

// Undecided says whether the interval of a saving holds zero.
func (f Figure) Undecided() bool { return !f.Decided && f.Value != 0 && !math.IsNaN(f.Value) }
