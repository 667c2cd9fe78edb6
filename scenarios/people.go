package scenarios

import (
	"go.yaml.in/yaml/v3"

	"halflight/scenarios/law"
	"halflight/scenarios/outline"
	"halflight/scenarios/part"
)

// seqKind is the kind of a list.
const seqKind = yaml.SequenceNode

// traffic reads loads.
func (o *object) traffic(t *Traffic) {
	o.Share("load", &t.Load, 1)
	o.Share("busiest", &t.Busiest, 1)
	o.Whole("servers", &t.Servers, 1, 1_000_000)
	o.Done()
	if t.Load != nil && t.Busiest != nil && *t.Busiest < *t.Load {
		o.Wrong("busiest", "the busiest hour is below the mean load", "")
	}
}

// applications reads the classes of work.
func (o *object) applications() {
	s := o.w.s
	items, path, given := o.Items("applications")
	s.ApplicationsGiven = given
	used := map[string]int{}
	for i, c := range items {
		e := o.w.object(c, index(path, i))
		if e == nil {
			continue
		}
		e.Require("name", "request")
		a := Application{Name: e.Name(used)}
		if r := e.open("request"); r != nil {
			a.Request = &Request{}
			r.Whole("packets", &a.Request.Packets, 1, 1_000_000)
			law.Read(r.Object, "bytes", &a.Request.Bytes, &law.Sizes)
			r.Whole("fan_out", &a.Request.FanOut, 1, 1_000_000)
			r.Duration("time_out", &a.Request.TimeOut, 1)
			r.Positive("budget", &a.Request.Budget)
			r.Done()
		}
		e.Done()
		s.Applications = append(s.Applications, a)
	}
}

// part reads a node as a part of the fabric.
func (w *walker) part(n *yaml.Node, path string) (Part, bool) {
	if n.Kind != yaml.ScalarNode {
		w.Bad(n, path, "must name a part, this is "+outline.Shape(n), part.Hint(""))
		return Part{}, false
	}
	p, f := part.Parse(n.Value, w.n)
	if f != nil {
		w.Reject(n, path, f)
	}
	return p, f == nil
}
