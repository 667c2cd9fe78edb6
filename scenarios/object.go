package scenarios

import (
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"
)

// walker goes through the nodes of a scenario and types what it meets.
type walker struct {
	s    *Scenario
	p    *Problems
	tree *tree
	n    *Numbers // of the fabric, nil when they are wrong
}

// bad adds a problem with a node.
func (w *walker) bad(n *yaml.Node, path, text, hint string) {
	w.p.add(w.tree.place(n), path, text, hint)
}

// object is a map being read. Every key asked for is known; done calls the others unknown.
type object struct {
	w      *walker
	path   string
	node   *yaml.Node
	values map[string]*yaml.Node
	keys   []*yaml.Node // as written, without repetitions
	asked  []string
}

// object opens a map; it is nil, after a problem, when the node is none.
func (w *walker) object(n *yaml.Node, path string) *object {
	w.s.places[path] = w.tree.place(n)
	if n.Kind != yaml.MappingNode {
		w.bad(n, path, "must be a map of keys, this is "+shape(n), "")
		return nil
	}
	o := &object{w: w, path: path, node: n, values: map[string]*yaml.Node{}}
	for i := 0; i+1 < len(n.Content); i += 2 {
		o.enter(n.Content[i], n.Content[i+1])
	}
	return o
}

// enter takes one key of a map.
func (o *object) enter(key, value *yaml.Node) {
	switch {
	case key.Tag == "!!merge":
		o.w.bad(key, o.path, "merge keys (<<) are not allowed", "write the keys out")
		return
	case key.Kind != yaml.ScalarNode:
		o.w.bad(key, o.path, "a key must be a word, this is "+shape(key), "")
		return
	}
	if _, twice := o.values[key.Value]; twice {
		o.w.bad(key, o.path, "key "+quote(key.Value)+" is given twice", o.firstOf(key.Value))
		return
	}
	o.values[key.Value] = value
	o.keys = append(o.keys, key)
}

// firstOf says where a key stood first.
func (o *object) firstOf(key string) string {
	for _, k := range o.keys {
		if k.Value == key && k.Line > 0 {
			return fmt.Sprintf("first on line %d", k.Line)
		}
	}
	return ""
}

// has reports whether a key is given.
func (o *object) has(key string) bool { return o.values[key] != nil }

// take returns the value of a key and its path, nil when it is not given; a key without value is a problem.
func (o *object) take(key string) (*yaml.Node, string) {
	path := join(o.path, key)
	o.asked = append(o.asked, key)
	n := o.values[key]
	if n == nil {
		return nil, path
	}
	o.w.s.places[path] = o.w.tree.place(n)
	if n.Tag == "!!null" && n.Kind == yaml.ScalarNode {
		o.w.bad(n, path, "has no value", "leave the key out to have the default")
		return nil, path
	}
	return n, path
}

// scalar returns the text of the value of a key.
func (o *object) scalar(key string) (*yaml.Node, string) {
	n, path := o.take(key)
	if n != nil && n.Kind != yaml.ScalarNode {
		o.w.bad(n, path, "must be a single value, this is "+shape(n), "")
		return nil, path
	}
	return n, path
}

// open opens the map at a key; nil when not given or none.
func (o *object) open(key string) *object {
	n, path := o.take(key)
	if n == nil {
		return nil
	}
	return o.w.object(n, path)
}

// items returns the entries of the list at a key and its path; given is false when it is not given or none.
func (o *object) items(key string) (items []*yaml.Node, path string, given bool) {
	n, path := o.take(key)
	if n == nil {
		return nil, path, false
	}
	if n.Kind != yaml.SequenceNode {
		o.w.bad(n, path, "must be a list, this is "+shape(n), "")
		return nil, path, false
	}
	return n.Content, path, true
}

// require adds a problem for each key that is missing.
func (o *object) require(keys ...string) bool {
	var missing []string
	for _, k := range keys {
		if !o.has(k) {
			missing = append(missing, k)
		}
	}
	if missing == nil {
		return true
	}
	verb := "is"
	if len(missing) > 1 {
		verb = "are"
	}
	o.w.bad(o.node, o.path, strings.Join(missing, ", ")+" "+verb+" missing", "")
	return false
}

// wrong adds a problem with the value of a key that was given.
func (o *object) wrong(key, text, hint string) { o.w.bad(o.values[key], join(o.path, key), text, hint) }

// choice finds which one of the keys of a map of alternatives is given and returns its index, -1 after a problem. The caller
// opens it and calls done.
func (o *object) choice(keys ...string) int {
	found, strange := -1, false
	for _, k := range o.keys {
		i := slices.Index(keys, k.Value)
		switch {
		case i >= 0 && found >= 0:
			o.w.bad(k, o.path, keys[found]+" and "+keys[i]+" exclude one another", "keep one")
			o.asked = append(o.asked, keys...)
			return -1
		case i >= 0:
			found = i
		default:
			strange = strange || !slices.Contains(o.asked, k.Value)
		}
	}
	o.asked = append(o.asked, keys...)
	if found < 0 && !strange {
		o.w.bad(o.node, o.path, "needs one of "+strings.Join(keys, ", "), "")
	}
	return found
}

// keyNode returns the node of a key that is given.
func (o *object) keyNode(key string) *yaml.Node {
	return o.keys[slices.IndexFunc(o.keys, func(k *yaml.Node) bool { return k.Value == key })]
}

// done adds a problem for every key that nobody asked for.
func (o *object) done() {
	for _, k := range o.keys {
		if !slices.Contains(o.asked, k.Value) {
			o.w.bad(k, o.path, "unknown key "+quote(k.Value), spelling(k.Value, o.asked))
		}
	}
}
