package model

import (
	"fmt"
	"slices"

	"halflight/model/chance"
	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/given"
	"halflight/scenarios"
)

// lawOf translates a law as typed.
func lawOf(d *scenarios.Distribution) chance.Law {
	switch d.Family {
	case scenarios.Fixed:
		return chance.Constant(d.Low)
	case scenarios.Exponential:
		return chance.ExponentialOf(d.Mean)
	case scenarios.Geometric:
		return chance.Law{Family: chance.Geometric, Scale: d.Mean}
	case scenarios.Weibull:
		if d.Scale > 0 {
			return chance.Law{Family: chance.Weibull, Scale: d.Scale, Shape: d.Shape}
		}
		return chance.WeibullMean(d.Mean, d.Shape)
	case scenarios.Lognormal:
		if d.Median > 0 {
			return chance.LognormalOf(d.Median, d.Sigma)
		}
		return chance.LognormalMean(d.Mean, d.Sigma)
	case scenarios.Loguniform, scenarios.Uniform:
		return chance.Between(d.Low, d.High, d.Family == scenarios.Loguniform)
	}
	bins := make([]chance.Bin, len(d.Bins))
	for i, b := range d.Bins {
		bins[i] = chance.Bin{Share: b.Share, Low: b.Low, High: b.High}
	}
	return chance.Tabled(bins)
}

// law is lawOf, or the default when nothing was given.
func law(given *scenarios.Distribution, otherwise chance.Law) chance.Law {
	if given == nil {
		return otherwise
	}
	return lawOf(given)
}

// failures resolves the modes. An entry with the name of a mode of the default
// set in use takes its place.
func (b *builder) failures() {
	if !b.w.Random {
		return
	}
	if !b.s.FailuresGiven {
		b.w.Modes = b.defaults()
	}
	if i := slices.IndexFunc(b.s.Failures, func(f scenarios.Failure) bool { return f.Use != "" }); i >= 0 {
		b.w.Modes = b.defaults()
	}
	for i := range b.s.Failures {
		if f := &b.s.Failures[i]; f.Use == "" {
			b.mode(fmt.Sprintf("failures.%d", i), f)
		}
	}
}

// defaults returns the default modes of this fabric. Those on a class of group
// that it does not have are left out.
func (b *builder) defaults() []failure.Mode {
	cards := 0
	for i := range b.w.Groups {
		if b.w.Groups[i].Class == fabric.LineCard {
			cards++
		}
	}
	modes := failure.Default(len(b.w.Fabric.Routers), cards)
	if b.w.Homing.On() {
		modes = append(modes, failure.Access()...)
	}
	return slices.DeleteFunc(modes, func(m failure.Mode) bool { return m.Population(b.w.Fabric, b.w.Groups) == 0 })
}

// mode resolves one mode.
func (b *builder) mode(path string, f *scenarios.Failure) {
	if f.Kind == scenarios.NoKind || f.On.Class == scenarios.NoTarget {
		return // refused by scenarios
	}
	m := failure.Mode{
		Name: f.Name, Kind: kindOf(f.Kind), On: classOf(f.On.Class), Group: f.On.Group,
		Aged: !given.Or(f.New, false), Ports: given.Or(f.Members, 0), OneWay: given.Or(f.OneWay, 0),
		Frailty: chance.Constant(1), BatchFrailty: chance.Constant(1), Note: f.Note, Grade: f.Grade,
	}
	if f.Frailty != nil {
		m.Frailty, m.BatchFrailty = chance.Factor(given.Or(f.Frailty.Unit, 0)), chance.Factor(given.Or(f.Frailty.Batch, 0))
	}
	if m.Routers() {
		m.OneWay = 0 // a router loses on all its ports
	}
	b.life(path, f, &m)
	if f.Repair != nil {
		m.Lead, m.HandsOn = law(f.Repair.Lead, chance.Law{}), law(f.Repair.HandsOn, chance.Law{})
	} else {
		m.Lead, m.HandsOn = failure.DefaultRepair(m.Kind, m.On)
	}
	b.condition(path, f, &m)
	b.drift(path, f, &m)
	switch {
	case m.On == failure.OnAccess && !b.w.Homing.On():
		b.bad(path+".on", "access links are not followed: say homing: {attachments: 1}")
	case m.On == failure.OnAccess && m.Light > 0:
		b.bad(path+".light", "an access link is cut with its light out")
	case m.On == failure.OnBorder && b.w.Fabric.Border == nil && b.s.Traffic.External != nil && !b.s.Traffic.External.Off:
		// what is wrong with traffic.external has been said
	case m.On == failure.OnBorder && b.w.Fabric.Border == nil:
		b.bad(path+".on", "nothing enters from outside: say traffic: {external: {share: 20%, at: leaves}}")
	case m.Population(b.w.Fabric, b.w.Groups) == 0:
		b.bad(path+".on", fmt.Sprintf("this fabric has nothing of class %s: see groups", m.On))
	}
	if b.counted(m.Name) {
		b.bad(path+".name", "is what results call faults of no mode of failure: take another name")
	}
	b.often(path, &m, f.Episodes != nil)
	b.put(m)
}

