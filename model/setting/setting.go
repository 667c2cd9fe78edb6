// Package setting is a list of settings in force: how their values are written
// so that a scenario reads them back to the last bit, where defaults come from,
// and the whole list as a scenario.
//
// It knows no World: the model fills the list. It is tested by reading back what
// it writes and, in the model, by round trips of whole scenarios.
package setting

import (
	"fmt"
	"sort"
	"strings"

	"halflight/model/chance"
	"halflight/model/timer"
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

// Keys fills in the keys. A name comes first in its entry.
func (l *List) Keys() {
	at, name := "", ""
	for i := range l.Settings {
		s := &l.Settings[i]
		s.Key = s.Path
		for _, list := range []string{"applications", "telemetry", "failures"} {
			if Matches(list+".*.name", s.Path) {
				at, name = strings.TrimSuffix(s.Path, "name"), list+"."+s.Value+"."
			}
		}
		if rest, inside := strings.CutPrefix(s.Path, at); at != "" && inside {
			s.Key = name + rest
		}
	}
}

// Remark says whether a setting only describes.
func Remark(key string) bool {
	return strings.HasSuffix(key, ".note") || strings.HasSuffix(key, ".grade") || key == "about"
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

// List collects settings.
type List struct{ Settings []Setting }

// Add adds a setting. A default gets the note of its path.
func (l *List) Add(path, value string, given bool) {
	s := Setting{Path: path, Value: value, Given: given}
	if n, ok := noteOf(path); ok && !given {
		s.Source, s.Grade, s.Range, s.Wide = n.Source, n.Grade, n.Range, n.Wide
	}
	l.Settings = append(l.Settings, s)
}

// noteOf finds the note of a path: the first whose path it is, or lies below.
func noteOf(path string) (timer.Note, bool) {
	for _, table := range [][]timer.Note{timer.Notes, notes} {
		for _, n := range table {
			if Matches(n.Path, path) {
				return n, true
			}
		}
	}
	return timer.Note{}, false
}

// Matches says whether a path begins with a pattern, in which "*" stands for
// any one key.
func Matches(pattern, path string) bool {
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

// Time adds a time in ns.
func (l *List) Time(path string, ns int64, given bool) { l.Add(path, Span(ns), given) }

// Law adds the settings of a law. value writes a number of its kind.
func (l *List) Law(path string, w chance.Law, value func(float64) string, given bool) {
	at := path + "." + w.Family.String()
	switch w.Family {
	case chance.Fixed:
		l.Add(path, value(w.Scale), given)
	case chance.Exponential:
		l.Add(at+".mean", value(w.Scale), given)
	case chance.Geometric:
		l.Add(at+".mean", Number(w.Scale), given)
	case chance.Weibull:
		l.Add(at+".shape", Number(w.Shape), given)
		l.Add(at+".scale", value(w.Scale), given)
	case chance.Lognormal:
		l.Add(at+".median", value(w.Scale), given)
		l.Add(at+".sigma", Number(w.Shape), given)
	case chance.Loguniform, chance.Uniform:
		l.Add(at+".low", value(w.Low), given)
		l.Add(at+".high", value(w.High), given)
	default:
		for i, b := range w.Bins {
			l.bin(fmt.Sprintf("%s.%d", at, i), b, value, given)
		}
	}
}

// bin adds one row of a table.
func (l *List) bin(at string, b chance.Bin, value func(float64) string, given bool) {
	l.Add(at+".share", Number(b.Share), given)
	if b.Low == b.High {
		l.Add(at+".value", value(b.Low), given)
		return
	}
	l.Add(at+".low", value(b.Low), given)
	l.Add(at+".high", value(b.High), given)
}
