package scenarios

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"go.yaml.in/yaml/v3"
)

// quantity is what a law is of: how its values are written, which families suit it, and its bounds.
type quantity struct {
	name     string
	parse    func(string) (float64, *fault)
	families []Family
	low      float64 // least value
	above    bool    // values are above low
	high     float64 // largest value of the bounded families
	whole    bool
}

// The quantities. Shares and sizes have bounded families only: a loss above 1 means nothing.
var (
	lifetimes = quantity{"a duration", parseTimeFloat,
		[]Family{Fixed, Exponential, Weibull, Lognormal, Loguniform, Uniform, Table}, 0, true, math.Inf(1), false}
	durations = quantity{"a duration", parseTimeFloat,
		[]Family{Fixed, Exponential, Weibull, Lognormal, Loguniform, Uniform, Table}, 0, false, math.Inf(1), false}
	shares = quantity{"a share", parseShare, []Family{Fixed, Loguniform, Uniform, Table}, 0, true, 1, false}
	sizes  = quantity{"a size", parseBytes, []Family{Fixed, Loguniform, Uniform, Table}, 1, false, 1e9, false}
	counts = quantity{"a number", parsePlain, []Family{Fixed, Geometric, Table}, 1, false, 1e6, true}
)

// law reads a distribution: a value alone is fixed, a map of one key is a family.
func (o *object) law(key string, to **Distribution, q *quantity) {
	n, path := o.take(key)
	if n == nil {
		return
	}
	if d, ok := o.w.law(n, path, q); ok {
		*to = &d
	}
}

// law reads a node as a distribution.
func (w *walker) law(n *yaml.Node, path string, q *quantity) (d Distribution, ok bool) {
	switch n.Kind {
	case yaml.ScalarNode:
		v, ok := w.quantity(n, path, q)
		return Distribution{Low: v, High: v}, ok
	case yaml.SequenceNode:
		w.bad(n, path, "must be "+q.name+" or a law, this is a list", "such as {table: [...]}")
		return d, false
	}
	o := w.object(n, path)
	names := make([]string, len(q.families))
	for i, f := range q.families {
		names[i] = f.String()
	}
	i := o.choice(names...)
	if i < 0 {
		o.done()
		return d, false
	}
	d.Family = q.families[i]
	before := len(w.p.List) + w.p.More
	o.family(names[i], &d, q)
	o.done()
	return d, before == len(w.p.List)+w.p.More
}

// family reads the parameters of a law.
func (o *object) family(key string, d *Distribution, q *quantity) {
	n, path := o.take(key)
	switch {
	case n == nil:
		return
	case d.Family == Fixed:
		d.Low, _ = o.w.quantity(n, path, q)
		d.High = d.Low
		return
	case d.Family == Table:
		o.w.table(n, path, d, q)
		return
	}
	m := o.w.object(n, path)
	if m == nil {
		return
	}
	switch d.Family {
	case Exponential:
		m.require("mean")
		m.parameter("mean", &d.Mean, q)
	case Geometric:
		m.require("mean")
		m.parameter("mean", &d.Mean, &quantity{name: "a number", parse: parsePlain, low: 1, high: 1e6})
	case Weibull:
		m.require("shape")
		m.shape("shape", &d.Shape, 0.05, 50)
		m.either("mean", &d.Mean, "scale", &d.Scale, q)
	case Lognormal:
		m.require("sigma")
		m.shape("sigma", &d.Sigma, 1e-6, 10)
		m.either("median", &d.Median, "mean", &d.Mean, q)
	default:
		m.interval(d, q)
	}
	m.done()
}

// quantity reads a value of a quantity and holds it to its bounds.
func (w *walker) quantity(n *yaml.Node, path string, q *quantity) (float64, bool) {
	if n.Kind != yaml.ScalarNode {
		w.bad(n, path, "must be "+q.name+", this is "+shape(n), "")
		return 0, false
	}
	v, f := q.parse(n.Value)
	switch {
	case f != nil:
	case q.above && v <= q.low:
		f = &fault{fmt.Sprintf("must be above %v", q.low), ""}
	case v < q.low || v > q.high:
		f = &fault{"is out of range", fmt.Sprintf("from %v to %v", q.low, q.high)}
	case q.whole && v != math.Trunc(v):
		f = &fault{"is not a whole number", ""}
	}
	if f != nil {
		w.reject(n, path, f)
	}
	return v, f == nil
}

