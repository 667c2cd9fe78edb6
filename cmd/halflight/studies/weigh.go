package studies

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"halflight/cmd/halflight/status"
	"halflight/model"
	"halflight/model/operation"
	"halflight/results/weighing"
	"halflight/scenarios/wording"
	"halflight/sim"
	"halflight/sim/record"
	"halflight/sim/replication"
)

// Weighing is what is to be weighed.
type Weighing struct {
	Name    string   // of a scenario
	Set     []string // its settings
	Only    []string // instruments to weigh; empty: all
	Bundles []string // "NAME=INSTRUMENT+INSTRUMENT"
	Level   float64
	Whole   bool // play routers too

	question  weighing.Question
	scenario  *Scenario
	offered   []operation.Instrument // those that are weighed
	complains *operation.Instrument  // nil when nobody does
}

// Other times to a complaint are these many times the scenario's: for the default
// of 24 h, 1 h, and the ends of the range in which it should be varied, 4 h and
// 7 d.
var otherTimes = []float64{1.0 / 24, 1.0 / 6, 7}

// Open loads the scenario. It returns how to name the study, its seed and digest.
// A scenario that says nothing of telemetry is offered one instrument of each
// kind.
func (a *Weighing) Open(h *Host) (name string, seed uint64, digest string, err error) {
	s, err := h.Load(a.Name, a.Set)
	if err != nil {
		return "", 0, "", err
	}
	a.scenario = s
	w := s.World
	if w.Traffic.Mix != nil && !a.Whole {
		return "", 0, "", status.Data("%s: sketches reckon with leaves that all send alike, and traffic.external or fabric.clos.fabrics says otherwise: add --whole", s.File)
	}
	if w.Traffic.Congestion && !a.Whole {
		return "", 0, "", status.Data("%s: sketches do not know how full links are, and traffic.congestion asks for it: add --whole, or --set traffic.congestion=false", s.File)
	}
	list := w.Operation.Instruments
	if !s.TelemetryGiven {
		list = append(operation.Offers(w.Fabric.Leaves), list...)
	}
	var names []string
	for i := range list {
		ins := list[i]
		switch {
		case ins.Kind == operation.Complaints:
			a.complains = &ins
		case !slices.Contains(names, ins.Name):
			a.offered, names = append(a.offered, ins), append(names, ins.Name)
		}
	}
	if err := a.pick(names); err != nil {
		return "", 0, "", err
	}
	q := &a.question
	*q = weighing.Question{Scenario: w.Name, Seed: w.Seed, Asked: w.Replications, Horizon: w.Horizon, WarmUp: w.WarmUp, Level: a.Level, Whole: a.Whole}
	for i := range a.offered {
		q.Instruments = append(q.Instruments, a.offered[i].Name)
	}
	if i := slices.IndexFunc(q.Instruments, rowOfItsOwn); i >= 0 {
		return "", 0, "", status.Data("%s: telemetry %q: %s is another row's name here: name the instrument otherwise", s.File, q.Instruments[i], q.Instruments[i])
	}
	if len(q.Instruments) == 0 {
		return "", 0, "", status.Data("%s: there is no instrument to weigh but complaints: name some under telemetry", s.File)
	}
	if len(q.Instruments) > weighing.Most {
		return "", 0, "", status.Data("%s: %d instruments are too many to weigh, at most %d: --only picks some", s.File, len(q.Instruments), weighing.Most)
	}
	for _, text := range a.Bundles {
		b, err := a.bundle(text)
		if err != nil {
			return "", 0, "", err
		}
		q.Bundles = append(q.Bundles, b)
	}
	if c := a.complains; c != nil {
		q.Complaints = []float64{1 / c.Rate}
		for _, t := range otherTimes {
			q.Complaints = append(q.Complaints, t/c.Rate)
		}
	}
	digest = Digest("weigh", s.Digest, q.Instruments, a.Bundles, a.Level, a.Whole)
	return fmt.Sprintf("weigh-%s-%d", w.Name, w.Seed), w.Seed, digest, nil
}

// pick keeps the instruments that were asked for.
func (a *Weighing) pick(names []string) error {
	if len(a.Only) == 0 {
		return nil
	}
	var kept []operation.Instrument
	for _, want := range a.Only {
		i := slices.Index(names, want)
		if i < 0 {
			return status.CommandLine("--only %s: %s", want, noInstrument(want, names))
		}
		if !slices.ContainsFunc(kept, func(k operation.Instrument) bool { return k.Name == want }) {
			kept = append(kept, a.offered[i])
		}
	}
	a.offered = kept
	return nil
}

func noInstrument(name string, known []string) string {
	if near := wording.Nearest(name, known); near != "" {
		return "there is no such instrument; did you mean " + near + "?"
	}
	return "there is no such instrument; there are " + strings.Join(known, ", ")
}

