package model

import (
	"fmt"
	"strings"

	"halflight/model/fabric"
	"halflight/model/failure"
	"halflight/model/given"
	"halflight/scenarios"
)

// changesMax is how often the carrier of one scripted fault may change.
const changesMax = 1_000_000

// script resolves the timed faults, in the order of the file. Their times are
// counted from the end of the warm-up.
func (b *builder) script() {
	for i := range b.s.Script {
		b.event(fmt.Sprintf("script.%d", i), &b.s.Script[i])
	}
}

func (b *builder) event(path string, e *scenarios.Event) {
	f := failure.Scripted{At: b.w.WarmUp + int64(e.At), End: -1}
	f.Condition = failure.Condition{
		Kind: kindOf(e.Kind), Light: given.Or(e.Light, false), Loss: given.Or(e.Loss, 0), Share: given.Or(e.Share, 0),
		Above: float64(given.Or(e.Above, 0)), Factor: given.Or(e.Factor, 1),
		Control: given.Or(e.Plane, scenarios.DataPlane) == scenarios.ControlPlane, Kept: given.Or(e.Kept, false),
	}
	if int64(e.At) >= b.w.Horizon {
		b.bad(path+".at", "begins at or after the horizon, "+scenarios.Duration(b.w.Horizon).String())
	}
	if e.For != nil {
		f.End = f.At + int64(*e.For)
	}
	if !b.place(path+".on", e.On, &f) {
		return
	}
	b.suits(path+".on", &f)
	if f.Kind == failure.Flapping {
		b.flaps(path, e, &f)
	}
	b.w.Script = append(b.w.Script, f)
}

// kindOf translates a kind; both lists are in the same order.
func kindOf(k scenarios.Kind) failure.Kind { return failure.Kind(k - scenarios.Hard) }

// place fills in the parts of a fault and its canonical name.
func (b *builder) place(path string, p scenarios.Part, f *failure.Scripted) bool {
	if p.Class == scenarios.GroupPart {
		g := b.group(p.Group)
		if g == nil {
			b.bad(path, fmt.Sprintf("there is no group %q", p.Group))
			return false
		}
		f.On, f.Routers, f.Links, f.Directions = "group:"+g.Name, g.Routers, g.Links, g.Directions
		return true
	}
	if p.Class == scenarios.AccessPart {
		return b.placeAccess(path, p, f)
	}
	found, ok := b.find(path, p)
	switch {
	case !ok:
		return false
	case found.Router >= 0:
		f.On, f.Routers = b.w.Fabric.Routers[found.Router].Name, []int32{found.Router}
	case found.Link >= 0:
		f.On, f.Links = b.w.Fabric.Links[found.Link].Name, []int32{found.Link}
	default:
		f.On, f.Directions = b.w.Fabric.DirectionName(found.Direction), []int32{found.Direction}
	}
	return true
}

// group returns a group by name, nil when there is none.
func (b *builder) group(name string) *fabric.Group {
	for i := range b.w.Groups {
		if b.w.Groups[i].Name == name {
			return &b.w.Groups[i]
		}
	}
	return nil
}

// suits refuses kinds that the parts cannot have.
func (b *builder) suits(path string, f *failure.Scripted) {
	switch k := f.Kind; {
	case len(f.Access) > 0 && f.Light:
		b.bad(path, "an access link is cut with its light out")
	case len(f.Routers) > 0 && (k.Gray() || k == failure.Flapping):
		b.bad(path, fmt.Sprintf("a router cannot be %s: name its links", k))
	case len(f.Links) > 0 && (k == failure.Restart || k == failure.Slow || k == failure.Unwritten):
		b.bad(path, fmt.Sprintf("only routers can be %s", map[failure.Kind]string{failure.Restart: "restarted", failure.Slow: "slow", failure.Unwritten: "left unwritten"}[k]))
	case len(f.Directions) > 0 && !k.Gray() && k != failure.Drain:
		b.bad(path, fmt.Sprintf("one direction alone cannot be %s: say %s", k, strings.Replace(f.On, ">", "~", 1)))
	}
}

// flaps fills in the instants at which the carrier changes: those given, or off
// first, for off of every period, and on for good after the fault's time.
func (b *builder) flaps(path string, e *scenarios.Event, f *failure.Scripted) {
	if len(e.Changes) > 0 {
		for _, c := range e.Changes {
			f.Changes = append(f.Changes, int64(c))
		}
		if n := len(f.Changes); n%2 == 0 && e.For == nil {
			f.End = f.At + f.Changes[n-1]
		}
		return
	}
	if e.Period == nil || e.Off == nil {
		return // refused by scenarios
	}
	period, off := int64(*e.Period), int64(*e.Off)
	length := b.w.WarmUp + b.w.Horizon - f.At
	if f.End >= 0 {
		length = f.End - f.At
	}
	if period <= 0 || off <= 0 || off >= period {
		b.bad(path+".off", "must be above 0 and shorter than period")
		return
	}
	if length/period > changesMax/2 {
		b.bad(path+".period", fmt.Sprintf("makes more than %d flaps: shorten the fault or lengthen the period", changesMax/2))
		return
	}
	for t := int64(0); t < length; t += period {
		f.Changes = append(f.Changes, t, min(t+off, length))
	}
}
