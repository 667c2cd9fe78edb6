package outline

import (
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"halflight/scenarios/wording"
)

// Bad adds a problem with a node.
func (o *Outline) Bad(n *yaml.Node, path, text, hint string) {
	o.Problems.add(o.placeOf(n), path, text, hint)
}

// Object is a map being read. Every key asked for is known; Done calls the others unknown.
type Object struct {
	Path   string
	Node   *yaml.Node
	Keys   []*yaml.Node // as written, without repetitions
	out    *Outline
	values map[string]*yaml.Node
	asked  []string
}

// Outline returns the outline the map belongs to.
func (o *Object) Outline() *Outline { return o.out }

// Know makes keys known without taking their values.
func (o *Object) Know(keys ...string) { o.asked = append(o.asked, keys...) }

// Peek returns the value of a key as it is, nil when it is not given, and does not make the key known.
func (o *Object) Peek(key string) *yaml.Node { return o.values[key] }

// Open opens a map; it is nil, after a problem, when the node is none.
func (o *Outline) Open(n *yaml.Node, path string) *Object {
	if n.Kind != yaml.MappingNode {
		o.Bad(n, path, "must be a map of keys, this is "+Shape(n), "")
		return nil
	}
	m := &Object{out: o, Path: path, Node: n, values: map[string]*yaml.Node{}}
	for i := 0; i+1 < len(n.Content); i += 2 {
		m.enter(n.Content[i], n.Content[i+1])
	}
	return m
}

// enter takes one key of a map.
func (o *Object) enter(key, value *yaml.Node) {
	switch {
	case key.Tag == "!!merge":
		o.out.Bad(key, o.Path, "merge keys (<<) are not allowed", "write the keys out")
		return
	case key.Kind != yaml.ScalarNode:
		o.out.Bad(key, o.Path, "a key must be a word, this is "+Shape(key), "")
		return
	}
	if _, twice := o.values[key.Value]; twice {
		o.out.Bad(key, o.Path, "key "+wording.Quote(key.Value)+" is given twice", o.firstOf(key.Value))
		return
	}
	o.values[key.Value] = value
	o.Keys = append(o.Keys, key)
}

// firstOf says where a key stood first.
func (o *Object) firstOf(key string) string {
	for _, k := range o.Keys {
		if k.Value == key && k.Line > 0 {
			return fmt.Sprintf("first on line %d", k.Line)
		}
	}
	return ""
}

// Has reports whether a key is given.
func (o *Object) Has(key string) bool { return o.values[key] != nil }

// Take returns the value of a key and its path, nil when it is not given; a key without value is a problem.
func (o *Object) Take(key string) (*yaml.Node, string) {
	path := Join(o.Path, key)
	o.asked = append(o.asked, key)
	n := o.values[key]
	if n == nil {
		return nil, path
	}
	if n.Tag == "!!null" && n.Kind == yaml.ScalarNode {
		o.out.Bad(n, path, "has no value", "leave the key out to have the default")
		return nil, path
	}
	return n, path
}

// Scalar returns the text of the value of a key.
func (o *Object) Scalar(key string) (*yaml.Node, string) {
	n, path := o.Take(key)
	if n != nil && n.Kind != yaml.ScalarNode {
		o.out.Bad(n, path, "must be a single value, this is "+Shape(n), "")
		return nil, path
	}
	return n, path
}

// Open opens the map at a key; nil when not given or none.
func (o *Object) Open(key string) *Object {
	n, path := o.Take(key)
	if n == nil {
		return nil
	}
	return o.out.Open(n, path)
}

// Items returns the entries of the list at a key and its path; given is false when it is not given or none.
func (o *Object) Items(key string) (items []*yaml.Node, path string, given bool) {
	n, path := o.Take(key)
	if n == nil {
		return nil, path, false
	}
	if n.Kind != yaml.SequenceNode {
		o.out.Bad(n, path, "must be a list, this is "+Shape(n), "")
		return nil, path, false
	}
	return n.Content, path, true
}

// Require adds a problem for each key that is missing.
func (o *Object) Require(keys ...string) bool {
	var missing []string
	for _, k := range keys {
		if !o.Has(k) {
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
	o.out.Bad(o.Node, o.Path, strings.Join(missing, ", ")+" "+verb+" missing", "")
	return false
}

// Wrong adds a problem with the value of a key that was given.
func (o *Object) Wrong(key, text, hint string) {
	o.out.Bad(o.values[key], Join(o.Path, key), text, hint)
}

// Choice finds which one of the keys of a map of alternatives is given and returns its index, -1 after a problem. The caller
// opens it and calls Done.
func (o *Object) Choice(keys ...string) int {
	found, strange := -1, false
	for _, k := range o.Keys {
		i := slices.Index(keys, k.Value)
		switch {
		case i >= 0 && found >= 0:
			o.out.Bad(k, o.Path, keys[found]+" and "+keys[i]+" exclude one another", "keep one")
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
		o.out.Bad(o.Node, o.Path, "needs one of "+strings.Join(keys, ", "), "")
	}
	return found
}

// KeyNode returns the node of a key that is given.
func (o *Object) KeyNode(key string) *yaml.Node {
	return o.Keys[slices.IndexFunc(o.Keys, func(k *yaml.Node) bool { return k.Value == key })]
}

// Done adds a problem for every key that nobody asked for.
func (o *Object) Done() {
	for _, k := range o.Keys {
		if !slices.Contains(o.asked, k.Value) {
			o.out.Bad(k, o.Path, "unknown key "+wording.Quote(k.Value), wording.Spelling(k.Value, o.asked))
		}
	}
}
