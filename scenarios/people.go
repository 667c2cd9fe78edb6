package scenarios

import (
	"go.yaml.in/yaml/v3"

	"halflight/scenarios/law"
	"halflight/scenarios/objective"
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
	o.external(t)
	o.Flag("congestion", &t.Congestion)
	o.Done()
	if t.Load != nil && t.Busiest != nil && *t.Busiest < *t.Load {
		o.Wrong("busiest", "the busiest hour is below the mean load", "")
	}
}

// external reads traffic with what lies outside.
func (o *object) external(t *Traffic) {
	m, off, given := o.switchable("external")
	if !given {
		return
	}
	t.External = &External{Off: off}
	if m == nil {
		if !off {
			o.Wrong("external", "true does not say how much", "such as external: {share: 20%, at: pod}")
		}
		return
	}
	m.Require("share", "at")
	m.Positive("share", &t.External.Share)
	t.External.At = max(m.Word("at", ExternalPlaces...), 0)
	m.Whole("boxes", &t.External.Boxes, 1, routersMax)
	m.Done()
	if s := t.External.Share; s != nil && *s >= 1 {
		m.Wrong("share", "servers send something to one another too", "below 100%")
	}
	if at := ExternalPlaces[t.External.At]; t.External.Boxes != nil && at != "leaves" {
		m.Wrong("boxes", "at "+at+" all of them are boxes", "boxes go with at: leaves")
	}
}

// applications reads the classes of work.
func (o *object) applications() {
	s := o.w.s
	items, path, given := o.Items("applications")
	s.ApplicationsGiven = given
	used := map[string]int{}
	for i, c := range items {
		e := o.w.object(c, outline.Index(path, i))
		if e == nil {
			continue
		}
		e.Require("name")
		a := Application{Name: e.Name(used)}
		switch e.Choice("request", "bulk", "collective") {
		case 0:
			if r := e.open("request"); r != nil {
				a.Request = r.request()
			}
		case 1:
			if r := e.open("bulk"); r != nil {
				a.Bulk = r.flow("")
			}
		case 2:
			if r := e.open("collective"); r != nil {
				a.Collective = r.flow("flows")
			}
		}
		e.Done()
		s.Applications = append(s.Applications, a)
	}
}

// request reads requests and replies.
func (o *object) request() *Request {
	r := &Request{}
	o.Whole("packets", &r.Packets, 1, 1_000_000)
	law.Read(o.Object, "bytes", &r.Bytes, &law.Sizes)
	o.Whole("fan_out", &r.FanOut, 1, 1_000_000)
	o.Duration("time_out", &r.TimeOut, 1)
	o.Duration("deadline", &r.Deadline, 1)
	o.Flag("repath", &r.Repath)
	o.Whole("time_outs", &r.TimeOuts, 1, 16)
	o.Positive("budget", &r.Budget)
	r.Burn = objective.Burns(o.Object)
	o.Done()
	if r.Repath != nil && *r.Repath && r.Deadline == nil {
		o.Wrong("repath", "another way is of use to a unit that may wait for it", "give a deadline above time_out")
	}
	return r
}

// flow reads a class of long flows; flows is the key of how many make a unit.
func (o *object) flow(flows string) *LongFlow {
	f := &LongFlow{}
	if i := o.Word("law", "rfc5348", "square_root", "go_back_n"); i >= 0 {
		f.Law = &i
	}
	o.Duration("round_trip", &f.RoundTrip, 1)
	o.Bytes("segment", &f.Segment)
	o.Speed("rate", &f.Rate)
	o.Positive("least", &f.Least)
	o.Duration("time_out", &f.TimeOut, 1)
	if flows != "" {
		o.Whole(flows, &f.Flows, 1, 1_000_000)
	}
	o.Positive("budget", &f.Budget)
	f.Burn = objective.Burns(o.Object)
	o.Done()
	return f
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
