package scenarios

import (
	"strconv"
	"strings"
)

// place is where something was written: a line and a column, both from 1, or the --set argument that wrote it.
type place struct {
	line, column int
	set          string // "" when it stands in the file
	order        int    // of the --set argument
}

// places maps key paths such as "failures.2.life" to where their values were written.
type places map[string]place

// find returns the place of path or, when it was not written, of its nearest written parent.
func (ps places) find(path string) (place, bool) {
	for {
		if p, ok := ps[path]; ok {
			return p, true
		}
		cut := strings.LastIndexByte(path, '.')
		if cut < 0 {
			return place{}, false
		}
		path = path[:cut]
	}
}

// Place returns the line and the column, both from 1, of the value at a key path such as "timers.spf.rfc8405.holddown" or
// "failures.2.life"; entries of lists may be named ("failures.optic-dirty.life"). It is not ok for what was not written in
// the file.
func (s *Scenario) Place(path string) (line, column int, ok bool) {
	p, ok := s.places[s.byIndex(path)]
	return p.line, p.column, ok && p.set == ""
}

// byIndex replaces the names of entries of lists in a key path by their indices.
func (s *Scenario) byIndex(path string) string {
	list, rest, found := strings.Cut(path, ".")
	if !found {
		return path
	}
	name, rest, more := strings.Cut(rest, ".")
	i := s.indexOf(list, name)
	if i < 0 {
		return path
	}
	path = join(list, strconv.Itoa(i))
	if more {
		path = join(path, rest)
	}
	return path
}

// indexOf returns the index of the entry of a list with this name, -1 when there is none.
func (s *Scenario) indexOf(list, name string) int {
	switch list {
	case "failures":
		for i := range s.Failures {
			if s.Failures[i].Name == name {
				return i
			}
		}
	case "applications":
		for i := range s.Applications {
			if s.Applications[i].Name == name {
				return i
			}
		}
	case "telemetry":
		for i := range s.Telemetry {
			if s.Telemetry[i].Name == name {
				return i
			}
		}
	}
	return -1
}

// join appends a key to a key path.
func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}
