package scenarios

import (
	"slices"
	"strings"
)

// Every key that goes with some kinds of failure only.
var failureKeys = []string{"light", "loss", "burst", "one_way", "share", "above", "episodes", "flaps", "down", "gap", "repair"}

// failures reads the modes.
func (o *object) failures() {
	s := o.w.s
	items, path, given := o.items("failures")
	s.FailuresGiven = given
	used := map[string]int{}
	for i, c := range items {
		e := o.w.object(c, index(path, i))
		switch {
		case e == nil:
			continue
		case e.has("use"):
			s.Failures = append(s.Failures, e.use(s))
		default:
			s.Failures = append(s.Failures, e.failure(used))
		}
	}
}

// use reads an entry that stands for the default set.
func (o *object) use(s *Scenario) Failure {
	if o.word("use", "default") < 0 {
		return Failure{}
	}
	if slices.ContainsFunc(s.Failures, func(f Failure) bool { return f.Use != "" }) {
		o.wrong("use", "the default set is in use already", "")
	}
	o.done()
	return Failure{Use: "default"}
}

// failure reads one mode.
func (o *object) failure(used map[string]int) Failure {
	o.require("name", "on", "kind")
	f := Failure{Name: o.name(used), Kind: o.kind(RestartKind)}
	f.On = o.target()
	if f.Kind != NoKind && f.On.Class != NoTarget {
		o.strikes(&f)
	}
	o.life(&f)
	o.condition(&f)
	if r := o.open("repair"); r != nil {
		f.Repair = &Repair{}
		r.law("lead", &f.Repair.Lead, &durations)
		r.law("hands_on", &f.Repair.HandsOn, &durations)
		r.done()
	}
	f.Note = o.text("note")
	if i := o.word("grade", grades...); i >= 0 {
		f.Grade = grades[i]
	}
	if f.Kind != NoKind {
		o.misplaced(f.Kind, failureKeys, failureKinds[f.Kind].keys)
	}
	o.done()
	return f
}

// How good a number is: confirmed, secondary, from memory, assumed, common practice.
var grades = []string{"A", "B", "C", "D", "CP"}

// target reads what a failure strikes.
func (o *object) target() Target {
	n, path := o.scalar("on")
	if n == nil {
		return Target{}
	}
	if name, ok := strings.CutPrefix(n.Value, "group:"); ok {
		if _, f := o.w.s.groupNamed(name); f != nil {
			o.w.reject(n, path, f)
			return Target{}
		}
		return Target{Class: OnGroup, Group: name}
	}
	known := targetNames[OnLink:OnGroup]
	i := slices.Index(known, n.Value)
	if i < 0 {
		hint := spelling(n.Value, known)
		if strings.ContainsAny(n.Value, "~>") || routerName.MatchString(n.Value) {
			hint = "failures strike populations; for parts by name use group:NAME, or the script"
		}
		o.w.reject(n, path, &fault{"is nothing that fails", hint})
		return Target{}
	}
	t := Target{Class: OnLink + TargetClass(i)}
	if t.Class == OnTop && o.w.n != nil && o.w.n.Tops == 0 {
		o.w.reject(n, path, &fault{"is nothing this fabric has", "tops: 0"})
	}
	return t
}

// strikes holds the kind of a failure against its target.
func (o *object) strikes(f *Failure) {
	targets := failureKinds[f.Kind].targets
	if f.On.Class != OnGroup {
		if !slices.Contains(targets, f.On.Class) {
			o.wrong("on", quote(f.On.String())+" cannot be "+adjective[f.Kind], "this kind takes "+targetList(targets))
		}
		return
	}
	g, _ := o.w.s.groupNamed(f.On.Group)
	for _, m := range g.Members {
		class := OnLink
		switch m.Class {
		case RouterPart:
			class = OnRouter
		case DirectionPart:
			o.wrong("on", quote(f.On.String())+" has the member "+clip(m.Text)+", one direction of a link", "failures strike links and routers: see one_way")
			return
		}
		if !slices.Contains(targets, class) {
			o.wrong("on", quote(f.On.String())+" has the member "+clip(m.Text)+", "+m.Class.String()+", which cannot be "+adjective[f.Kind], "")
			return
		}
	}
}

// targetList lists classes of target.
func targetList(targets []TargetClass) string {
	names := make([]string, len(targets))
	for i, t := range targets {
		names[i] = t.String()
	}
	return strings.Join(names, ", ")
}

// life reads how often a failure strikes, and how unequally.
func (o *object) life(f *Failure) {
	o.law("life", &f.Life, &lifetimes)
	o.rate("episodes", &f.Episodes)
	switch {
	case o.has("life") && o.has("episodes"):
		o.wrong("episodes", "life and episodes exclude one another", "keep one")
	case f.Kind == Flapping && !o.has("life") && !o.has("episodes"):
		o.w.bad(o.node, o.path, "episodes or life is missing", "such as episodes: 2e-4/d")
	case f.Kind != Flapping && !o.has("life"):
		o.w.bad(o.node, o.path, "life is missing", "such as life: {exponential: {mean: 20y}}")
	}
	if i := o.word("start", "aged", "new"); i >= 0 {
		fresh := i == 1
		f.New = &fresh
	}
	if m := o.open("frailty"); m != nil {
		f.Frailty = &Frailty{}
		if m.has("lognormal") {
			o.sigma(m, &f.Frailty.Unit)
		} else {
			m.asked = append(m.asked, "lognormal")
			if u := m.open("unit"); u != nil {
				o.sigma(u, &f.Frailty.Unit)
			}
			if b := m.open("batch"); b != nil {
				o.sigma(b, &f.Frailty.Batch)
			}
		}
		m.done()
	}
}

// sigma reads the sigma of a lognormal factor of mean 1.
func (o *object) sigma(m *object, to **float64) {
	if l := m.open("lognormal"); l != nil {
		l.require("sigma")
		l.number("sigma", to, parsePlain, 0, 3)
		l.done()
	} else if !m.has("lognormal") {
		m.require("lognormal")
	}
}

// condition reads what a failure does.
func (o *object) condition(f *Failure) {
	o.flag("light", &f.Light)
	o.law("loss", &f.Loss, &shares)
	if b := o.open("burst"); b != nil {
		f.Burst = &Burst{}
		b.require("length")
		b.shape("length", &f.Burst.Length, 1, 1e9)
		b.positive("bad", &f.Burst.Bad)
		b.done()
	}
	o.share("one_way", &f.OneWay, 1)
	o.law("share", &f.Share, &shares)
	o.bytes("above", &f.Above)
	o.law("flaps", &f.Flaps, &counts)
	o.law("down", &f.Down, &durations)
	o.law("gap", &f.Gap, &durations)
	o.whole("members", &f.Members, 1, routersMax)
	if o.has("members") && f.On.Class != NoTarget && f.On.Class < OnLineCard {
		o.wrong("members", "a "+f.On.Class.String()+" has no members", "members goes with line_card, power_domain, breakout, batch and group:NAME")
	}
}
