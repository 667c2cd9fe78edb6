package scenarios

import (
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"
)

// Every key that goes with some kind of scripted fault only.
var scriptKeys = []string{"light", "plane", "loss", "share", "above", "changes", "period", "off", "kept"}

// script reads the timed faults.
func (o *object) script() {
	items, path, _ := o.items("script")
	for i, c := range items {
		if e := o.w.object(c, index(path, i)); e != nil {
			o.w.s.Script = append(o.w.s.Script, e.event())
		}
	}
}

// event reads one entry of the script.
func (o *object) event() Event {
	var e Event
	o.require("at", "on", "kind")
	var at *Duration
	if o.duration("at", &at, 0); at != nil {
		e.At = *at
	}
	e.Kind = o.kind(Drain)
	on, path := o.take("on")
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
	o.done()
	return e
}

// suits holds a kind against the part, or all members of the group, that it strikes.
func (o *object) suits(n *yaml.Node, path string, e *Event) {
	parts := scriptKinds[e.Kind].parts
	if e.On.Class != GroupPart {
		if !slices.Contains(parts, e.On.Class) {
			o.w.reject(n, path, &fault{"is " + e.On.Class.String() + ", which cannot be " + adjective[e.Kind], whatSuits(parts)})
		}
		return
	}
	g, f := o.w.s.groupNamed(e.On.Group)
	if f != nil {
		o.w.reject(n, path, f)
		return
	}
	for _, m := range g.Members {
		if !slices.Contains(parts, m.Class) {
			o.w.reject(n, path, &fault{"has the member " + clip(m.Text) + ", " + m.Class.String() + ", which cannot be " + adjective[e.Kind],
				whatSuits(parts)})
			return
		}
	}
}

// What a part that has a fault is said to be.
var adjective = [...]string{Hard: "cut hard", Lossy: "lossy", Silent: "silently lossy", Blackhole: "a black hole",
	Oversize: "closed to large packets", Flapping: "flapping", RestartKind: "restarted", Drain: "drained"}

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
	if n, path := o.scalar("for"); n != nil {
		if d, f := parseDuration(n.Value); f == nil && d > 0 {
			e.For = &d
		} else if f == nil {
			o.w.reject(n, path, &fault{"ends as it begins", "leave for out to let it last to the horizon"})
		} else if strings.HasPrefix(n.Value, "-") {
			o.w.reject(n, path, &fault{"ends before it begins", ""})
		} else {
			o.w.reject(n, path, f)
		}
	}
	if h := o.w.s.Horizon; h != nil && e.At >= *h && o.has("at") {
		o.wrong("at", "the fault begins at "+e.At.String()+", not before the horizon of "+h.String(), "times count from the end of the warm-up")
	}
}

// details reads the keys that go with some kinds.
func (o *object) details(e *Event) {
	o.flag("light", &e.Light)
	if i := o.plane(); i >= 0 {
		p := DataPlane
		e.Plane = &p
	}
	o.positive("loss", &e.Loss)
	o.positive("share", &e.Share)
	o.bytes("above", &e.Above)
	items, path, given := o.items("changes")
	for i, c := range items {
		d, ok := o.w.duration(c, index(path, i))
		if n := len(e.Changes); ok && n > 0 && d < e.Changes[n-1] {
			o.w.reject(c, index(path, i), &fault{"is before the change before it", "offsets from at: off, on, off, ..."})
		} else if ok {
			e.Changes = append(e.Changes, d)
		}
	}
	if given && len(items) == 0 {
		o.wrong("changes", "there is no change", "")
	}
	o.duration("period", &e.Period, 1)
	o.duration("off", &e.Off, 1)
	if o.flag("kept", &e.Kept); e.Kept != nil && *e.Kept {
		o.wrong("kept", "a restart that keeps its tables is not simulated", "kept: false loses them")
	}
}

// plane reads the plane of a hung router that is dead.
func (o *object) plane() int {
	if n := o.values["plane"]; n != nil && n.Value == "control" {
		o.take("plane")
		o.wrong("plane", "a hung control plane is not simulated", "plane: data forwards nothing")
		return -1
	}
	return o.word("plane", "data")
}

// needs holds the keys of an event against its kind and against one another.
func (o *object) needs(e *Event) {
	switch e.Kind {
	case Lossy, Silent:
		o.require("loss")
	case Blackhole:
		o.require("share")
	case Oversize:
		o.require("above")
	case Hard:
		if o.has("plane") && e.On.Class == LinkPart {
			o.wrong("plane", "a link has no planes", "plane goes with routers")
		} else if o.has("plane") && (e.Light == nil || !*e.Light) {
			o.wrong("plane", "plane goes with light: true", "a router without light is dead altogether")
		}
	case Flapping:
		o.rhythm(e)
	}
}

// rhythm holds the two ways of flapping against one another.
func (o *object) rhythm(e *Event) {
	steady := o.has("period") || o.has("off")
	switch {
	case steady && o.has("changes"):
		o.wrong("changes", "changes exclude period and off", "keep one way to say when it flaps")
	case !steady && !o.has("changes"):
		o.w.bad(o.node, o.path, "changes, or period and off, are missing", "such as period: 10s, off: 2s")
	case steady:
		o.require("period", "off")
		if e.Period != nil && e.Off != nil && *e.Off >= *e.Period {
			o.wrong("off", "off "+e.Off.String()+" is not below period "+e.Period.String(), "")
		}
	}
}
