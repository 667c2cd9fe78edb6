package operator

import (
	"math"

	"halflight/scenarios/law"
	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
)

// Upgrades are campaigns of planned work on boxes.
type Upgrades struct {
	Boxes                  *string // all, leaves, spines, tops
	First, Every           *unit.Duration
	AtOnce                 *int
	Window                 *Window
	Ahead                  *unit.Duration // drained so long before the work
	Work                   *law.Distribution
	Drain                  *string // metric, overload, false
	Kept                   *bool
	Undrained, Early, Dead *float64 // shares of boxes on which a mistake is made
}

// Window is a part of each day, in ns from its beginning; one that ends before it begins
// ends on the next day.
type Window struct{ From, To unit.Duration }

// Changes are changes of configuration. What are weights of mistakes: of the
// metric, the overload bit, a port, a share of flows.
type Changes struct {
	Rate           *unit.Rate
	Roles          *int
	Share, PerRole *float64
	Wide, Hole     *float64
	What           *[4]*float64
	Undo           *Reaction
}

// Mistakes are the words for what a change does that it should not.
var Mistakes = [4]string{"metric", "overload", "cut", "hole"}

// planned reads planned work; false is none, as if nothing were said, and true are
// upgrades of which nothing more is said.
func planned(o *outline.Object, p *Operations) {
	m, off, given := o.Switchable("upgrades")
	if given && !off {
		p.Upgrades = &Upgrades{}
	}
	if m != nil {
		p.Upgrades = upgrades(m)
	}
	if m, off, given = o.Switchable("changes"); m != nil {
		p.Changes = changes(m)
	} else if given && !off {
		o.Wrong("changes", "rate is missing", "such as {rate: 20/30d}")
	}
}

func upgrades(o *outline.Object) *Upgrades {
	u := &Upgrades{}
	tiers := []string{"all", "leaves", "spines", "tops"}
	if i := o.Word("boxes", tiers...); i >= 0 {
		u.Boxes = &tiers[i]
	}
	o.Duration("first", &u.First, 0)
	o.Duration("every", &u.Every, 1)
	o.Whole("at_once", &u.AtOnce, 1, 1_000_000)
	if m := o.Open("window"); m != nil {
		u.Window = window(m)
	}
	o.Duration("ahead", &u.Ahead, 0)
	law.Read(o, "work", &u.Work, &law.Durations)
	drains := []string{"metric", "overload", "false"}
	if i := o.Word("drain", drains...); i >= 0 {
		u.Drain = &drains[i]
	}
	o.Flag("kept", &u.Kept)
	if m := o.Open("mistakes"); m != nil {
		m.Share("undrained", &u.Undrained, 1)
		m.Share("early", &u.Early, 1)
		m.Share("dead", &u.Dead, 1)
		m.Done()
	}
	o.Done()
	return u
}

func window(o *outline.Object) *Window {
	o.Require("from", "to")
	var from, to *unit.Duration
	o.Duration("from", &from, 0)
	o.Duration("to", &to, 0)
	o.Done()
	if from == nil || to == nil {
		return nil
	}
	switch {
	case *from >= day || *to > day:
		o.Wrong("to", "a window begins and ends at hours of a day", "such as {from: 22h, to: 4h}")
		return nil
	case *from == *to:
		o.Wrong("to", "a window ends at another hour than it begins", "without one, work is done at any hour")
		return nil
	}
	return &Window{*from, *to}
}

func changes(o *outline.Object) *Changes {
	c := &Changes{}
	o.Require("rate")
	o.Rate("rate", &c.Rate)
	o.Whole("roles", &c.Roles, 1, 1000)
	if m := o.Open("mistakes"); m != nil {
		m.Share("share", &c.Share, 1)
		m.Number("per_role", &c.PerRole, unit.ParseNumber, 0, 100)
		m.Share("wide", &c.Wide, 1)
		m.Positive("hole", &c.Hole)
		c.Undo = reaction(m, "undo")
		if w := m.Open("what"); w != nil {
			c.What = weights(w)
		}
		m.Done()
	}
	o.Done()
	return c
}

// weights reads how often each mistake is made against the others.
func weights(o *outline.Object) *[4]*float64 {
	list, given, sum := &[4]*float64{}, false, 0.0
	for i, word := range Mistakes {
		if o.Number(word, &list[i], unit.ParseNumber, 0, math.MaxFloat32); list[i] != nil {
			given, sum = true, sum+*list[i]
		}
	}
	o.Done()
	if given && sum == 0 {
		o.Wrong(o.Keys[0].Value, "no mistake is left", "give one of them a weight above 0")
	}
	return list
}