// parameter reads a parameter that is a value of the quantity above 0.
func (o *object) parameter(key string, to *float64, q *quantity) {
	n, path := o.take(key)
	if n == nil {
		return
	}
	v, ok := o.w.quantity(n, path, q)
	if ok && v == 0 {
		o.w.reject(n, path, &fault{"must be above 0", ""})
	}
	*to = v
}

// either reads exactly one of two parameters.
func (o *object) either(a string, toA *float64, b string, toB *float64, q *quantity) {
	switch {
	case o.has(a) && o.has(b):
		o.wrong(b, a+" and "+b+" exclude one another", "keep one")
	case !o.has(a) && !o.has(b):
		o.w.bad(o.node, o.path, a+" or "+b+" is missing", "")
	}
	o.parameter(a, toA, q)
	o.parameter(b, toB, q)
}

// shape reads a plain parameter.
func (o *object) shape(key string, to *float64, low, high float64) {
	var v *float64
	if o.number(key, &v, parsePlain, low, high); v != nil {
		*to = *v
	}
}

// interval reads low and high of a uniform or log-uniform law.
func (o *object) interval(d *Distribution, q *quantity) {
	low := *q
	low.above = low.above && d.Family == Loguniform
	given := o.require("low", "high")
	a, pathA := o.take("low")
	b, pathB := o.take("high")
	if a == nil || b == nil {
		return
	}
	var okA, okB bool
	d.Low, okA = o.w.quantity(a, pathA, &low)
	d.High, okB = o.w.quantity(b, pathB, q)
	switch {
	case !given || !okA || !okB:
	case d.Family == Loguniform && d.Low == 0:
		o.wrong("low", "must be above 0", "a log-uniform law has no 0: use uniform")
	case d.Low >= d.High:
		o.wrong("high", quote(b.Value)+" is not above low, "+clip(a.Value), "")
	}
}

// table reads rows {share, low, high} or {share, value}, or plain values that are equally likely.
func (w *walker) table(n *yaml.Node, path string, d *Distribution, q *quantity) {
	if n.Kind != yaml.SequenceNode || len(n.Content) == 0 {
		w.bad(n, path, "must be a list of rows, this is "+shape(n), "such as [{share: 0.4, low: 1e-5, high: 1e-3}, {share: 0.6, value: 1e-2}]")
		return
	}
	w.s.places[path] = w.tree.place(n)
	plain := !slices.ContainsFunc(n.Content, func(c *yaml.Node) bool { return c.Kind != yaml.ScalarNode })
	sum, sound := 0.0, true
	for i, c := range n.Content {
		rowPath := join(path, strconv.Itoa(i))
		var b Bin
		if plain {
			v, ok := w.quantity(c, rowPath, q)
			b.Low, sound = v, sound && ok
			b.Share, b.High = 1/float64(len(n.Content)), b.Low
		} else if row := w.object(c, rowPath); row != nil {
			sound = row.bin(&b, q) && sound
		} else {
			sound = false
		}
		sum += b.Share
		d.Bins = append(d.Bins, b)
	}
	if sound && math.Abs(sum-1) > 0.001 {
		w.bad(n, path, fmt.Sprintf("the shares sum to %.6g", sum), "they must sum to 1 within 0.001")
	}
}

// bin reads one row of a table.
func (o *object) bin(b *Bin, q *quantity) bool {
	before := len(o.w.p.List) + o.w.p.More
	var share *float64
	o.require("share")
	o.share("share", &share, 1)
	if share != nil {
		b.Share = *share
	}
	if o.has("value") {
		n, path := o.take("value")
		if n != nil {
			b.Low, _ = o.w.quantity(n, path, q)
			b.High = b.Low
		}
	} else {
		d := Distribution{Family: Uniform}
		o.interval(&d, q)
		b.Low, b.High = d.Low, d.High
	}
	o.asked = append(o.asked, "value")
	o.done()
	return before == len(o.w.p.List)+o.w.p.More
}
