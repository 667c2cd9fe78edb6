package scenarios

import (
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"halflight/scenarios/outline"
	"halflight/scenarios/unit"
	"halflight/scenarios/wording"
)

// Every key that goes with some kind of scripted fault only.
var scriptKeys = []string{"light", "plane", "loss", "share", "above", "changes", "period", "off", "kept", "factor"}

// script reads the timed faults.
func (o *object) script() {
	items, path, _ := o.Items("script")
	for i, c := range items {
		if e := o.w.object(c, outline.Index(path, i)); e != nil {
			o.w.s.Script = append(o.w.s.Script, e.event())
		}
	}
}

// event reads one entry of the script.
func (o *object) event() Event {
	var e Event
	o.Require("at", "on", "kind")
	var at *Duration
	if o.Duration("at", &at, 0); at != nil {
		e.At = *at
	}
	e.Kind = o.kind(Drain)
	on, path := o.Take("on")
	if on != nil {
		var ok bool
		if e.On, ok = o.w.part(on, path); ok && e.Kind != NoKind {
			o.suits(on, path, &e)
		}
	}
	o.span(&e)
	o.details(&e)
	if e.Kind != NoKind {
		o.misplaced(e.Kind, scriptKeys, scriptKinds[e.Kind].keys)
		o.needs(&e)
	}
	o.Done()
	return e
}

// suits holds a kind against the part, or all members of the group, that it strikes.
func (o *object) suits(n *yaml.Node, path string, e *Event) {
	parts := scriptKinds[e.Kind].parts
	if e.On.Class != GroupPart {
		if !slices.Contains(parts, e.On.Class) {
			o.w.Reject(n, path, wording.Wrong("is "+e.On.Class.String()+", which cannot be "+adjective[e.Kind], whatSuits(parts)))
		}
		return
	}
	g, f := o.w.s.groupNamed(e.On.Group)
	if f != nil {
		o.w.Reject(n, path, f)
		return
	}
	for _, m := range g.Members {
		if !slices.Contains(parts, m.Class) {
			o.w.Reject(n, path, wording.Wrong("has the member "+wording.Clip(m.Text)+", "+m.Class.String()+", which cannot be "+adjective[e.Kind],
				whatSuits(parts)))
			return
		}
	}
}

// What a part that has a fault is said to be.
var adjective = [...]string{Hard: "cut hard", Lossy: "lossy", Silent: "silently lossy", Blackhole: "a black hole",
	Oversize: "closed to large packets", Flapping: "flapping", RestartKind: "restarted", Slow: "slow",
	Unwritten: "left unwritten", Drain: "drained"}

// whatSuits lists the classes of part that a kind can strike.
func whatSuits(parts []PartClass) string {
	s := "this kind takes "
	for i, p := range parts {
		if i > 0 {
			s += " or "
		}
		s += p.String()
	}
	return s
}

// span reads how long a fault lasts and holds its beginning against the horizon.
func (o *object) span(e *Event) {
	if n, path := o.Scalar("for"); n != nil {
		if d, f := unit.ParseDuration(n.Value); f == nil && d > 0 {
			e.For = &d
		} else if f == nil {
			o.w.Reject(n, path, wording.Wrong("ends as it begins", "leave for out to let it last to the horizon"))
		} else if strings.HasPrefix(n.Value, "-") {
			o.w.Reject(n, path, wording.Wrong("ends before it begins", ""))
		} else {
			o.w.Reject(n, path, f)
		}
	}
	if h := o.w.s.Horizon; h != nil && e.At >= *h && o.Has("at") {
		o.Wrong("at", "the fault begins at "+e.At.String()+", not before the horizon of "+h.String(), "times count from the end of the warm-up")
	}
}

// details reads the keys that go with some kinds.
func (o *object) details(e *Event) {
	o.Flag("light", &e.Light)
	o.plane(&e.Plane)
	o.Positive("loss", &e.Loss)
	o.Positive("share", &e.Share)
	o.Bytes("above", &e.Above)
	items, path, given := o.Items("changes")
	for i, c := range items {
		d, ok := o.w.Duration(c, outline.Index(path, i))
		if n := len(e.Changes); ok && n > 0 && d < e.Changes[n-1] {
			o.w.Reject(c, outline.Index(path, i), wording.Wrong("is before the change before it", "offsets from at: off, on, off, ..."))
		} else if ok {
			e.Changes = append(e.Changes, d)
		}
	}
	if given && len(items) == 0 {
		o.Wrong("changes", "there is no change", "")
	}
	o.Duration("period", &e.Period, 1)
	o.Duration("off", &e.Off, 1)
	o.Flag("kept", &e.Kept)
	o.Number("factor", &e.Factor, unit.ParseNumber, 1, slowest)
}

// slowest is the largest factor of a slow control plane.
const slowest = 1e6

// plane reads the plane of a hung router that does not work.
func (o *object) plane(to **Plane) {
	if i := o.Word("plane", planeNames[:]...); i >= 0 {
		p := Plane(i)
		*to = &p
	}
}

// needs holds the keys of an event against its kind and against one another.
func (o *object) needs(e *Event) {
	switch e.Kind {
	case Lossy, Silent:
		o.Require("loss")
	case Blackhole, Unwritten:
		o.Require("share")
	case Slow:
		o.Require("factor")
	case Oversize:
		o.Require("above")
	case Hard:
		if o.Has("plane") && (e.On.Class == LinkPart || e.On.Class == AccessPart) {
			o.Wrong("plane", "a link has no planes", "plane goes with routers")
		} else if o.Has("plane") && (e.Light == nil || !*e.Light) {
			o.Wrong("plane", "plane goes with light: true", "a router without light is dead altogether")
		}
	case Flapping:
		o.rhythm(e)
	}
}

// rhythm holds the two ways of flapping against one another.
func (o *object) rhythm(e *Event) {
	steady := o.Has("period") || o.Has("off")
	switch {
	case steady && o.Has("changes"):
		o.Wrong("changes", "changes exclude period and off", "keep one way to say when it flaps")
	case !steady && !o.Has("changes"):
		o.w.Bad(o.Node, o.Path, "changes, or period and off, are missing", "such as period: 10s, off: 2s")
	case steady:
		o.Require("period", "off")
		if e.Period != nil && e.Off != nil && *e.Off >= *e.Period {
			o.Wrong("off", "off "+e.Off.String()+" is not below period "+e.Period.String(), "")
		}
	}
}
