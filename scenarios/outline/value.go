package outline

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"halflight/scenarios/unit"
	"halflight/scenarios/wording"
)

// Reject adds a problem with a value as typed.
func (o *Outline) Reject(n *yaml.Node, path string, f *wording.Fault) {
	o.Bad(n, path, wording.Quote(n.Value)+" "+f.Text, f.Hint)
}

// Duration reads a duration of at least least.
func (o *Object) Duration(key string, to **unit.Duration, least unit.Duration) {
	if n, path := o.Scalar(key); n != nil {
		if d, ok := o.out.Duration(n, path); ok && d < least {
			o.Wrong(key, wording.Quote(n.Value)+" is too short", "at least "+least.String())
		} else if ok {
			*to = &d
		}
	}
}

// Duration reads a node as a duration.
func (o *Outline) Duration(n *yaml.Node, path string) (unit.Duration, bool) {
	if n.Kind != yaml.ScalarNode {
		o.Bad(n, path, "must be a duration, this is "+Shape(n), "such as 50ms")
		return 0, false
	}
	d, f := unit.ParseDuration(n.Value)
	if f != nil {
		o.Reject(n, path, f)
	}
	return d, f == nil
}

// Number reads a number of some kind between two bounds.
func (o *Object) Number(key string, to **float64, parse func(string) (float64, *wording.Fault), low, high float64) {
	n, path := o.Scalar(key)
	if n == nil {
		return
	}
	v, f := parse(n.Value)
	if f == nil && (v < low || v > high) {
		f = wording.Wrong("is out of range", fmt.Sprintf("from %v to %v", low, high))
	}
	if f != nil {
		o.out.Reject(n, path, f)
		return
	}
	*to = &v
}

// Share reads a share from 0 to most.
func (o *Object) Share(key string, to **float64, most float64) {
	o.Number(key, to, unit.ParseShare, 0, most)
}

// Positive reads a share above 0.
func (o *Object) Positive(key string, to **float64) {
	o.Share(key, to, 1)
	if *to != nil && **to == 0 {
		o.Wrong(key, "must be above 0", "")
		*to = nil
	}
}

// Rate reads a rate above 0.
func (o *Object) Rate(key string, to **unit.Rate) {
	n, path := o.Scalar(key)
	if n == nil {
		return
	}
	v, f := unit.ParseRate(n.Value)
	if f == nil && v <= 0 {
		f = wording.Wrong("must be above 0", "")
	}
	if f != nil {
		o.out.Reject(n, path, f)
		return
	}
	r := unit.Rate(v)
	*to = &r
}

// Speed reads a speed.
func (o *Object) Speed(key string, to **unit.Speed) {
	if n, path := o.Scalar(key); n != nil {
		v, f := unit.ParseSpeed(n.Value)
		if f != nil {
			o.out.Reject(n, path, f)
			return
		}
		s := unit.Speed(v)
		*to = &s
	}
}

// Bytes reads a size in whole bytes, at least 1.
func (o *Object) Bytes(key string, to **int64) {
	if n, path := o.Scalar(key); n != nil {
		if v, ok := o.out.Bytes(n, path); ok {
			*to = &v
		}
	}
}

// Bytes reads a node as a size in whole bytes.
func (o *Outline) Bytes(n *yaml.Node, path string) (int64, bool) {
	if n.Kind != yaml.ScalarNode {
		o.Bad(n, path, "must be a size, this is "+Shape(n), "such as 1500B")
		return 0, false
	}
	v, f := unit.ParseBytes(n.Value)
	if f == nil && (v < 1 || v > 1e9 || v != float64(int64(v))) {
		f = wording.Wrong("is out of range", "whole bytes, from 1 to 1e9")
	}
	if f != nil {
		o.Reject(n, path, f)
		return 0, false
	}
	return int64(v), true
}

var wholeNumber = regexp.MustCompile(`^(0|[1-9][0-9]*)$`)

// Whole reads a whole number between two bounds.
func (o *Object) Whole(key string, to **int, low, high int) {
	n, path := o.Scalar(key)
	if n == nil {
		return
	}
	v, err := strconv.Atoi(n.Value)
	switch {
	case !wholeNumber.MatchString(n.Value) && !strings.HasPrefix(n.Value, "-"):
		o.out.Reject(n, path, wording.Wrong("is not a whole number", "digits only"))
	case err != nil || v < low || v > high:
		o.out.Reject(n, path, wording.Wrong("is out of range", fmt.Sprintf("from %d to %d", low, high)))
	default:
		*to = &v
	}
}

// Flag reads true or false.
func (o *Object) Flag(key string, to **bool) {
	if n, path := o.Scalar(key); n != nil {
		if v, ok := truth(n); ok {
			*to = &v
		} else {
			o.out.Reject(n, path, wording.Wrong("is not a switch", "true or false"))
		}
	}
}

// truth reads a node as true or false.
func truth(n *yaml.Node) (value, ok bool) {
	ok = n.Kind == yaml.ScalarNode && (n.Value == "true" || n.Value == "false")
	return n.Value == "true", ok
}

// Switchable opens what is either a map or a switch: off is true for false, the map nil for true. given is false when neither.
func (o *Object) Switchable(key string) (m *Object, off, given bool) {
	n, path := o.Take(key)
	if n == nil {
		return nil, false, false
	}
	if v, ok := truth(n); ok {
		return nil, !v, true
	}
	if n.Kind != yaml.MappingNode {
		o.out.Bad(n, path, "must be a map of keys or false, this is "+Shape(n), "")
		return nil, false, false
	}
	return o.out.Open(n, path), false, true
}

// Text reads any single value as text.
func (o *Object) Text(key string) string {
	if n, _ := o.Scalar(key); n != nil {
		return n.Value
	}
	return ""
}

// Word reads one of a few words and returns its index, -1 when not given or none of them.
func (o *Object) Word(key string, words ...string) int {
	n, path := o.Scalar(key)
	if n == nil {
		return -1
	}
	for i, w := range words {
		if n.Value == w && w != "" {
			return i
		}
	}
	o.out.Reject(n, path, wording.Wrong("is not known here", wording.Spelling(n.Value, words)))
	return -1
}

var properName = regexp.MustCompile(`^[A-Za-z0-9_-]*[A-Za-z_-][A-Za-z0-9_-]*$`)

// Name reads the name of an entry: letters, digits, - and _, not digits alone, since --set tells entries by name or index.
// used holds those already taken, with their lines.
func (o *Object) Name(used map[string]int) string {
	n, path := o.Scalar("name")
	if n == nil {
		return ""
	}
	switch line, twice := used[n.Value]; {
	case !properName.MatchString(n.Value) || len(n.Value) > 60:
		o.out.Reject(n, path, wording.Wrong("is not a name", "letters, digits, - and _, at most 60, not digits alone"))
		return ""
	case twice && line > 0:
		o.out.Reject(n, path, wording.Wrong("is a name given twice", fmt.Sprintf("first on line %d", line)))
	case twice:
		o.out.Reject(n, path, wording.Wrong("is a name given twice", ""))
	}
	if _, twice := used[n.Value]; !twice {
		used[n.Value] = n.Line
	}
	return n.Value
}
