package studies

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"halflight/cmd/halflight/status"
	"halflight/model"
	"halflight/model/setting"
	"halflight/results"
	"halflight/results/contrast"
	"halflight/results/stat"
	"halflight/results/swing"
	"halflight/scenarios"
	"halflight/sim/record"
)

// Sweep is a scenario played under many settings.
type Sweep struct {
	Name     string
	Set      []string
	Keys     []Key    // one or two: a grid of their values; none: one unsure input at a time
	Measures []string // patterns of the measures compared
	Base     *Scenario
	Inputs   []swing.Input
	Skipped  []string // unsure inputs that cannot be changed here, and why
	Cells    []Cell   // of a grid, the first key slowest
	sides    []*Scenario
	names    []string
}

// Key is one that is varied over values.
type Key struct {
	Key    string
	Values []string
}

// Cell is one setting of a grid. Side is its place in the comparison, 0 the
// present setting.
type Cell struct {
	Values []string
	Side   int
}

// gridMost bounds the settings of a sweep against a slip of the finger.
const gridMost = 400

// ParseKey reads KEY=V1,V2,... Commas within brackets do not part values.
func ParseKey(text string) (Key, error) {
	key, list, ok := strings.Cut(text, "=")
	k := Key{Key: strings.TrimSpace(key)}
	depth, from := 0, 0
	for i, r := range list {
		switch r {
		case '{', '[', '(':
			depth++
		case '}', ']', ')':
			depth--
		case ',':
			if depth == 0 {
				k.Values = append(k.Values, strings.TrimSpace(list[from:i]))
				from = i + 1
			}
		}
	}
	k.Values = append(k.Values, strings.TrimSpace(list[from:]))
	if !ok || k.Key == "" || slices.Contains(k.Values, "") {
		return k, errors.New("is no key with values: write KEY=V1,V2,..., such as detection.settle=0.5s,2s,10s")
	}
	return k, nil
}

// Open loads the present setting and all others. It returns the digest of the
// whole.
func (s *Sweep) Open(h *Host) (digest string, err error) {
	if s.Base, err = h.Load(s.Name, s.Set); err != nil {
		return "", err
	}
	s.sides, s.names = []*Scenario{s.Base}, []string{"present"}
	if len(s.Keys) > 0 {
		err = s.grid(h)
	} else {
		err = s.oneAtATime(h)
	}
	if err != nil {
		return "", err
	}
	parts := []any{"sweep", s.Measures}
	for _, one := range s.sides {
		parts = append(parts, one.Digest)
	}
	return Digest(parts...), nil
}

// grid loads every combination of values. Those equal to one that is there
// already, the present setting first of all, are not played again.
func (s *Sweep) grid(h *Host) error {
	combos := [][]string{nil}
	for _, k := range s.Keys {
		var next [][]string
		for _, c := range combos {
			for _, v := range k.Values {
				next = append(next, append(slices.Clone(c), v))
			}
		}
		combos = next
	}
	if len(combos) > gridMost {
		return status.CommandLine("%d settings are more than %d; vary fewer values", len(combos), gridMost)
	}
	for _, c := range combos {
		set := slices.Clone(s.Set)
		var name []string
		for i, v := range c {
			set = append(set, s.Keys[i].Key+"="+v)
			name = append(name, v)
		}
		one, err := h.Load(s.Name, set)
		if err != nil {
			return blame(err, "--vary ")
		}
		side := slices.IndexFunc(s.sides, func(other *Scenario) bool { return other.Digest == one.Digest })
		if side < 0 {
			side = len(s.sides)
			s.sides, s.names = append(s.sides, one), append(s.names, strings.Join(name, ", "))
		}
		s.Cells = append(s.Cells, Cell{Values: c, Side: side})
	}
	return nil
}

// oneAtATime loads both ends of every unsure input.
func (s *Sweep) oneAtATime(h *Host) error {
	for _, in := range Unsure(s.Base) {
		low, lowText, err := s.end(h, in.Key, in.ends, 0)
		high, highText, err2 := s.end(h, in.Key, in.ends, 1)
		if err = errors.Join(err, err2); err != nil {
			s.Skipped = append(s.Skipped, in.Key)
			continue
		}
		s.sides = append(s.sides, low, high)
		s.names = append(s.names, in.Key+" = "+lowText, in.Key+" = "+highText)
		in.Low, in.High = lowText, highText
		s.Inputs = append(s.Inputs, in.Input)
	}
	if len(s.Inputs) == 0 {
		return status.Data("%s has no unsure input with a documented range; name one with --vary KEY=V1,V2,...", s.Base.File)
	}
	return nil
}

// end loads one end of a range, or what comes nearest to it: an end may be at odds
// with the other settings, a settle time below that of losing light for one.
func (s *Sweep) end(h *Host, key string, e setting.Ends, at float64) (*Scenario, string, error) {
	var first error
	for step := range 10 {
		text := e.At(at + float64(step)*0.05*(1-2*at))
		one, err := h.Load(s.Name, append(slices.Clone(s.Set), key+"="+text))
		if err == nil {
			return one, text, nil
		}
		if first == nil {
			first = err
		}
	}
	return nil, "", first
}

