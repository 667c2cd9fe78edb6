package scenarios

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// reject adds a problem with a value as typed.
func (w *walker) reject(n *yaml.Node, path string, f *fault) {
	w.bad(n, path, quote(n.Value)+" "+f.text, f.hint)
}

// duration reads a duration of at least least.
func (o *object) duration(key string, to **Duration, least Duration) {
	if n, path := o.scalar(key); n != nil {
		if d, ok := o.w.duration(n, path); ok && d < least {
			o.wrong(key, quote(n.Value)+" is too short", "at least "+least.String())
		} else if ok {
			*to = &d
		}
	}
}

// duration reads a node as a duration.
func (w *walker) duration(n *yaml.Node, path string) (Duration, bool) {
	if n.Kind != yaml.ScalarNode {
		w.bad(n, path, "must be a duration, this is "+shape(n), "such as 50ms")
		return 0, false
	}
	d, f := parseDuration(n.Value)
	if f != nil {
		w.reject(n, path, f)
	}
	return d, f == nil
}

// number reads a number of some kind between two bounds.
func (o *object) number(key string, to **float64, parse func(string) (float64, *fault), low, high float64) {
	n, path := o.scalar(key)
	if n == nil {
		return
	}
	v, f := parse(n.Value)
	if f == nil && (v < low || v > high) {
		f = &fault{"is out of range", fmt.Sprintf("from %v to %v", low, high)}
	}
	if f != nil {
		o.w.reject(n, path, f)
		return
	}
	*to = &v
}

// share reads a share from 0 to most.
func (o *object) share(key string, to **float64, most float64) {
	o.number(key, to, parseShare, 0, most)
}

// positive reads a share above 0.
func (o *object) positive(key string, to **float64) {
	o.share(key, to, 1)
	if *to != nil && **to == 0 {
		o.wrong(key, "must be above 0", "")
		*to = nil
	}
}

// rate reads a rate above 0.
func (o *object) rate(key string, to **Rate) {
	n, path := o.scalar(key)
	if n == nil {
		return
	}
	v, f := parseRate(n.Value)
	if f == nil && v <= 0 {
		f = &fault{"must be above 0", ""}
	}
	if f != nil {
		o.w.reject(n, path, f)
		return
	}
	r := Rate(v)
	*to = &r
}

// speed reads a speed.
func (o *object) speed(key string, to **Speed) {
	if n, path := o.scalar(key); n != nil {
		v, f := parseSpeed(n.Value)
		if f != nil {
			o.w.reject(n, path, f)
			return
		}
		s := Speed(v)
		*to = &s
	}
}

// bytes reads a size in whole bytes, at least 1.
func (o *object) bytes(key string, to **int64) {
	if n, path := o.scalar(key); n != nil {
		if v, ok := o.w.bytes(n, path); ok {
			*to = &v
		}
	}
}

// bytes reads a node as a size in whole bytes.
func (w *walker) bytes(n *yaml.Node, path string) (int64, bool) {
	if n.Kind != yaml.ScalarNode {
		w.bad(n, path, "must be a size, this is "+shape(n), "such as 1500B")
		return 0, false
	}
	v, f := parseBytes(n.Value)
	if f == nil && (v < 1 || v > 1e9 || v != float64(int64(v))) {
		f = &fault{"is out of range", "whole bytes, from 1 to 1e9"}
	}
	if f != nil {
		w.reject(n, path, f)
		return 0, false
	}
	return int64(v), true
}

var wholeNumber = regexp.MustCompile(`^(0|[1-9][0-9]*)$`)

// whole reads a whole number between two bounds.
func (o *object) whole(key string, to **int, low, high int) {
	n, path := o.scalar(key)
	if n == nil {
		return
	}
	v, err := strconv.Atoi(n.Value)
	switch {
	case !wholeNumber.MatchString(n.Value) && !strings.HasPrefix(n.Value, "-"):
		o.w.reject(n, path, &fault{"is not a whole number", "digits only"})
	case err != nil || v < low || v > high:
		o.w.reject(n, path, &fault{"is out of range", fmt.Sprintf("from %d to %d", low, high)})
	default:
		*to = &v
	}
}

// flag reads true or false.
func (o *object) flag(key string, to **bool) {
	if n, path := o.scalar(key); n != nil {
		if v, ok := truth(n); ok {
			*to = &v
		} else {
			o.w.reject(n, path, &fault{"is not a switch", "true or false"})
		}
	}
}

// truth reads a node as true or false.
func truth(n *yaml.Node) (value, ok bool) {
	ok = n.Kind == yaml.ScalarNode && (n.Value == "true" || n.Value == "false")
	return n.Value == "true", ok
}

// switchable opens what is either a map or a switch: off is true for false, the map nil for true. given is false when neither.
func (o *object) switchable(key string) (m *object, off, given bool) {
	n, path := o.take(key)
	if n == nil {
		return nil, false, false
	}
	if v, ok := truth(n); ok {
		return nil, !v, true
	}
	if n.Kind != yaml.MappingNode {
		o.w.bad(n, path, "must be a map of keys or false, this is "+shape(n), "")
		return nil, false, false
	}
	return o.w.object(n, path), false, true
}

// text reads any single value as text.
func (o *object) text(key string) string {
	if n, _ := o.scalar(key); n != nil {
		return n.Value
	}
	return ""
}

// word reads one of a few words and returns its index, -1 when not given or none of them.
func (o *object) word(key string, words ...string) int {
	n, path := o.scalar(key)
	if n == nil {
		return -1
	}
	for i, w := range words {
		if n.Value == w && w != "" {
			return i
		}
	}
	o.w.reject(n, path, &fault{"is not known here", spelling(n.Value, words)})
	return -1
}

var properName = regexp.MustCompile(`^[A-Za-z0-9_-]*[A-Za-z_-][A-Za-z0-9_-]*$`)

// name reads the name of an entry: letters, digits, - and _, not digits alone, since --set tells entries by name or index.
// names holds those already used, with their lines.
func (o *object) name(used map[string]int) string {
	n, path := o.scalar("name")
	if n == nil {
		return ""
	}
	switch line, twice := used[n.Value]; {
	case !properName.MatchString(n.Value) || len(n.Value) > 60:
		o.w.reject(n, path, &fault{"is not a name", "letters, digits, - and _, at most 60, not digits alone"})
		return ""
	case twice && line > 0:
		o.w.reject(n, path, &fault{"is a name given twice", fmt.Sprintf("first on line %d", line)})
	case twice:
		o.w.reject(n, path, &fault{"is a name given twice", ""})
	}
	if _, twice := used[n.Value]; !twice {
		used[n.Value] = n.Line
	}
	return n.Value
}
