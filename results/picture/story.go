package picture

import (
	"fmt"
	"strings"

	"halflight/results"
	"halflight/results/phrase"
	"halflight/results/unit"
	"halflight/sim/record"
)

// Story is what one of the worst faults did, from onset to repair.
type Story struct {
	Title   string
	Steps   []Step
	Says    string // in one sentence
	Phases  []Bar  // lost seconds by phase, from the one that came first
	Command string // tells it an event a line
}

// Step is one moment of a story.
type Step struct{ After, What string }

// storiesMost is how many faults have a story.
const storiesMost = 5

// Stories are those of the worst fault of each mode, of the modes whose worst
// cost most, of all replications.
func Stories(r *Result) []Story {
	worst := make([]*record.Fault, len(r.Set.Header.Modes))
	number := make([]uint32, len(worst))
	for i := range r.Set.Replications {
		one := &r.Set.Replications[i]
		for k := range one.Faults {
			f := &one.Faults[k]
			if best := worst[f.Mode]; f.LostSeconds > 0 && (best == nil || f.LostSeconds > best.LostSeconds) {
				worst[f.Mode], number[f.Mode] = f, one.Number
			}
		}
	}
	var list []*record.Fault
	for _, f := range worst {
		if f != nil {
			list = append(list, f)
		}
	}
	byLoss(list)
	var out []Story
	for _, f := range list[:min(storiesMost, len(list))] {
		out = append(out, r.story(f, number[f.Mode]))
	}
	return out
}

func (r *Result) story(f *record.Fault, number uint32) Story {
	mode := r.Set.Header.Modes[f.Mode]
	s := Story{Title: fmt.Sprintf("%s on %s: %s lost", mode.Name, f.On, phrase.Words(f.LostSeconds, unit.Seconds)),
		Command: fmt.Sprintf("halflight trace %s --replication %d --fault %d", r.Made.Scenario, number, f.Index)}
	step := func(ns int64, what string) {
		if ns != record.None && (ns > 0 || len(s.Steps) == 0) {
			s.Steps = append(s.Steps, Step{phrase.Words(float64(ns)/1e9, unit.Seconds), what})
		}
	}
	step(0, fmt.Sprintf("it begins, %s into replication %d, in %s", phrase.Words(float64(f.Onset-r.Set.Study.WarmUp)/1e9, unit.Seconds), number,
		[...]string{"a quiet moment", "noise", "noise of its own making"}[f.Background]))
	timed := []struct {
		at   int64
		what string
	}{
		{f.FullConvergence, fmt.Sprintf("routing has settled; %s ran SPF because of it", unit.Count(int(f.Touched), "router"))},
		{f.Sighted, "first sighted" + by(f.SightedBy)},
		{f.Mitigated, "out of use"},
	}
	end := int64(record.None)
	if f.End != record.None {
		end = f.End - f.Onset
	}
	timed = append(timed, struct {
		at   int64
		what string
	}{end, "repaired"})
	for range timed { // few: the next one in time, until none is left
		next := -1
		for i := range timed {
			if timed[i].at != record.None && (next < 0 || timed[i].at < timed[next].at) {
				next = i
			}
		}
		if next < 0 {
			break
		}
		step(timed[next].at, timed[next].what)
		timed[next].at = record.None
	}
	if f.End == record.None {
		s.Steps = append(s.Steps, Step{"", "still there at the horizon"})
	}
	s.phases(f, r.Set.Header.Phases)
	if f.Sighted == record.None && mode.Gray {
		s.Says += " Nobody saw it before its end."
	}
	return s
}

func by(instrument string) string {
	if instrument == "" {
		return ""
	}
	return " by " + instrument
}

// phases fills in what each phase cost, in the order of phases.
func (s *Story) phases(f *record.Fault, names []string) {
	worst := -1
	from := 0.0
	for p, v := range f.Phases {
		if v <= 0 {
			continue
		}
		if worst < 0 || v > f.Phases[worst] {
			worst = p
		}
		s.Phases = append(s.Phases, Bar{Name: names[p], From: from, To: from + v, Text: phrase.Words(v, unit.Seconds)})
		from += v
	}
	if worst >= 0 {
		s.Says = fmt.Sprintf("%s of it was lost while %s (%s).", phrase.Words(f.Phases[worst]/f.LostSeconds, unit.Share), strings.TrimPrefix(results.PhaseWords[names[worst]], "the price of "), names[worst])
	}
}
