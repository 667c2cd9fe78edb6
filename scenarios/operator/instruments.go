package operator

import (
	"math"

	"go.yaml.in/yaml/v3"

	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
)

// Telemetry reads the instruments; given is false when there is no such list.
func Telemetry(o *outline.Object) (list []Instrument, given bool) {
	items, path, given := o.Items("telemetry")
	used := map[string]int{}
	for i, c := range items {
		if e := o.Outline().Open(c, outline.Index(path, i)); e != nil {
			e.Require("name")
			t := Instrument{Name: e.Name(used)}
			t.read(e)
			list = append(list, t)
		}
	}
	return list, given
}

// read reads the one kind an instrument has.
func (t *Instrument) read(o *outline.Object) {
	o.Duration("from", &t.From, 0)
	amount(o, "yearly_cost", &t.YearlyCost)
	switch o.Choice("polling", "probes", "hosts", "drops", "optics", "complaints") {
	case 0:
		if m := o.Open("polling"); m != nil {
			t.Polling = polling(m)
		}
	case 1:
		if m := o.Open("probes"); m != nil {
			t.Probes = probes(m)
		}
	case 2:
		if m := o.Open("hosts"); m != nil {
			t.Hosts = hosts(m)
		}
	case 3:
		if m := o.Open("drops"); m != nil {
			t.Drops = drops(m)
		}
	case 4:
		if m := o.Open("optics"); m != nil {
			t.Optics = optics(m)
		}
	case 5:
		m, off, given := o.Switchable("complaints")
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
	o.Done()
}

// amount reads a sum of money or a price, at least 0.
func amount(o *outline.Object, key string, to **float64) {
	o.Number(key, to, unit.ParseNumber, 0, math.MaxFloat32)
}

func polling(o *outline.Object) *Polling {
	p := &Polling{}
	o.Duration("every", &p.Every, unit.Duration(1e6))
	o.Positive("threshold", &p.Threshold)
	o.Whole("in_a_row", &p.InARow, 1, 1000)
	o.Share("wrong_link", &p.WrongLink, 1)
	o.Rate("false_alarms", &p.FalseAlarms)
	o.Done()
	return p
}

func probes(o *outline.Object) *Probes {
	p := &Probes{}
	o.Rate("rate", &p.Rate)
	sizes, path, given := o.Items("sizes")
	for i, c := range sizes {
		if v, ok := o.Outline().Bytes(c, outline.Index(path, i)); ok {
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
	if i := o.Word("between", "routers", "leaves"); i >= 0 {
		pairs := i == 1
		p.Pairs = &pairs
	}
	o.Whole("flows", &p.Flows, 1, 64)
	o.Duration("time_out", &p.TimeOut, 1)
	o.Whole("in_a_row", &p.InARow, 1, 1000)
	o.Rate("false_alarms", &p.FalseAlarms)
	o.Whole("window", &p.Window, 10, 10_000_000)
	o.Share("wrong_link", &p.WrongLink, 1)
	o.Done()
	switch {
	case o.Has("in_a_row") && o.Has("false_alarms"):
		o.Wrong("false_alarms", "in_a_row and false_alarms exclude one another", "the budget decides how many losses")
	case o.Has("window") && !o.Has("false_alarms"):
		o.Wrong("window", "a window goes with false_alarms", "the budget decides how many losses in a window")
	case p.Pairs != nil && *p.Pairs && !o.Has("false_alarms"):
		o.Wrong("between", "probes between leaves need false_alarms", "a budget over all pairs, such as 1/30d")
	case p.Flows != nil && (p.Pairs == nil || !*p.Pairs || p.PortsVaried == nil || *p.PortsVaried):
		o.Wrong("flows", "a number of flows goes with between: leaves and ports: fixed", "")
	}
	return p
}

func hosts(o *outline.Object) *Hosts {
	p := &Hosts{}
	o.Duration("every", &p.Every, unit.Duration(1e9))
	o.Positive("sample", &p.Sample)
	o.Rate("false_alarms", &p.FalseAlarms)
	o.Share("missed", &p.Missed, 1)
	o.Share("wrong_link", &p.WrongLink, 1)
	o.Done()
	return p
}

func drops(o *outline.Object) *Drops {
	p := &Drops{}
	o.Duration("every", &p.Every, unit.Duration(1e6))
	o.Rate("false_alarms", &p.FalseAlarms)
	o.Share("silent", &p.Silent, 1)
	o.Share("holes", &p.Holes, 1)
	o.Share("missed", &p.Missed, 1)
	o.Share("wrong_link", &p.WrongLink, 1)
	o.Done()
	return p
}

func optics(o *outline.Object) *Optics {
	p := &Optics{}
	o.Duration("every", &p.Every, unit.Duration(1e6))
	o.Positive("threshold", &p.Threshold)
	o.Whole("in_a_row", &p.InARow, 1, 1000)
	o.Rate("false_alarms", &p.FalseAlarms)
	o.Share("wrong_link", &p.WrongLink, 1)
	o.Done()
	return p
}

// word says whether a node is text that begins no number.
func word(n *yaml.Node) bool {
	return n != nil && n.Kind == yaml.ScalarNode && n.Tag == "!!str" && (n.Value == "" || n.Value[0] > '9')
}
