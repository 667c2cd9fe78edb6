package studies

import (
	"context"
	"math"
	"slices"
	"strings"

	"halflight/model"
	"halflight/model/setting"
	"halflight/results/contrast"
	"halflight/results/stat"
	"halflight/scenarios/unit"
)

// turnLeaves is the largest number of leaves of a fabric for which a comparison
// plays inputs without a source unasked: those that are kept pair by pair.
const turnLeaves = 64

// turnReplications is how often it does so.
const turnReplications = 2

// assumed is the range of an input that was given without a source, and so has no
// documented one.
const assumed = "x 0.3333333333333333 to x 3"

// turnEnd is a side of a comparison with one input at one end of its range.
type turnEnd struct {
	input, value string
	sides        []*Scenario
}

// turnings are the settings that a comparison plays beside its own.
type turnings struct {
	told         contrast.Turning
	replications int
	ends         []turnEnd
}

// openTurns loads all sides with each input without a source at either end of its
// range. An input that differs between the sides is what is compared, and stays;
// one that only some sides have is changed there. Folders cannot be changed: nil.
func (c *Comparison) openTurns(h *Host) (*turnings, error) {
	t := &turnings{replications: turnReplications}
	count, _ := c.Count()
	for _, s := range c.sides {
		if s.played == nil {
			return nil, nil
		}
		if c.Turn < 0 && (s.played.World.Fabric.Leaves > turnLeaves || count < stat.PairsLeast) {
			return nil, nil // of so few nothing is decided that could turn
		}
		t.replications = min(t.replications, s.played.World.Replications)
	}
	if c.Turn >= 0 {
		t.replications = c.Turn
	}
	if t.replications == 0 || !c.sides[0].played.World.Random {
		return nil, nil
	}
	lists := make([][]setting.Setting, len(c.sides))
	for i, s := range c.sides {
		lists[i] = model.Resolve(s.played.Scenario)
	}
	seen := map[string]bool{}
	for i := range lists {
		for _, one := range lists[i] {
			if seen[one.Key] || !sourceless(&one) {
				continue
			}
			seen[one.Key] = true
			ranged := one.Range == ""
			if ranged && one.Given {
				one.Range = assumed
			}
			ends, ok := one.Span()
			if !ok {
				t.told.Skipped = append(t.told.Skipped, one.Key)
				continue
			}
			same := true
			for k := range lists {
				j := slices.IndexFunc(lists[k], func(o setting.Setting) bool { return o.Key == one.Key })
				same = same && (j < 0 || lists[k][j].Value == one.Value)
			}
			if !same {
				continue
			}
			if !t.add(h, c, lists, one.Key, ends) {
				t.told.Skipped = append(t.told.Skipped, one.Key)
				continue
			}
			t.told.Inputs++
			if ranged {
				t.told.Ranged++
			}
		}
	}
	return t, nil
}

// sourceless says whether a setting is an input that rests on an assumption,
// alone or beside another grade.
func sourceless(s *setting.Setting) bool {
	return s.Wide >= 0 && slices.Contains(strings.Split(s.Grade, "/"), "D") && (!s.Given || strings.HasPrefix(s.Path, "failures."))
}

// add loads both ends of one input. It returns false where a side does not take
// them.
func (t *turnings) add(h *Host, c *Comparison, lists [][]setting.Setting, key string, ends setting.Ends) bool {
	var made []turnEnd
	for at := range 2 {
		e := turnEnd{input: key, value: round(ends.At(float64(at)))}
		for i, s := range c.sides {
			one := s.played
			if slices.ContainsFunc(lists[i], func(o setting.Setting) bool { return o.Key == key }) {
				var err error
				if one, err = h.Load(s.from, append(slices.Clone(s.set), key+"="+e.value)); err != nil {
					return false
				}
			}
			e.sides = append(e.sides, one)
		}
		made = append(made, e)
	}
	t.ends = append(t.ends, made...)
	return true
}

// round rounds a time of many digits, such as a third of one, to three: nobody types
// or reads more.
func round(value string) string {
	const plain = 7 // characters, 1050ms and 343750h among them
	ns, fault := unit.ParseTime(value)
	if len(value) <= plain || fault != nil {
		return value
	}
	size := math.Pow(10, math.Floor(math.Log10(ns))-2)
	if size < 1 {
		return value
	}
	rounded := setting.Time(math.Round(ns/size) * size)
	if len(rounded) < len(value) {
		return rounded
	}
	return value
}

// scenarios lists all that is to be played.
func (t *turnings) scenarios() (list []*Scenario) {
	for _, e := range t.ends {
		list = append(list, e.sides...)
	}
	return list
}

// count is how many replications that is.
func (t *turnings) count() int {
	if t == nil {
		return 0
	}
	return t.replications * len(t.scenarios())
}

// run plays them; nil when an interrupt left some out.
func (t *turnings) run(ctx context.Context, h *Host, out *contrast.Contrast) (*contrast.Turning, error) {
	list := t.scenarios()
	sets, err := h.Play(ctx, list, t.replications)
	if err != nil {
		return nil, err
	}
	var others []contrast.Other
	for _, e := range t.ends {
		o := contrast.Other{Input: e.input, Value: e.value}
		for i := range e.sides {
			if len(sets[i].Replications) < t.replications {
				return nil, nil
			}
			o.Sides = append(o.Sides, contrast.Side{Name: out.Sides[i].Name, Set: sets[i]})
		}
		sets = sets[len(e.sides):]
		others = append(others, o)
	}
	told, err := out.Turns(others, out.Level)
	if err != nil {
		return nil, err
	}
	told.Inputs, told.Ranged, told.Skipped, told.Replications = t.told.Inputs, t.told.Ranged, t.told.Skipped, t.replications
	return told, nil
}
