package scenarios

import (
	"bytes"
	"fmt"
	"io"
	"path"
	"regexp"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

const (
	sizeMax  = 8 << 20 // bytes of a scenario
	depthMax = 24      // maps and lists within one another; the language needs 9
)

// tree is the text of a scenario as nodes, after --set.
type tree struct {
	root *yaml.Node // a map
	// set holds, for what --set arguments wrote, which one it was.
	set map[*yaml.Node]place
}

// place returns where a node was written.
func (t *tree) place(n *yaml.Node) place {
	if p, ok := t.set[n]; ok {
		return p
	}
	return place{line: n.Line, column: n.Column}
}

// Parse reads a scenario. file names it in messages, data is its text (YAML or JSON, UTF-8), set are arguments of --set such as
// "timers.spf.rfc8405.long_delay=2s", applied in order before anything is checked. The problems are never nil; the scenario is
// not nil, but when there are problems it is incomplete and only good for finding more of them (Problems.Add).
func Parse(file string, data []byte, set ...string) (*Scenario, *Problems) {
	s := &Scenario{File: file, places: places{}, tree: &tree{set: map[*yaml.Node]place{}}}
	p := &Problems{File: file, source: s}
	if len(data) > sizeMax {
		p.add(place{}, "", fmt.Sprintf("is larger than %d MiB", sizeMax>>20), "is this a scenario?")
		return s, p
	}
	p.lines = strings.Split(string(data), "\n")
	root := load(data, p)
	if root == nil {
		return s, p
	}
	s.tree.root = root
	s.tree.setAll(set, p)
	w := &walker{s: s, p: p, tree: s.tree}
	w.scenario()
	return s, p
}

// Typed returns the scenario as typed, after --set, as YAML with comments. It is nil when nothing could be read.
func (s *Scenario) Typed() []byte {
	if s.tree.root == nil {
		return nil
	}
	var out bytes.Buffer
	e := yaml.NewEncoder(&out)
	e.SetIndent(2)
	if e.Encode(s.tree.root) != nil || e.Close() != nil {
		return nil
	}
	return out.Bytes()
}

// load returns the map at the top of a text, or nil after adding the one problem that keeps it from being read.
func load(data []byte, p *Problems) *yaml.Node {
	doc, err := decode(data)
	switch {
	case err == io.EOF:
		p.add(place{}, "", "there is nothing in it", "a scenario can be as short as: fabric: {clos: {leaves: 16, spines: 4}}")
		return nil
	case err != nil:
		line, text := syntax(err.Error())
		p.add(place{line: min(line, len(p.lines))}, "", text, syntaxHint(data, line, p))
		return nil
	}
	root := doc.Content[0]
	if root.Kind == yaml.ScalarNode && root.Tag == "!!null" {
		p.add(place{}, "", "there is nothing in it", "a scenario can be as short as: fabric: {clos: {leaves: 16, spines: 4}}")
		return nil
	}
	if bad := structure(root, 1); bad != nil {
		p.add(place{line: bad.node.Line, column: bad.node.Column}, "", bad.text, bad.hint)
		return nil
	}
	if root.Kind != yaml.MappingNode {
		p.add(place{line: root.Line, column: root.Column}, "", "a scenario is a map of keys, this is "+shape(root), "such as horizon: 90d")
		return nil
	}
	return root
}

// decode reads the one document of a text. What the YAML package cannot cope with is an error, never a panic.
func decode(data []byte) (doc *yaml.Node, err error) {
	defer func() {
		if r := recover(); r != nil {
			doc, err = nil, fmt.Errorf("cannot be read as YAML: %v", r)
		}
	}()
	d := yaml.NewDecoder(bytes.NewReader(data))
	doc = new(yaml.Node)
	if err := d.Decode(doc); err != nil {
		return nil, err
	}
	if len(doc.Content) == 0 {
		return nil, io.EOF
	}
	second := new(yaml.Node)
	if err := d.Decode(second); err == nil {
		return nil, fmt.Errorf("yaml: line %d: a second document begins here; one file is one scenario", second.Line)
	} else if err != io.EOF {
		return nil, err
	}
	return doc, nil
}

var syntaxLine = regexp.MustCompile(`line ([0-9]+): `)

// syntax takes the line out of an error of the YAML package.
func syntax(text string) (line int, rest string) {
	text = strings.TrimPrefix(text, "yaml: ")
	if m := syntaxLine.FindStringSubmatchIndex(text); m != nil {
		line, _ = strconv.Atoi(text[m[2]:m[3]])
		text = text[m[1]:]
	}
	return line, "cannot be read as YAML: " + text
}

// syntaxHint looks for the usual reason of a syntax error: a tab, which YAML does not take for indentation.
func syntaxHint(data []byte, line int, p *Problems) string {
	for i := max(line-2, 0); i < min(line+1, len(p.lines)); i++ {
		indent := p.lines[i][:len(p.lines[i])-len(strings.TrimLeft(p.lines[i], " \t"))]
		if strings.Contains(indent, "\t") {
			return fmt.Sprintf("line %d is indented with a tab: use spaces", i+1)
		}
	}
	return ""
}

// ill is a node that has no place in a scenario, whatever it stands for.
type ill struct {
	node       *yaml.Node
	text, hint string
}

// structure looks for what the language leaves out of YAML: anchors and aliases, tags, and endless nesting.
func structure(n *yaml.Node, depth int) *ill {
	switch {
	case n.Kind == yaml.AliasNode:
		return &ill{n, "an alias (*" + clip(n.Value) + ") is not allowed", "write the value out"}
	case n.Anchor != "":
		return &ill{n, "an anchor (&" + clip(n.Anchor) + ") is not allowed", "write the value out where it is needed"}
	case n.Style&yaml.TaggedStyle != 0:
		return &ill{n, "a tag (" + clip(n.Tag) + ") is not allowed", "write the value alone"}
	case depth > depthMax:
		return &ill{n, "maps and lists are nested too deeply", "no key of a scenario lies that deep"}
	}
	for _, c := range n.Content {
		if bad := structure(c, depth+1); bad != nil {
			return bad
		}
	}
	return nil
}

// shape says what a node is.
func shape(n *yaml.Node) string {
	switch n.Kind {
	case yaml.SequenceNode:
		if len(n.Content) == 0 {
			return "an empty list"
		}
		return "a list"
	case yaml.MappingNode:
		return "a map"
	}
	if n.Tag == "!!null" {
		return "nothing"
	}
	return "the value " + quote(n.Value)
}

// stem is the name of a scenario that gives none: that of its file.
func stem(file string) string {
	base := path.Base(strings.ReplaceAll(file, `\`, "/"))
	return strings.TrimSuffix(base, path.Ext(base))
}
