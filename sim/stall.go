package sim

// darken notes whether the leaves at the ends of a link are dark: dead, or without any
// link that is alive.
func (e *engine) darken(link int32) {
	if e.chance == nil {
		return
	}
	l := &e.f.Links[link]
	for _, x := range [2]int32{l.Lower, l.Upper} {
		if int(x) < e.f.Leaves {
			dark := true
			for p := 0; dark && p < len(e.f.Ports[x]); p++ {
				dark = !e.alive(e.f.Ports[x][p].Link)
			}
			e.chance.stalls.Set(x, dark, e.now)
		}
	}
}

// alive says whether a link and both its routers are.
func (e *engine) alive(link int32) bool {
	b, l := &e.body, &e.f.Links[link]
	return len(b.onLink[link]) == 0 && !b.dead[l.Lower] && !b.dead[l.Upper]
}
