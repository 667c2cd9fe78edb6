package outline

import (
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// place is where something was written: a line and a column, both from 1, or the --set argument that wrote it.
type place struct {
	line, column int
	set          string // "" when it stands in the file
	order        int    // of the --set argument
}

// placeOf returns where a node was written.
func (o *Outline) placeOf(n *yaml.Node) place {
	if p, ok := o.set[n]; ok {
		return p
	}
	return place{line: n.Line, column: n.Column}
}

// find returns the place of the value at a key path; when it was not written, exact is false and the place is that of its
// nearest written parent, or none.
func (o *Outline) find(path string) (at place, exact bool) {
	if o.root == nil {
		return place{}, false
	}
	n, depth := o.root, 0
	keys := strings.Split(path, ".")
	for _, k := range keys {
		below := child(n, k)
		if below == nil {
			break
		}
		n, depth = below, depth+1
	}
	if depth == 0 {
		return place{}, false
	}
	return o.placeOf(n), depth == len(keys)
}

// child returns the value of a key of a map or the entry of a list with an index or a name, nil when there is none.
func child(n *yaml.Node, key string) *yaml.Node {
	switch n.Kind {
	case yaml.MappingNode:
		if slot := member(n, key); slot != nil {
			return *slot
		}
	case yaml.SequenceNode:
		if i, f := entry(n, key, ""); f == nil {
			return n.Content[i]
		}
	}
	return nil
}

// Place returns the line and the column, both from 1, of the value at a key path such as "timers.spf.rfc8405.holddown" or
// "failures.2.life"; entries of lists may be named ("failures.optic-dirty.life"). It is not ok for what was not written in
// the file.
func (o *Outline) Place(path string) (line, column int, ok bool) {
	p, exact := o.find(path)
	if !exact || p.set != "" {
		return 0, 0, false
	}
	return p.line, p.column, true
}

// Join appends a key to a key path.
func Join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// Index is the path of an entry of a list.
func Index(path string, i int) string { return Join(path, strconv.Itoa(i)) }
