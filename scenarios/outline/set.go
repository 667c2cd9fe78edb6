package outline

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"halflight/scenarios/wording"
)

// setAll applies the arguments of --set in order.
func (o *Outline) setAll(set []string) {
	for i, arg := range set {
		at := place{set: arg, order: i + 1}
		if f := o.apply(arg, at); f != nil {
			o.Problems.add(at, "", f.Text, f.Hint)
		}
	}
}

// apply applies one argument KEY=VALUE. The key is a path; entries of lists go by name or index.
func (o *Outline) apply(arg string, at place) *wording.Fault {
	path, text, found := strings.Cut(arg, "=")
	if !found {
		return wording.Wrong("has no value", "write --set key=value")
	}
	value, f := setValue(text)
	if f != nil {
		return f
	}
	o.mark(value, at)
	keys := strings.Split(strings.TrimSpace(path), ".")
	n := o.root
	for i, k := range keys {
		if k == "" {
			return wording.Wrong("has an empty key", "write --set timers.spf_run=5ms")
		}
		last := i == len(keys)-1
		switch n.Kind {
		case yaml.SequenceNode:
			j, f := entry(n, k, strings.Join(keys[:i], "."))
			if f != nil {
				return f
			}
			if last {
				n.Content[j] = value
				return nil
			}
			n.Content[j] = o.room(n.Content[j], at)
			n = n.Content[j]
		default:
			if last {
				o.put(n, k, value, at)
				return nil
			}
			if slot := member(n, k); slot == nil && i == 0 && slices.Contains(o.grammar.Lists, k) {
				return wording.Wrong(k+" is not given in the scenario, so that no entry can be changed", "write the list in the file")
			} else if slot != nil {
				*slot = o.room(*slot, at)
				n = *slot
			} else {
				empty := o.mark(&yaml.Node{Kind: yaml.MappingNode, Tag: "!!map"}, at)
				o.put(n, k, empty, at)
				n = empty
			}
		}
	}
	return nil
}

// setValue reads the value of an argument as YAML.
func setValue(text string) (*yaml.Node, *wording.Fault) {
	doc, err := decode([]byte(text))
	if err != nil || len(doc.Content) == 0 || doc.Content[0].Tag == "!!null" {
		if spaced := strings.ReplaceAll(strings.ReplaceAll(text, ": ", ":"), ":", ": "); err != nil && spaced != text && strings.ContainsAny(text, "{[") {
			if _, err := decode([]byte(spaced)); err == nil {
				return nil, wording.Wrong("holds a map that cannot be read", "a space goes behind each colon: "+wording.Clip(spaced))
			}
		}
		return nil, wording.Wrong("has no value that can be read", "write --set key=value")
	}
	if bad := structure(doc.Content[0], 1); bad != nil {
		return nil, wording.Wrong(bad.text, bad.hint)
	}
	return doc.Content[0], nil
}

// mark notes that a node and all below it come from an argument.
func (o *Outline) mark(n *yaml.Node, at place) *yaml.Node {
	o.set[n] = at
	n.Line, n.Column = 0, 0
	for _, c := range n.Content {
		o.mark(c, at)
	}
	return n
}

// room returns a node that can hold keys: the node itself, or a new map in place of a single value.
func (o *Outline) room(n *yaml.Node, at place) *yaml.Node {
	if n.Kind == yaml.ScalarNode {
		return o.mark(&yaml.Node{Kind: yaml.MappingNode, Tag: "!!map"}, at)
	}
	return n
}

// member returns where the value of a key of a map is held, nil when it has none. Of a key given twice it is the first.
func member(n *yaml.Node, key string) **yaml.Node {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return &n.Content[i+1]
		}
	}
	return nil
}

// put sets a key of a map and removes those it excludes.
func (o *Outline) put(n *yaml.Node, key string, value *yaml.Node, at place) {
	for _, set := range o.grammar.Alternatives {
		if slices.Contains(set, key) {
			n.Content = without(n.Content, set, key)
		}
	}
	if slot := member(n, key); slot != nil {
		*slot = value
		return
	}
	name := o.mark(&yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: key}, at)
	n.Content = append(n.Content, name, value)
}

// without returns the pairs of a map less those of other keys of a set.
func without(pairs []*yaml.Node, set []string, key string) []*yaml.Node {
	var kept []*yaml.Node
	for i := 0; i+1 < len(pairs); i += 2 {
		if k := pairs[i].Value; k == key || !slices.Contains(set, k) {
			kept = append(kept, pairs[i], pairs[i+1])
		}
	}
	return kept
}

// entry returns the index of an entry of a list by its name or its index.
func entry(n *yaml.Node, key, path string) (int, *wording.Fault) {
	if i, err := strconv.Atoi(key); err == nil {
		if i < 0 || i >= len(n.Content) {
			return 0, wording.Wrong(fmt.Sprintf("%s has no entry %d", path, i), fmt.Sprintf("the last is %d", len(n.Content)-1))
		}
		return i, nil
	}
	var names []string
	for i, c := range n.Content {
		if c.Kind != yaml.MappingNode {
			continue
		}
		if slot := member(c, "name"); slot != nil {
			if (*slot).Value == key {
				return i, nil
			}
			names = append(names, (*slot).Value)
		}
	}
	return 0, wording.Wrong(path+" has no entry "+wording.Quote(key), wording.Spelling(key, names))
}
