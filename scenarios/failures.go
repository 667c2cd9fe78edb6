package scenarios

import (
	"slices"
	"strings"

	"halflight/scenarios/law"
	"halflight/scenarios/outline"
	"halflight/scenarios/part"
	"halflight/scenarios/unit"
	"halflight/scenarios/wording"
)

// Every key that goes with some kinds of failure only.
var failureKeys = []string{"light", "loss", "burst", "one_way", "share", "above", "episodes", "flaps", "down", "gap", "repair", "drift", "plane", "kept", "factor", "lasts"}

// failures reads the modes.
func (o *object) failures() {
	s := o.w.s
	items, path, given := o.Items("failures")
	s.FailuresGiven = given
	used := map[string]int{}
	for i, c := range items {
		e := o.w.object(c, outline.Index(path, i))
		switch {
		case e == nil:
			continue
		case e.Has("use"):
			s.Failures = append(s.Failures, e.use(s))
		default:
			s.Failures = append(s.Failures, e.failure(used))
		}
	}
}

// use reads an entry that stands for the default set.
func (o *object) use(s *Scenario) Failure {
	if o.Word("use", "default") < 0 {
		return Failure{}
	}
	if slices.ContainsFunc(s.Failures, func(f Failure) bool { return f.Use != "" }) {
		o.Wrong("use", "the default set is in use already", "")
	}
	o.Done()
	return Failure{Use: "default"}
}

// failure reads one mode.
func (o *object) failure(used map[string]int) Failure {
	o.Require("name", "on", "kind")
	f := Failure{Name: o.Name(used), Kind: o.kind(Unwritten)}
	f.On = o.target()
	if f.Kind != NoKind && f.On.Class != NoTarget {
		o.strikes(&f)
	}
	o.life(&f)
	o.condition(&f)
	if r := o.open("repair"); r != nil {
		f.Repair = &Repair{}
		law.Read(r.Object, "lead", &f.Repair.Lead, &law.Durations)
		law.Read(r.Object, "hands_on", &f.Repair.HandsOn, &law.Durations)
		r.Done()
	}
	f.Note = o.Text("note")
	if i := o.Word("grade", grades...); i >= 0 {
		f.Grade = grades[i]
	}
	if f.Kind != NoKind {
		o.misplaced(f.Kind, failureKeys, failureKinds[f.Kind].keys)
	}
	o.Done()
	return f
}

// How good a number is: confirmed, secondary, from memory, assumed, common practice.
var grades = []string{"A", "B", "C", "D", "CP"}

// target reads what a failure strikes.
func (o *object) target() Target {
	n, path := o.Scalar("on")
	if n == nil {
		return Target{}
	}
	if name, ok := strings.CutPrefix(n.Value, "group:"); ok {
		if _, f := o.w.s.groupNamed(name); f != nil {
			o.w.Reject(n, path, f)
			return Target{}
		}
		return Target{Class: OnGroup, Group: name}
	}
	known := targetNames[OnLink:OnGroup]
	i := slices.Index(known, n.Value)
	if i < 0 {
		hint := wording.Spelling(n.Value, known)
		if strings.ContainsAny(n.Value, "~>") || part.IsRouter(n.Value) {
			hint = "failures strike populations; for parts by name use group:NAME, or the script"
		}
		o.w.Reject(n, path, wording.Wrong("is nothing that fails", hint))
		return Target{}
	}
	t := Target{Class: OnLink + TargetClass(i)}
	if t.Class == OnTop && o.w.n != nil && o.w.n.Tops == 0 {
		o.w.Reject(n, path, wording.Wrong("is nothing this fabric has", "tops: 0"))
	}
	return t
}

