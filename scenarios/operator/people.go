package operator

import (
	"fmt"

	"go.yaml.in/yaml/v3"

	"halflight/scenarios/law"
	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
)

// ReadOperations reads what people do.
func ReadOperations(o *outline.Object, p *Operations) {
	p.Reaction = reaction(o, "reaction")
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
	shifts(o, p)
	p.FirstRepair = firstRepair(o)
	if m := o.Open("replace"); m != nil {
		p.Replace = &Replace{}
		m.Require("tickets")
		m.Whole("tickets", &p.Replace.Tickets, 2, 1000)
		m.Duration("within", &p.Replace.Within, 1)
		m.Done()
	}
	planned(o, p)
	o.Done()
}

// day is the length of a day; shifts are parts of it.
const day = unit.Duration(86400e9)

// shifts reads crews that are there for a part of the day.
func shifts(o *outline.Object, p *Operations) {
	items, path, given := o.Items("shifts")
	if given && p.Crew != nil {
		o.Wrong("shifts", "crew and shifts exclude one another", "each shift has a crew of its own")
	}
	if given && len(items) == 0 {
		o.Wrong("shifts", "without a shift nobody ever works", "such as [{from: 6h, to: 22h, crew: 3}]")
	}
	for i, c := range items {
		m := o.Outline().Open(c, outline.Index(path, i))
		if m == nil {
			continue
		}
		m.Require("from", "to", "crew")
		var from, to *unit.Duration
		var crew *int
		m.Duration("from", &from, 0)
		m.Duration("to", &to, 1)
		m.Whole("crew", &crew, 1, 1_000_000)
		m.Done()
		if from == nil || to == nil || crew == nil {
			continue
		}
		switch {
		case *to > day || *from >= *to:
			m.Wrong("to", "a shift ends after it begins and within the day", "of 24h; write one over midnight as two")
		case len(p.Shifts) > 0 && *from < p.Shifts[len(p.Shifts)-1].To:
			m.Wrong("from", fmt.Sprintf("begins before the shift above ends, at %s", p.Shifts[len(p.Shifts)-1].To), "shifts follow one another")
		default:
			p.Shifts = append(p.Shifts, Shift{*from, *to, *crew})
		}
	}
}

// reaction reads a word or a law.
func reaction(o *outline.Object, key string) *Reaction {
	if word(o.Peek(key)) {
		i := o.Word(key, whoNames[:2]...)
		if i < 0 {
			return nil
		}
		return &Reaction{Who: Who(i)}
	}
	r := &Reaction{Who: Measured}
	if law.Read(o, key, &r.Delay, &law.Durations); r.Delay == nil {
		return nil
	}
	return r
}

// firstRepair reads one share or the two.
func firstRepair(o *outline.Object) *FirstRepair {
	n, path := o.Take("first_repair")
	if n == nil {
		return nil
	}
	f := &FirstRepair{}
	if n.Kind == yaml.ScalarNode {
		o.Positive("first_repair", &f.Blind)
		f.Guided = f.Blind
	} else if m := o.Outline().Open(n, path); m != nil {
		m.Positive("blind", &f.Blind)
		m.Positive("guided", &f.Guided)
		m.Done()
	}
	return f
}

// ReadCosts reads prices.
func ReadCosts(o *outline.Object, c *Costs) {
	if n := o.Peek("currency"); n != nil {
		if c.Currency = o.Text("currency"); c.Currency == "" || len([]rune(c.Currency)) > 8 {
			o.Wrong("currency", "must be a short label", "up to 8 letters, such as EUR; it changes no number")
		}
	}
	if m := o.Open("degraded_leaf_hour"); m != nil {
		for _, k := range m.Keys {
			var price *float64
			if amount(m, k.Value, &price); price != nil {
				c.DegradedLeafHour = append(c.DegradedLeafHour, ClassPrice{k.Value, *price})
			}
		}
		m.Done()
	}
	amount(o, "technician_hour", &c.TechnicianHour)
	amount(o, "visit", &c.Visit)
	amount(o, "optic", &c.Optic)
	amount(o, "port", &c.Port)
	amount(o, "leaf", &c.Leaf)
	o.Know("currency")
	o.Done()
}
