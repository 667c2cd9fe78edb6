package scenarios

import "go.yaml.in/yaml/v3"

// seqKind is the kind of a list.
const seqKind = yaml.SequenceNode

// traffic reads loads.
func (o *object) traffic(t *Traffic) {
	o.share("load", &t.Load, 1)
	o.share("busiest", &t.Busiest, 1)
	o.done()
	if t.Load != nil && t.Busiest != nil && *t.Busiest < *t.Load {
		o.wrong("busiest", "the busiest hour is below the mean load", "")
	}
}

// applications reads the classes of work.
func (o *object) applications() {
	s := o.w.s
	items, path, given := o.items("applications")
	s.ApplicationsGiven = given
	used := map[string]int{}
	for i, c := range items {
		e := o.w.object(c, index(path, i))
		if e == nil {
			continue
		}
		e.require("name", "request")
		a := Application{Name: e.name(used)}
		if r := e.open("request"); r != nil {
			a.Request = &Request{}
			r.whole("packets", &a.Request.Packets, 1, 1_000_000)
			r.law("bytes", &a.Request.Bytes, &sizes)
			r.whole("fan_out", &a.Request.FanOut, 1, 1_000_000)
			r.duration("time_out", &a.Request.TimeOut, 1)
			r.positive("budget", &a.Request.Budget)
			r.done()
		}
		e.done()
		s.Applications = append(s.Applications, a)
	}
}

// telemetry reads the instruments.
func (o *object) telemetry() {
	s := o.w.s
	items, path, given := o.items("telemetry")
	s.TelemetryGiven = given
	used := map[string]int{}
	for i, c := range items {
		e := o.w.object(c, index(path, i))
		if e == nil {
			continue
		}
		e.require("name")
		t := Instrument{Name: e.name(used)}
		e.instrument(&t)
		s.Telemetry = append(s.Telemetry, t)
	}
}

// instrument reads the one kind an instrument has.
func (o *object) instrument(t *Instrument) {
	defer o.done()
	switch o.choice("polling", "probes", "complaints") {
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
			m.rate("rate", &t.Complaints.Rate)
			m.positive("threshold", &t.Complaints.Threshold)
			m.rate("at_most", &t.Complaints.AtMost)
			m.done()
		}
	}
}

// polling reads an instrument that polls counters.
func (o *object) polling() *Polling {
	p := &Polling{}
	o.duration("every", &p.Every, Duration(1e6))
	o.positive("threshold", &p.Threshold)
	o.whole("in_a_row", &p.InARow, 1, 1000)
	o.share("wrong_link", &p.WrongLink, 1)
	o.done()
	return p
}

// probes reads an instrument that sends probes.
func (o *object) probes() *Probes {
	p := &Probes{}
	o.rate("rate", &p.Rate)
	sizes, path, given := o.items("sizes")
	for i, c := range sizes {
		if v, ok := o.w.bytes(c, index(path, i)); ok {
			p.Sizes = append(p.Sizes, v)
		}
	}
	if given && len(sizes) == 0 {
		o.wrong("sizes", "probes need a size", "such as [64, 512, 1400]")
	}
	if i := o.word("ports", "fixed", "varied"); i >= 0 {
		varied := i == 1
		p.PortsVaried = &varied
	}
	o.duration("time_out", &p.TimeOut, 1)
	o.whole("in_a_row", &p.InARow, 1, 1000)
	o.rate("false_alarms", &p.FalseAlarms)
	o.share("wrong_link", &p.WrongLink, 1)
	o.done()
	if o.has("in_a_row") && o.has("false_alarms") {
		o.wrong("false_alarms", "in_a_row and false_alarms exclude one another", "the budget decides how many in a row")
	}
	return p
}

// operations reads what people do.
func (o *object) operations(p *Operations) {
	p.Reaction = o.reaction()
	o.share("floor", &p.Floor, 1)
	o.duration("soak", &p.Soak, 0)
	if n := o.values["crew"]; n != nil && n.Value == "unlimited" {
		o.take("crew")
		p.Crew = &Crew{Unlimited: true}
	} else {
		var size *int
		if o.whole("crew", &size, 1, 1_000_000); size != nil {
			p.Crew = &Crew{Size: *size}
		}
	}
	p.FirstRepair = o.firstRepair()
	o.done()
}

// reaction reads a word or a law.
func (o *object) reaction() *Reaction {
	n := o.values["reaction"]
	if n != nil && n.Kind == yaml.ScalarNode && n.Tag == "!!str" && (n.Value == "" || n.Value[0] > '9') {
		i := o.word("reaction", whoNames[:2]...)
		if i < 0 {
			return nil
		}
		return &Reaction{Who: Who(i)}
	}
	r := &Reaction{Who: Measured}
	if o.law("reaction", &r.Delay, &durations); r.Delay == nil {
		return nil
	}
	return r
}

// firstRepair reads one share or the two.
func (o *object) firstRepair() *FirstRepair {
	n, path := o.take("first_repair")
	if n == nil {
		return nil
	}
	f := &FirstRepair{}
	if n.Kind == yaml.ScalarNode {
		o.positive("first_repair", &f.Blind)
		f.Guided = f.Blind
	} else if m := o.w.object(n, path); m != nil {
		m.positive("blind", &f.Blind)
		m.positive("guided", &f.Guided)
		m.done()
	}
	return f
}

// part reads a node as a part of the fabric.
func (w *walker) part(n *yaml.Node, path string) (Part, bool) {
	if n.Kind != yaml.ScalarNode {
		w.bad(n, path, "must name a part, this is "+shape(n), routerHint(""))
		return Part{}, false
	}
	p, f := parsePart(n.Value, w.n)
	if f != nil {
		w.reject(n, path, f)
	}
	return p, f == nil
}