// unsureInput is an input with its range.
type unsureInput struct {
	swing.Input
	ends setting.Ends
}

// Unsure lists the unsure inputs of a scenario that have a range.
func Unsure(s *Scenario) []unsureInput {
	var list []unsureInput
	for _, one := range setting.Unsure(model.Resolve(s.Scenario)) {
		ends, _ := one.Span()
		list = append(list, unsureInput{swing.Input{Key: one.Key, Value: one.Value, Low: ends.At(0), High: ends.At(1), Range: one.Range, Grade: one.Grade}, ends})
	}
	return list
}

// Count is how many settings are played, and how often each.
func (s *Sweep) Count() (settings, replications int) { return len(s.sides), s.Base.World.Replications }

// Run plays all settings with common draws and compares them with the present one.
func (s *Sweep) Run(ctx context.Context, h *Host) (out *contrast.Contrast, partial bool, err error) {
	count := s.Base.World.Replications
	sets, err := h.Play(ctx, s.sides, count)
	if err != nil {
		return nil, false, err
	}
	sides := make([]contrast.Side, len(sets))
	for i := range sets {
		sides[i] = contrast.Side{Name: s.names[i], Set: sets[i]}
		partial = partial || len(sets[i].Replications) < count
	}
	if out, err = contrast.Of(sides, 0.95, s.Measures...); err != nil {
		return nil, partial, status.Data("%w", err)
	}
	return out, partial, nil
}

// Worlds are settings in which all unsure inputs of a scenario are drawn
// together.
type Worlds struct {
	Inputs  []swing.Input
	Skipped []string
	shares  [][]float64
	sides   []*Scenario
}

// worldReplications is how often each world is played.
const worldReplications = 4

// OpenWorlds makes count worlds of a scenario from a sample that fills the ranges
// of its unsure inputs. A world at odds with itself moves half-way to the middle of
// all ranges until it is not.
func OpenWorlds(h *Host, name string, set []string, base *Scenario, count int) (*Worlds, error) {
	w := &Worlds{}
	var kept []unsureInput
	for _, in := range Unsure(base) {
		if _, err := h.Load(name, append(slices.Clone(set), in.Key+"="+in.ends.At(0.5))); err != nil {
			w.Skipped = append(w.Skipped, in.Key)
			continue
		}
		kept = append(kept, in)
		w.Inputs = append(w.Inputs, in.Input)
	}
	if len(kept) == 0 {
		return nil, status.Data("%s has no unsure input with a documented range, so there are no other worlds", base.File)
	}
	for _, shares := range stat.LatinHypercube(count, len(kept), base.World.Seed) {
		one, err := w.world(h, name, set, kept, shares)
		if err != nil {
			return nil, err
		}
		w.shares, w.sides = append(w.shares, shares), append(w.sides, one)
	}
	return w, nil
}

func (w *Worlds) world(h *Host, name string, set []string, inputs []unsureInput, shares []float64) (one *Scenario, err error) {
	for range 8 {
		all := slices.Clone(set)
		for k, in := range inputs {
			all = append(all, in.Key+"="+in.ends.At(shares[k]))
		}
		if one, err = h.Load(name, all); err == nil {
			return one, nil
		}
		var problems *scenarios.Problems
		if !errors.As(err, &problems) {
			return nil, err
		}
		for k := range shares {
			shares[k] = (shares[k] + 0.5) / 2
		}
	}
	return nil, fmt.Errorf("a world within the ranges of the unsure inputs: %w", err)
}

// Count is how many replications all worlds are played.
func (w *Worlds) Count(base *Scenario) (each, all int) {
	each = min(worldReplications, base.World.Replications)
	return each, each * len(w.sides)
}

// Run plays all worlds with common draws. An interrupt leaves the replications that
// every world has: some worlds alone would not fill the ranges.
func (w *Worlds) Run(ctx context.Context, h *Host, base *Scenario, patterns []string) (out *swing.Worlds, partial bool, err error) {
	each, _ := w.Count(base)
	sets, err := h.Play(ctx, w.sides, each)
	if err != nil {
		return nil, false, err
	}
	have := make([]int, each)
	for _, s := range sets {
		for i := range s.Replications {
			have[s.Replications[i].Number]++
		}
	}
	for _, s := range sets {
		partial = partial || len(s.Replications) < each
		s.Replications = slices.DeleteFunc(s.Replications, func(r record.Replication) bool { return have[r.Number] < len(sets) })
	}
	return swing.OfWorlds(w.Inputs, w.shares, sets, patterns), partial, nil
}

// Text is the key as it is typed.
func (k Key) Text() string { return k.Key + "=" + strings.Join(k.Values, ",") }

// StudyOf says what study a scenario of so many replications is.
func StudyOf(h *Host, s *Scenario, count int) results.Study { return h.Set(s, count).Study }
