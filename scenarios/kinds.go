package scenarios

import (
	"slices"
	"strings"

	"halflight/scenarios/wording"
)

// What a kind of fault can strike in a script, and which keys go with it beside at, on, kind and for.
var scriptKinds = [...]struct {
	parts []PartClass
	keys  []string
}{
	Hard:        {[]PartClass{RouterPart, LinkPart, AccessPart}, []string{"light", "plane"}},
	Lossy:       {[]PartClass{LinkPart, DirectionPart}, []string{"loss"}},
	Silent:      {[]PartClass{LinkPart, DirectionPart}, []string{"loss"}},
	Blackhole:   {[]PartClass{LinkPart, DirectionPart}, []string{"share"}},
	Oversize:    {[]PartClass{LinkPart, DirectionPart}, []string{"above"}},
	Flapping:    {[]PartClass{LinkPart, AccessPart}, []string{"changes", "period", "off"}},
	RestartKind: {[]PartClass{RouterPart}, []string{"kept"}},
	Slow:        {[]PartClass{RouterPart}, []string{"factor"}},
	Unwritten:   {[]PartClass{RouterPart}, []string{"share"}},
	Drain:       {[]PartClass{RouterPart, LinkPart, DirectionPart}, nil},
}

// What a kind of failure can strike at random, and which keys go with it beside those of every failure. A silent router loses
// on all its ports.
var failureKinds = [...]struct {
	targets []TargetClass
	keys    []string
}{
	Hard:        {[]TargetClass{OnLink, OnRouter, OnLeaf, OnSpine, OnTop, OnLineCard, OnPowerDomain, OnBreakout, OnBatch, OnAccess, OnBorder}, []string{"light", "plane", "repair", "drift"}},
	Lossy:       {linkTargets, []string{"loss", "burst", "one_way", "repair", "drift"}},
	Silent:      {append(slices.Clone(linkTargets), OnRouter, OnLeaf, OnSpine, OnTop, OnBorder), []string{"loss", "burst", "one_way", "repair"}},
	Blackhole:   {linkTargets, []string{"share", "one_way", "repair"}},
	Oversize:    {linkTargets, []string{"above", "one_way", "repair"}},
	Flapping:    {append(slices.Clone(linkTargets), OnAccess), []string{"episodes", "flaps", "down", "gap", "repair"}},
	RestartKind: {routerTargets, []string{"down", "kept"}},
	Slow:        {routerTargets, []string{"factor", "lasts"}},
	Unwritten:   {routerTargets, []string{"share", "lasts"}},
}

// linkTargets are links alone or in groups.
var linkTargets = []TargetClass{OnLink, OnLineCard, OnBreakout, OnBatch}

// routerTargets are routers alone.
var routerTargets = []TargetClass{OnRouter, OnLeaf, OnSpine, OnTop, OnBorder}

// kind reads the kind of a fault; last is the last kind that is known here.
func (o *object) kind(last Kind) Kind {
	n, path := o.Scalar("kind")
	if n == nil {
		return NoKind
	}
	known := kindNames[1 : last+1]
	if i := slices.Index(known, n.Value); i >= 0 {
		return Kind(i + 1)
	}
	f := wording.Wrong("is no kind of fault", wording.Spelling(n.Value, known))
	if n.Value == Drain.String() {
		f = wording.Wrong("is not a failure", "drains are for the script")
	}
	o.w.Reject(n, path, f)
	return NoKind
}

// misplaced adds a problem for every key that is known in a list but does not go with the kind.
func (o *object) misplaced(kind Kind, all, own []string) {
	if kind == NoKind {
		return
	}
	for _, k := range all {
		if !o.Has(k) || slices.Contains(own, k) {
			continue
		}
		hint := "it goes with " + strings.Join(kindsWith(k, all), ", ")
		o.w.Bad(o.KeyNode(k), o.Path, k+" does not go with kind "+kind.String(), hint)
	}
}

// kindsWith lists the kinds with which a key goes, in the script or among the failures.
func kindsWith(key string, all []string) []string {
	var kinds []string
	for k := Hard; k <= Drain; k++ {
		own := scriptKinds[k].keys
		if slices.Contains(all, "repair") {
			if int(k) >= len(failureKinds) {
				break
			}
			own = failureKinds[k].keys
		}
		if slices.Contains(own, key) {
			kinds = append(kinds, k.String())
		}
	}
	return kinds
}

// groupNamed returns the group with a name, or what to say when there is none.
func (s *Scenario) groupNamed(name string) (*Group, *wording.Fault) {
	names := make([]string, 0, len(s.Groups.Named))
	for i := range s.Groups.Named {
		if s.Groups.Named[i].Name == name {
			return &s.Groups.Named[i], nil
		}
		names = append(names, s.Groups.Named[i].Name)
	}
	if len(names) == 0 {
		return nil, wording.Wrong("names an unknown group", "this scenario has no groups by name")
	}
	return nil, wording.Wrong("names an unknown group", wording.Spelling(name, names))
}
