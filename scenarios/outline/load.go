// Package outline is the text of a scenario as maps, lists and values with their places: it reads YAML, applies --set, hands out
// values by key, and collects every problem.
//
// It knows how values are written, not which keys the language has. It is tested through the broken scenarios of scenarios.
package outline

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"halflight/scenarios/wording"
)

const (
	sizeMax  = 8 << 20 // bytes of a scenario
	depthMax = 24      // maps and lists within one another; the language needs 9
)

// Grammar is what the outline must know of the language.
type Grammar struct {
	// Alternatives are sets of keys that exclude one another: to set one by --set removes the others.
	Alternatives [][]string
	// Lists are keys at the top whose values are lists of entries, which --set changes but does not begin.
	Lists []string
}

// Outline is the text of a scenario as nodes, after --set, with the place of everything in it.
type Outline struct {
	Problems *Problems
	grammar  *Grammar
	root     *yaml.Node           // a map, nil when nothing could be read
	set      map[*yaml.Node]place // what --set arguments wrote
}

// Read reads a text (YAML or JSON, UTF-8) and applies arguments of --set. The problems in it are in Problems, which is not nil.
func Read(file string, data []byte, set []string, g *Grammar) *Outline {
	o := &Outline{grammar: g, set: map[*yaml.Node]place{}}
	o.Problems = &Problems{File: file, source: o}
	if len(data) > sizeMax {
		o.Problems.add(place{}, "", fmt.Sprintf("is larger than %d MiB", sizeMax>>20), "is this a scenario?")
		return o
	}
	o.Problems.lines = strings.Split(string(data), "\n")
	if o.root = load(data, o.Problems); o.root != nil {
		o.setAll(set)
	}
	return o
}

// Root opens the map at the top; it is nil when nothing could be read.
func (o *Outline) Root() *Object {
	if o.root == nil {
		return nil
	}
	return o.Open(o.root, "")
}

// Typed returns the text after --set, as YAML with comments. It is nil when nothing could be read.
func (o *Outline) Typed() []byte {
	if o.root == nil {
		return nil
	}
	var out bytes.Buffer
	e := yaml.NewEncoder(&out)
	e.SetIndent(2)
	if e.Encode(o.root) != nil || e.Close() != nil {
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
		p.add(place{line: root.Line, column: root.Column}, "", "a scenario is a map of keys, this is "+Shape(root), "such as horizon: 90d")
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

// cutShort is a link within braces whose index is taken for a comment.
var cutShort = regexp.MustCompile(`^[^#]*[{\[][^#}\]]*[~>][^ ,#]+ +#[0-9]`)

// syntax takes the line out of an error of the YAML package.
func syntax(text string) (line int, rest string) {
	text = strings.TrimPrefix(text, "yaml: ")
	if m := syntaxLine.FindStringSubmatchIndex(text); m != nil {
		line, _ = strconv.Atoi(text[m[2]:m[3]])
		text = text[m[1]:]
	}
	return line, "cannot be read as YAML: " + text
}

// syntaxHint looks for the usual reasons of a syntax error: a tab, which YAML does not take for indentation, and a name
// that a comment cuts short. The YAML package may name the line before.
func syntaxHint(data []byte, line int, p *Problems) string {
	for i := max(line-2, 0); i < min(line+1, len(p.lines)); i++ {
		indent := p.lines[i][:len(p.lines[i])-len(strings.TrimLeft(p.lines[i], " \t"))]
		if strings.Contains(indent, "\t") {
			return fmt.Sprintf("line %d is indented with a tab: use spaces", i+1)
		}
		if cutShort.MatchString(p.lines[i]) {
			return fmt.Sprintf("in line %d a comment begins at the #: write the link without the blank", i+1)
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
		return &ill{n, "an alias (*" + wording.Clip(n.Value) + ") is not allowed", "write the value out"}
	case n.Anchor != "":
		return &ill{n, "an anchor (&" + wording.Clip(n.Anchor) + ") is not allowed", "write the value out where it is needed"}
	case n.Style&yaml.TaggedStyle != 0:
		return &ill{n, "a tag (" + wording.Clip(n.Tag) + ") is not allowed", "write the value alone"}
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

// Shape says what a node is.
func Shape(n *yaml.Node) string {
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
	return "the value " + wording.Quote(n.Value)
}