// counted says whether results of this world count other faults by a name: drains
// and scripted faults always do.
func (b *builder) counted(name string) bool {
	switch name {
	case "drain", "script":
		return true
	case "upgrade":
		return b.w.Operation.Upgrades != nil
	case "change":
		return b.w.Operation.Changes != nil
	case "demand":
		return b.w.Traffic.Congestion
	}
	return false
}

// classOf translates a target; both lists are in the same order.
func classOf(c scenarios.TargetClass) failure.Class { return failure.Class(c - scenarios.OnLink) }

// life resolves the law of lives, and of the first one of a part that is not new.
func (b *builder) life(path string, f *scenarios.Failure, m *failure.Mode) {
	switch {
	case f.Episodes != nil && *f.Episodes <= 0:
		b.bad(path+".episodes", "must be above 0")
		return
	case f.Episodes != nil:
		m.Life = failure.Episodes(float64(*f.Episodes))
	case f.Life != nil:
		m.Life = lawOf(f.Life)
	default:
		return // refused by scenarios
	}
	if !(m.Life.Mean() > 0) || m.Life.Family == chance.Geometric {
		b.bad(path+".life", "must be a law of times above 0")
		return
	}
	if m.Kind == failure.Flapping {
		m.EpisodesPerDay = float64(day) / m.Life.Mean()
	}
	if m.Aged {
		m.Residual = chance.NewResidual(m.Life)
	}
}

// condition resolves what a fault of the mode does.
func (b *builder) condition(path string, f *scenarios.Failure, m *failure.Mode) {
	switch m.Kind {
	case failure.Hard:
		if given.Or(f.Light, false) {
			m.Light = 1
		}
		m.Control = given.Or(f.Plane, scenarios.DataPlane) == scenarios.ControlPlane
	case failure.Lossy, failure.Silent:
		m.Loss = law(f.Loss, failure.DefaultLoss(m.Kind))
		b.burst(path, f, m)
	case failure.Blackhole:
		m.Share = law(f.Share, failure.DefaultShare)
	case failure.Oversize:
		m.Above = float64(given.Or(f.Above, failure.DefaultAbove))
	case failure.Flapping:
		flaps, down, gap := failure.DefaultFlaps()
		m.Flaps, m.Down, m.Gap = law(f.Flaps, flaps), law(f.Down, down), law(f.Gap, gap)
	case failure.Restart:
		m.Down, m.Kept = law(f.Down, failure.DefaultReload), given.Or(f.Kept, false)
	case failure.Slow:
		m.Factor, m.Lasts = law(f.Factor, failure.DefaultFactor), law(f.Lasts, failure.DefaultLasts)
	case failure.Unwritten:
		m.Share, m.Lasts = law(f.Share, failure.DefaultStuck), law(f.Lasts, failure.DefaultLasts)
	}
}

// drift resolves how faults announce themselves.
func (b *builder) drift(path string, f *scenarios.Failure, m *failure.Mode) {
	if f.Drift == nil {
		return
	}
	if m.On != failure.OnLink || m.Light > 0 {
		b.bad(path+".drift", "only a link of its own, whose light goes out or whose losses are counted, has an error ratio that drifts")
		return
	}
	m.Drift, m.DriftOver = given.Or(f.Drift.Share, 1), law(f.Drift.Over, failure.DefaultDriftOver)
}

// burst resolves two-state loss, of which the mean cannot exceed what a bad
// stretch loses.
func (b *builder) burst(path string, f *scenarios.Failure, m *failure.Mode) {
	if f.Burst == nil {
		return
	}
	m.Burst, m.BurstLoss = f.Burst.Length, given.Or(f.Burst.Bad, 1)
	if most := m.Loss.Most(); most > m.BurstLoss {
		b.bad(path+".burst.bad", fmt.Sprintf("a bad stretch that loses %g cannot make a mean loss of %g", m.BurstLoss, most))
	}
}

// put adds a mode, or puts it in the place of a default one of its name. What
// equals a default one has its source.
func (b *builder) put(m failure.Mode) {
	for _, d := range b.defaults() {
		if d.Name == m.Name && d.Same(&m) {
			m.Source, m.Grade, m.Range, m.Wide, m.Note = d.Source, d.Grade, d.Range, d.Wide, d.Note
		}
	}
	for i := range b.w.Modes {
		if b.w.Modes[i].Name == m.Name {
			b.w.Modes[i] = m
			return
		}
	}
	b.w.Modes = append(b.w.Modes, m)
}
