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

// telemetry reads the instruments.
func (o *object) telemetry() {
	s := o.w.s
	items, path, given := o.Items("telemetry")
	s.TelemetryGiven = given
	used := map[string]int{}
	for i, c := range items {
		e := o.w.object(c, index(path, i))
		if e == nil {
			continue
		}
		e.Require("name")
		t := Instrument{Name: e.Name(used)}
		e.instrument(&t)
		s.Telemetry = append(s.Telemetry, t)
	}
}

// instrument reads the one kind an instrument has.
func (o *object) instrument(t *Instrument) {
	defer o.Done()
	switch o.Choice("polling", "probes", "complaints") {
	case 0:
		if m := o.open("polling"); m != nil {
			t.Polling = m.polling()
		}
	case 1:
		if m := o.open("probes"); m != nil {
			t.Probes = m.probes()
		}
	case 2:
		m, off, given := o.switchable("complaints")
		if given {
			t.Complaints = &Complaints{Off: off}
		}
		if m != nil {
			m.Rate("rate", &t.Complaints.Rate)
			m.Positive("threshold", &t.Complaints.Threshold)
			m.Rate("at_most", &t.Complaints.AtMost)
			m.Done()
		}
	}
}

// polling reads an instrument that polls counters.
func (o *object) polling() *Polling {
	p := &Polling{}
	o.Duration("every", &p.Every, Duration(1e6))
	o.Positive("threshold", &p.Threshold)
	o.Whole("in_a_row", &p.InARow, 1, 1000)
	o.Share("wrong_link", &p.WrongLink, 1)
	o.Done()
	return p
}

// probes reads an instrument that sends probes.
func (o *object) probes() *Probes {
	p := &Probes{}
	o.Rate("rate", &p.Rate)
	sizes, path, given := o.Items("sizes")
	for i, c := range sizes {
		if v, ok := o.w.Bytes(c, index(path, i)); ok {
			p.Sizes = append(p.Sizes, v)
		}
	}
	if given && len(sizes) == 0 {
		o.Wrong("sizes", "probes need a size", "such as [64, 512, 1400]")
	}
	if i := o.Word("ports", "fixed", "varied"); i >= 0 {
		varied := i == 1
		p.PortsVaried = &varied
	}
	o.Duration("time_out", &p.TimeOut, 1)
	o.Whole("in_a_row", &p.InARow, 1, 1000)
	o.Rate("false_alarms", &p.FalseAlarms)
	o.Share("wrong_link", &p.WrongLink, 1)
	o.Done()
	if o.Has("in_a_row") && o.Has("false_alarms") {
		o.Wrong("false_alarms", "in_a_row and false_alarms exclude one another", "the budget decides how many in a row")
	}
	return p
}

// operations reads what people do.
func (o *object) operations(p *Operations) {
	p.Reaction = o.reaction()
	o.Share("floor", &p.Floor, 1)
	o.Duration("soak", &p.Soak, 0)
	if n := o.Peek("crew"); n != nil && n.Value == "unlimited" {
		o.Take("crew")
		p.Crew = &Crew{Unlimited: true}
	} else {
		var size *int
		if o.Whole("crew", &size, 1, 1_000_000); size != nil {
			p.Crew = &Crew{Size: *size}
		}
	}
	p.FirstRepair = o.firstRepair()
	o.Done()
}

// reaction reads a word or a law.
func (o *object) reaction() *Reaction {
	n := o.Peek("reaction")
	if n != nil && n.Kind == yaml.ScalarNode && n.Tag == "!!str" && (n.Value == "" || n.Value[0] > '9') {
		i := o.Word("reaction", whoNames[:2]...)
		if i < 0 {
			return nil
		}
		return &Reaction{Who: Who(i)}
	}
	r := &Reaction{Who: Measured}
	if law.Read(o.Object, "reaction", &r.Delay, &law.Durations); r.Delay == nil {
		return nil
	}
	return r
}

// firstRepair reads one share or the two.
func (o *object) firstRepair() *FirstRepair {
	n, path := o.Take("first_repair")
	if n == nil {
		return nil
	}
	f := &FirstRepair{}
	if n.Kind == yaml.ScalarNode {
		o.Positive("first_repair", &f.Blind)
		f.Guided = f.Blind
	} else if m := o.w.object(n, path); m != nil {
		m.Positive("blind", &f.Blind)
		m.Positive("guided", &f.Guided)
		m.Done()
	}
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
