package model

import (
	"fmt"
	"sort"
	"strings"

	"halflight/model/chance"
	"halflight/model/timer"
	"halflight/scenarios"
)

// Setting is one value in force in a scenario. Value is a YAML scalar that reads
// back as what is in force.
type Setting struct {
	Path  string // key path, entries of lists by number
	Key   string // the same with entries that have a name by name, as --set takes it
	Value string
	Given bool // by the user; else a default
	// Of a default, or of a failure whatever its origin: where it comes from, how
	// good that is (A confirmed in a primary source, B in a secondary one, C from
	// memory, D an assumption, CP common practice), and the range to vary it in.
	Source, Grade, Range string
	// Wide is how many times the range's high end is its low end; 0: not known,
	// below 0: no input of its own, or one that decides nothing here.
	Wide float64
}

// Resolve lists every setting in force, in a fixed order: that of the language.
// It is of use only if Build has no problem with the scenario.
func Resolve(s *scenarios.Scenario) []Setting {
	b := build(s)
	if len(b.problems) > 0 {
		return nil
	}
	l := &lister{b: b}
	l.study()
	l.fabric()
	l.timers()
	l.control()
	l.groups()
	l.traffic()
	l.telemetry()
	l.operations()
	l.failures()
	l.script()
	l.keys()
	return l.list
}

// keys fills in the keys. A name comes first in its entry.
func (l *lister) keys() {
	at, name := "", ""
	for i := range l.list {
		s := &l.list[i]
		s.Key = s.Path
		for _, list := range []string{"applications", "telemetry", "failures"} {
			if matches(list+".*.name", s.Path) {
				at, name = strings.TrimSuffix(s.Path, "name"), list+"."+s.Value+"."
			}
		}
		if rest, inside := strings.CutPrefix(s.Path, at); at != "" && inside {
			s.Key = name + rest
		}
	}
}

// Unsourced returns the defaults, and the failures, that rest on nothing but an
// assumption (grade D): those first whose documented range is widest in
// proportion, ties and unknown ranges in the order of the scenario. A failure
// is there once, by its rate.
func Unsourced(settings []Setting) []Setting {
	var list []Setting
	for _, s := range settings {
		if s.Grade == "D" && s.Wide >= 0 && (!s.Given || strings.HasPrefix(s.Path, "failures.")) {
			list = append(list, s)
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].Wide > list[j].Wide })
	return list
}

// lister collects settings.
type lister struct {
	b    *builder
	list []Setting
}

// add adds a setting. A default gets the note of its path.
func (l *lister) add(path, value string, given bool) {
	s := Setting{Path: path, Value: value, Given: given}
	if n, ok := noteOf(path); ok && !given {
		s.Source, s.Grade, s.Range, s.Wide = n.Source, n.Grade, n.Range, n.Wide
	}
	l.list = append(l.list, s)
}

// noteOf finds the note of a path: the first whose path it is, or lies below.
func noteOf(path string) (timer.Note, bool) {
	for _, table := range [][]timer.Note{timer.Notes, notes} {
		for _, n := range table {
			if matches(n.Path, path) {
				return n, true
			}
		}
	}
	return timer.Note{}, false
}

// matches says whether a path begins with a pattern, in which "*" stands for
// any one key.
func matches(pattern, path string) bool {
	a, b := strings.Split(pattern, "."), strings.Split(path, ".")
	if len(b) < len(a) {
		return false
	}
	for i := range a {
		if a[i] != "*" && a[i] != b[i] {
			return false
		}
	}
	return true
}

func (l *lister) time(path string, ns int64, given bool) { l.add(path, spanText(ns), given) }

// law adds the settings of a law. value writes a number of its kind.
func (l *lister) law(path string, w chance.Law, value func(float64) string, given bool) {
	at := path + "." + w.Family.String()
	switch w.Family {
	case chance.Fixed:
		l.add(path, value(w.Scale), given)
	case chance.Exponential:
		l.add(at+".mean", value(w.Scale), given)
	case chance.Geometric:
		l.add(at+".mean", number(w.Scale), given)
	case chance.Weibull:
		l.add(at+".shape", number(w.Shape), given)
		l.add(at+".scale", value(w.Scale), given)
	case chance.Lognormal:
		l.add(at+".median", value(w.Scale), given)
		l.add(at+".sigma", number(w.Shape), given)
	case chance.Loguniform, chance.Uniform:
		l.add(at+".low", value(w.Low), given)
		l.add(at+".high", value(w.High), given)
	default:
		for i, b := range w.Bins {
			l.bin(fmt.Sprintf("%s.%d", at, i), b, value, given)
		}
	}
}

// bin adds one row of a table.
func (l *lister) bin(at string, b chance.Bin, value func(float64) string, given bool) {
	l.add(at+".share", number(b.Share), given)
	if b.Low == b.High {
		l.add(at+".value", value(b.Low), given)
		return
	}
	l.add(at+".low", value(b.Low), given)
	l.add(at+".high", value(b.High), given)
}
