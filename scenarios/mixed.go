package scenarios

import (
	"slices"

	"halflight/scenarios/control"
	"halflight/scenarios/outline"
	"halflight/scenarios/wording"
)

// mixed reads which routers have other SPF back-offs.
func (o *object) mixed(s *Scenario) {
	items, path, _ := o.Items("mixed")
	for i, c := range items {
		if e := o.w.object(c, outline.Index(path, i)); e != nil {
			s.Mixed = append(s.Mixed, e.otherSPF())
		}
	}
}

// otherSPF reads another SPF back-off of some routers.
func (o *object) otherSPF() (m MixedSPF) {
	o.Require("on", "spf")
	if n, path := o.Take("on"); n != nil {
		if i := slices.Index(targetNames[OnLeaf:OnTop+1], n.Value); i >= 0 {
			m.Tier = OnLeaf + TargetClass(i)
		} else if near := wording.Nearest(n.Value, targetNames[OnLeaf:OnTop+1]); near != "" {
			o.w.Reject(n, path, wording.Wrong("is no tier of routers", "did you mean "+near+"?"))
		} else if p, ok := o.w.part(n, path); ok {
			if m.Part = p; p.Class != RouterPart && p.Class != GroupPart {
				o.w.Reject(n, path, wording.Wrong("is "+p.Class.String()+", which has no back-off", "leaf, spine, top, a router, or a group of routers"))
			}
		}
	}
	if f := o.open("spf"); f != nil {
		m.SPF = control.ReadSPF(f.Object)
	}
	o.Done()
	return m
}
