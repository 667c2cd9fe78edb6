package law

import (
	"fmt"
	"math"
	"slices"

	"go.yaml.in/yaml/v3"

	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
	"halflight/scenarios/wording"
)

// Quantity is what a law is of: how its values are written, which families suit it, and its bounds.
type Quantity struct {
	name     string
	parse    func(string) (float64, *wording.Fault)
	families []Family
	low      float64 // least value
	above    bool    // values are above low
	high     float64 // largest value of the bounded families
	whole    bool
}

// The quantities. Shares and sizes have bounded families only: a loss above 1 means nothing.
var (
	Lifetimes = Quantity{"a duration", unit.ParseTime,
		[]Family{Fixed, Exponential, Weibull, Lognormal, Loguniform, Uniform, Table}, 0, true, math.Inf(1), false}
	Durations = Quantity{"a duration", unit.ParseTime,
		[]Family{Fixed, Exponential, Weibull, Lognormal, Loguniform, Uniform, Table}, 0, false, math.Inf(1), false}
	Shares  = Quantity{"a share", unit.ParseShare, []Family{Fixed, Loguniform, Uniform, Table}, 0, true, 1, false}
	Sizes   = Quantity{"a size", unit.ParseBytes, []Family{Fixed, Loguniform, Uniform, Table}, 1, false, 1e9, false}
	Factors = Quantity{"a number", unit.ParseNumber, []Family{Fixed, Loguniform, Uniform, Table}, 1, false, 1e6, false}
	Counts  = Quantity{"a number", unit.ParseNumber, []Family{Fixed, Geometric, Table}, 1, false, 1e6, true}
)

// Read reads the law of a quantity at a key: a value alone is fixed, a map of one key is a family. to is left alone when the key is
// not given or its value wrong.
func Read(m *outline.Object, key string, to **Distribution, q *Quantity) {
	o := &object{m, &walker{m.Outline()}}
	n, path := o.Take(key)
	if n == nil {
		return
	}
	if d, ok := o.w.law(n, path, q); ok {
		*to = &d
	}
}

// law reads a node as a distribution.
func (w *walker) law(n *yaml.Node, path string, q *Quantity) (d Distribution, ok bool) {
	switch n.Kind {
	case yaml.ScalarNode:
		v, ok := w.quantity(n, path, q)
		return Distribution{Low: v, High: v}, ok
	case yaml.SequenceNode:
		w.Bad(n, path, "must be "+q.name+" or a law, this is a list", "such as {table: [...]}")
		return d, false
	}
	o := w.object(n, path)
	names := make([]string, len(q.families))
	for i, f := range q.families {
		names[i] = f.String()
	}
	i := o.Choice(names...)
	if i < 0 {
		o.Done()
		return d, false
	}
	d.Family = q.families[i]
	before := w.Problems.Count()
	o.family(names[i], &d, q)
	o.Done()
	return d, before == w.Problems.Count()
}

// family reads the parameters of a law.
func (o *object) family(key string, d *Distribution, q *Quantity) {
	n, path := o.Take(key)
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
		m.Require("mean")
		m.parameter("mean", &d.Mean, q)
	case Geometric:
		m.Require("mean")
		m.parameter("mean", &d.Mean, &Quantity{name: "a number", parse: unit.ParseNumber, low: 1, high: 1e6})
	case Weibull:
		m.Require("shape")
		m.shape("shape", &d.Shape, 0.05, 50)
		m.either("mean", &d.Mean, "scale", &d.Scale, q)
	case Lognormal:
		m.Require("sigma")
		m.shape("sigma", &d.Sigma, 1e-6, 10)
		m.either("median", &d.Median, "mean", &d.Mean, q)
	default:
		m.interval(d, q)
	}
	m.Done()
}

// quantity reads a value of a quantity and holds it to its bounds.
func (w *walker) quantity(n *yaml.Node, path string, q *Quantity) (float64, bool) {
	if n.Kind != yaml.ScalarNode {
		w.Bad(n, path, "must be "+q.name+", this is "+outline.Shape(n), "")
		return 0, false
	}
	v, f := q.parse(n.Value)
	switch {
	case f != nil:
	case q.above && v <= q.low:
		f = wording.Wrong(fmt.Sprintf("must be above %v", q.low), "")
	case v < q.low || v > q.high:
		f = wording.Wrong("is out of range", fmt.Sprintf("from %v to %v", q.low, q.high))
	case q.whole && v != math.Trunc(v):
		f = wording.Wrong("is not a whole number", "")
	}
	if f != nil {
		w.Reject(n, path, f)
	}
	return v, f == nil
}

