package setting

import (
	"bytes"
	"strconv"
	"strings"
)

// YAML writes settings as a scenario that resolves to the same World. Every
// line that was not given by the user says so, with the grade of the default.
func YAML(settings []Setting) []byte {
	root := &branch{}
	for i := range settings {
		root.put(strings.Split(settings[i].Path, "."), &settings[i])
	}
	var out bytes.Buffer
	root.write(&out, 0, false)
	return out.Bytes()
}

// branch is a key with what lies below it, in the order of arrival: a leaf with
// a setting, a map, or a list when its keys are numbers.
type branch struct {
	key   string
	value *Setting
	below []*branch
}

// put hangs a setting into the tree.
func (b *branch) put(path []string, s *Setting) {
	if len(path) == 0 {
		b.value = s
		return
	}
	for _, c := range b.below {
		if c.key == path[0] {
			c.put(path[1:], s)
			return
		}
	}
	c := &branch{key: path[0]}
	b.below = append(b.below, c)
	c.put(path[1:], s)
}

// list says whether the branch is a list.
func (b *branch) list() bool {
	if len(b.below) == 0 {
		return false
	}
	_, err := strconv.Atoi(b.below[0].key)
	return err == nil
}

// write writes what lies below the branch. inline: the first line continues one
// that is there, after the dash of a list.
func (b *branch) write(out *bytes.Buffer, indent int, inline bool) {
	list := b.list()
	for i, c := range b.below {
		if i > 0 || !inline {
			out.WriteString(strings.Repeat(" ", indent))
		}
		if list {
			out.WriteString("- ")
		} else {
			out.WriteString(c.key + ":")
		}
		switch {
		case c.value != nil:
			if !list {
				out.WriteByte(' ')
			}
			out.WriteString(c.value.Value + c.value.remark() + "\n")
		case list:
			c.write(out, indent+2, true)
		default:
			out.WriteByte('\n')
			c.write(out, indent+2, false)
		}
	}
}

// remark is the comment behind a default.
func (s *Setting) remark() string {
	switch {
	case s.Given:
		return ""
	case s.Grade == "":
		return " # default"
	}
	return " # default, grade " + s.Grade
}
