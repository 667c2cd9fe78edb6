package scenarios

import (
	"path"
	"strings"

	"go.yaml.in/yaml/v3"

	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
)

// Problem and Problems are what is wrong with a scenario, see package outline.
type (
	Problem  = outline.Problem
	Problems = outline.Problems
)

// Parse reads a scenario. file names it in messages, data is its text (YAML or JSON, UTF-8), set are arguments of --set such as
// "timers.spf.rfc8405.long_delay=2s", applied in order before anything is checked. The problems are never nil; the scenario is
// not nil, but when there are problems it is incomplete and only good for finding more of them (Problems.Add).
func Parse(file string, data []byte, set ...string) (*Scenario, *Problems) {
	s := &Scenario{File: file}
	s.outline = outline.Read(file, data, set, &grammar)
	w := &walker{Outline: s.outline, s: s}
	if root := w.Root(); root != nil {
		w.scenario(&object{root, w})
	}
	return s, s.outline.Problems
}

// Place returns the line and the column, both from 1, of the value at a key path such as "timers.spf.rfc8405.holddown" or
// "failures.2.life"; entries of lists may be named ("failures.optic-dirty.life"). It is not ok for what was not written in
// the file.
func (s *Scenario) Place(path string) (line, column int, ok bool) { return s.outline.Place(path) }

// Typed returns the scenario as typed, after --set, as YAML with comments. It is nil when nothing could be read.
func (s *Scenario) Typed() []byte { return s.outline.Typed() }

// ParseDuration reads a duration such as 90d, 1.5h or 1h30min. The text of the error follows the value in a sentence.
func ParseDuration(s string) (Duration, error) {
	d, f := unit.ParseDuration(s)
	if f != nil {
		return 0, f
	}
	return d, nil
}

// walker goes through the outline of a scenario and types what it meets.
type walker struct {
	*outline.Outline
	s *Scenario
	n *Numbers // of the fabric, nil when they are wrong
}

// object is a map being read.
type object struct {
	*outline.Object
	w *walker
}

// object opens a map; it is nil, after a problem, when the node is none.
func (w *walker) object(n *yaml.Node, path string) *object {
	if o := w.Open(n, path); o != nil {
		return &object{o, w}
	}
	return nil
}

// open opens the map at a key; nil when not given or none.
func (o *object) open(key string) *object {
	if n, path := o.Take(key); n != nil {
		return o.w.object(n, path)
	}
	return nil
}

// switchable opens what is either a map or a switch: off is true for false, the map nil for true. given is false when neither.
func (o *object) switchable(key string) (m *object, off, given bool) {
	inner, off, given := o.Switchable(key)
	if inner != nil {
		m = &object{inner, o.w}
	}
	return m, off, given
}

// stem is the name of a scenario that gives none: that of its file.
func stem(file string) string {
	base := path.Base(strings.ReplaceAll(file, `\`, "/"))
	return strings.TrimSuffix(base, path.Ext(base))
}