// rowOfItsOwn says whether a name is that of a row of every answer: without any
// instrument, or with all.
func rowOfItsOwn(name string) bool { return name == "none" || name == "all" }

// bundle reads NAME=INSTRUMENT+INSTRUMENT.
func (a *Weighing) bundle(text string) (weighing.Bundle, error) {
	name, list, ok := strings.Cut(text, "=")
	if !ok || name == "" || list == "" {
		return weighing.Bundle{}, status.CommandLine("--bundle %s: is no bundle: write NAME=INSTRUMENT+INSTRUMENT", text)
	}
	taken := slices.Contains(a.question.Instruments, name) || slices.ContainsFunc(a.question.Bundles, func(b weighing.Bundle) bool { return b.Name == name })
	if taken || rowOfItsOwn(name) {
		return weighing.Bundle{}, status.CommandLine("--bundle %s: %s is another row's name: take a new one", text, name)
	}
	b := weighing.Bundle{Name: name}
	for _, one := range strings.Split(list, "+") {
		i := slices.Index(a.question.Instruments, one)
		if i < 0 {
			return b, status.CommandLine("--bundle %s: %s", text, noInstrument(one, a.question.Instruments))
		}
		b.Bits |= 1 << i
	}
	return b, nil
}

// world is the scenario with a set of instruments.
func (a *Weighing) world(s weighing.Subset) *model.World {
	w := *a.scenario.World
	w.Operation.Instruments = nil
	for i := range a.offered {
		if s.Bits&(1<<i) != 0 {
			w.Operation.Instruments = append(w.Operation.Instruments, a.offered[i])
		}
	}
	if a.complains != nil {
		c := *a.complains
		c.Rate = 1 / a.question.Complaints[s.Complaint]
		w.Operation.Instruments = append(w.Operation.Instruments, c)
	}
	return &w
}

// Count is the number of replications, and how many are played of all sets to
// begin with.
func (a *Weighing) Count() (replications, jobs int) {
	return a.question.Asked, a.question.Asked * len(a.question.First())
}

// Run plays and weighs. A partial answer holds the replications that every set
// has, and the order of purchase as far as it came.
func (a *Weighing) Run(ctx context.Context, h *Host) (answer *weighing.Weighing, partial bool, err error) {
	q := &a.question
	e := weighing.Evidence{}
	numbers, done := []int(nil), 0
	for n := range q.Asked {
		numbers = append(numbers, n)
	}
	for round := q.First(); len(round) > 0; round = q.Next(e) {
		played, worlds, err := a.play(ctx, h, round, numbers, done)
		if err != nil {
			return nil, false, err
		}
		done += len(round) * len(numbers)
		var whole []int // numbers that every set has
		for k, n := range numbers {
			if !slices.ContainsFunc(played[k*len(round):(k+1)*len(round)], func(r *record.Replication) bool { return r == nil }) {
				whole = append(whole, n)
			}
		}
		if len(whole) < len(numbers) {
			partial = true
			if len(e) > 0 {
				break // the order of purchase ends here
			}
			if len(whole) == 0 {
				return nil, true, errors.New("nothing was finished")
			}
		}
		for i, s := range round {
			p := &weighing.Played{Header: sim.HeaderOf(worlds[i])}
			for k, n := range numbers {
				if slices.Contains(whole, n) {
					p.Replications = append(p.Replications, played[k*len(round)+i])
				}
			}
			e[s] = p
		}
		if partial {
			break
		}
	}
	return weighing.Weigh(q, e), partial, nil
}

// play plays sets, number by number.
func (a *Weighing) play(ctx context.Context, h *Host, round []weighing.Subset, numbers []int, before int) ([]*record.Replication, []*model.World, error) {
	worlds := make([]*model.World, len(round))
	for i, s := range round {
		worlds[i] = a.world(s)
		if err := sim.Check(worlds[i]); err != nil {
			return nil, nil, status.Data("%s: %w", a.scenario.File, err)
		}
	}
	var jobs []replication.Job
	for _, n := range numbers {
		for _, w := range worlds {
			jobs = append(jobs, replication.Job{World: w, Seed: w.Seed, Number: uint32(n), Sketch: !a.Whole, Trim: trim(w)})
		}
	}
	told := func(done, total int) {
		if h.Told != nil {
			h.Told(before+done, before+total)
		}
	}
	played, err := replication.Each(ctx, jobs, h.Workers, nil, told)
	return played, worlds, OursOf(err)
}

// trim keeps of a record what a weighing looks at.
func trim(w *model.World) func(r *record.Replication) {
	return func(r *record.Replication) {
		gray := r.Faults[:0:0]
		for _, f := range r.Faults {
			if int(f.Mode) < len(w.Modes) && w.Modes[f.Mode].Kind.Gray() {
				f.Phases = nil
				gray = append(gray, f)
			}
		}
		r.Faults, r.LostSeconds, r.Waits, r.LeafWaits, r.Series = gray, nil, nil, nil, record.Series{}
	}
}