// parameter reads a parameter that is a value of the quantity above 0.
func (o *object) parameter(key string, to *float64, q *Quantity) {
	n, path := o.Take(key)
	if n == nil {
		return
	}
	v, ok := o.w.quantity(n, path, q)
	if ok && v == 0 {
		o.w.Reject(n, path, wording.Wrong("must be above 0", ""))
	}
	*to = v
}

// either reads exactly one of two parameters.
func (o *object) either(a string, toA *float64, b string, toB *float64, q *Quantity) {
	switch {
	case o.Has(a) && o.Has(b):
		o.Wrong(b, a+" and "+b+" exclude one another", "keep one")
	case !o.Has(a) && !o.Has(b):
		o.w.Bad(o.Node, o.Path, a+" or "+b+" is missing", "")
	}
	o.parameter(a, toA, q)
	o.parameter(b, toB, q)
}

// shape reads a plain parameter.
func (o *object) shape(key string, to *float64, low, high float64) {
	var v *float64
	if o.Number(key, &v, unit.ParseNumber, low, high); v != nil {
		*to = *v
	}
}

// interval reads low and high of a uniform or log-uniform law.
func (o *object) interval(d *Distribution, q *Quantity) {
	low := *q
	low.above = low.above && d.Family == Loguniform
	given := o.Require("low", "high")
	a, pathA := o.Take("low")
	b, pathB := o.Take("high")
	if a == nil || b == nil {
		return
	}
	var okA, okB bool
	d.Low, okA = o.w.quantity(a, pathA, &low)
	d.High, okB = o.w.quantity(b, pathB, q)
	switch {
	case !given || !okA || !okB:
	case d.Family == Loguniform && d.Low == 0:
		o.Wrong("low", "must be above 0", "a log-uniform law has no 0: use uniform")
	case d.Low >= d.High:
		o.Wrong("high", wording.Quote(b.Value)+" is not above low, "+wording.Clip(a.Value), "")
	}
}

// table reads rows {share, low, high} or {share, value}, or plain values that are equally likely.
func (w *walker) table(n *yaml.Node, path string, d *Distribution, q *Quantity) {
	if n.Kind != yaml.SequenceNode || len(n.Content) == 0 {
		w.Bad(n, path, "must be a list of rows, this is "+outline.Shape(n), "such as [{share: 0.4, low: 1e-5, high: 1e-3}, {share: 0.6, value: 1e-2}]")
		return
	}
	plain := !slices.ContainsFunc(n.Content, func(c *yaml.Node) bool { return c.Kind != yaml.ScalarNode })
	sum, sound := 0.0, true
	for i, c := range n.Content {
		rowPath := outline.Index(path, i)
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
		w.Bad(n, path, fmt.Sprintf("the shares sum to %.6g", sum), "they must sum to 1 within 0.001")
	}
}

// bin reads one row of a table.
func (o *object) bin(b *Bin, q *Quantity) bool {
	before := o.w.Problems.Count()
	var share *float64
	o.Require("share")
	o.Share("share", &share, 1)
	if share != nil {
		b.Share = *share
	}
	if o.Has("value") {
		n, path := o.Take("value")
		if n != nil {
			b.Low, _ = o.w.quantity(n, path, q)
			b.High = b.Low
		}
	} else {
		d := Distribution{Family: Uniform}
		o.interval(&d, q)
		b.Low, b.High = d.Low, d.High
	}
	o.Know("value")
	o.Done()
	return before == o.w.Problems.Count()
}

// walker and object are an outline and a map of it, with the readers of this package.
type (
	walker struct{ *outline.Outline }
	object struct {
		*outline.Object
		w *walker
	}
)

// object opens a map; it is nil, after a problem, when the node is none.
func (w *walker) object(n *yaml.Node, path string) *object {
	if o := w.Open(n, path); o != nil {
		return &object{o, w}
	}
	return nil
}