// strikes holds the kind of a failure against its target.
func (o *object) strikes(f *Failure) {
	targets := failureKinds[f.Kind].targets
	if f.On.Class != OnGroup {
		if !slices.Contains(targets, f.On.Class) {
			o.Wrong("on", wording.Quote(f.On.String())+" cannot be "+adjective[f.Kind], "this kind takes "+targetList(targets))
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
			o.Wrong("on", wording.Quote(f.On.String())+" has the member "+wording.Clip(m.Text)+", one direction of a link", "failures strike links and routers: see one_way")
			return
		}
		if !slices.Contains(targets, class) {
			o.Wrong("on", wording.Quote(f.On.String())+" has the member "+wording.Clip(m.Text)+", "+m.Class.String()+", which cannot be "+adjective[f.Kind], "")
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
	law.Read(o.Object, "life", &f.Life, &law.Lifetimes)
	o.Rate("episodes", &f.Episodes)
	switch {
	case o.Has("life") && o.Has("episodes"):
		o.Wrong("episodes", "life and episodes exclude one another", "keep one")
	case f.Kind == Flapping && !o.Has("life") && !o.Has("episodes"):
		o.w.Bad(o.Node, o.Path, "episodes or life is missing", "such as episodes: 2e-4/d")
	case f.Kind != Flapping && !o.Has("life"):
		o.w.Bad(o.Node, o.Path, "life is missing", "such as life: {exponential: {mean: 20y}}")
	}
	if i := o.Word("start", "aged", "new"); i >= 0 {
		fresh := i == 1
		f.New = &fresh
	}
	if m := o.open("frailty"); m != nil {
		f.Frailty = &Frailty{}
		if m.Has("lognormal") {
			o.sigma(m, &f.Frailty.Unit)
		} else {
			m.Know("lognormal")
			if u := m.open("unit"); u != nil {
				o.sigma(u, &f.Frailty.Unit)
			}
			if b := m.open("batch"); b != nil {
				o.sigma(b, &f.Frailty.Batch)
			}
		}
		m.Done()
	}
}

// sigma reads the sigma of a lognormal factor of mean 1.
func (o *object) sigma(m *object, to **float64) {
	if l := m.open("lognormal"); l != nil {
		l.Require("sigma")
		l.Number("sigma", to, unit.ParseNumber, 0, 3)
		l.Done()
	} else if !m.Has("lognormal") {
		m.Require("lognormal")
	}
}

// condition reads what a failure does.
func (o *object) condition(f *Failure) {
	o.Flag("light", &f.Light)
	law.Read(o.Object, "loss", &f.Loss, &law.Shares)
	if b := o.open("burst"); b != nil {
		f.Burst = &Burst{}
		b.Require("length")
		var length *float64
		if b.Number("length", &length, unit.ParseNumber, 1, 1e9); length != nil {
			f.Burst.Length = *length
		}
		b.Positive("bad", &f.Burst.Bad)
		b.Done()
	}
	if d := o.open("drift"); d != nil {
		f.Drift = &Drift{}
		d.Share("share", &f.Drift.Share, 1)
		law.Read(d.Object, "over", &f.Drift.Over, &law.Durations)
		d.Done()
	}
	o.Share("one_way", &f.OneWay, 1)
	law.Read(o.Object, "share", &f.Share, &law.Shares)
	o.Bytes("above", &f.Above)
	law.Read(o.Object, "flaps", &f.Flaps, &law.Counts)
	law.Read(o.Object, "down", &f.Down, &law.Durations)
	law.Read(o.Object, "gap", &f.Gap, &law.Durations)
	o.plane(&f.Plane)
	if o.Has("plane") && (f.Light == nil || !*f.Light) {
		o.Wrong("plane", "plane goes with light: true", "a router without light is dead altogether")
	} else if o.Has("plane") && f.Kind == Hard && !slices.Contains(routerTargets, f.On.Class) {
		o.Wrong("plane", "plane goes with routers", "")
	}
	o.Flag("kept", &f.Kept)
	law.Read(o.Object, "factor", &f.Factor, &law.Factors)
	law.Read(o.Object, "lasts", &f.Lasts, &law.Durations)
	o.Whole("members", &f.Members, 1, routersMax)
	if o.Has("members") && f.On.Class != NoTarget && f.On.Class < OnLineCard {
		o.Wrong("members", "a "+f.On.Class.String()+" has no members", "members goes with line_card, power_domain, breakout, batch and group:NAME")
	}
}
