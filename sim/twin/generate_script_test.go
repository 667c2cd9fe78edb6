package twin

// script draws one to six faults; half of the time some of them strike the same
// part, or begin and end together.
func (m *maker) script(all bool) []any {
	var out []any
	at, on := 0, ""
	if m.blind {
		out, at = m.blindStart()
	}
	for range 1 + m.IntN(6) {
		if len(out) == 0 || m.chance(0.7) {
			at = pick(m, 0, 500, 1000, 1000, 1500, 2000, 3000, 3500, 4000, 5000, 8000) + pick(m, 0, 0, 0, 1, 5, 30, 50)
		} else {
			at += pick(m, 0, 0, m.signal, m.settle, 3, 50, 300)
		}
		e := map[string]any{"at": milli(at)}
		if all && m.chance(0.3) {
			m.controlFault(e)
		} else {
			m.fault(e, on)
		}
		if m.chance(0.3) {
			on = e["on"].(string)
		}
		out = append(out, e)
	}
	return out
}

// blindStart cuts all links of a router for a time without anybody noticing, and
// has LSPs originated meanwhile, which S12 must bring across later.
func (m *maker) blindStart() ([]any, int) {
	at := pick(m, 500, 1000, 1005)
	out := []any{map[string]any{"at": milli(at), "on": "group:shore", "kind": "hard", "light": true, "for": milli(pick(m, 5, 20, 300, 1500))}}
	for range 1 + m.IntN(2) {
		on := pick(m, m.link(), m.direction(m.link()), m.fab.names[m.IntN(len(m.fab.names))])
		e := map[string]any{"at": milli(at + pick(m, 0, 1, 3, 10, 100)), "on": on, "kind": "drain"}
		m.length(e, 0.7)
		out = append(out, e)
	}
	return out, at + pick(m, 0, 1, 10, 100)
}

// fault draws kind, part and details of one entry; part before may be struck
// again, if its kind can have it.
func (m *maker) fault(e map[string]any, before string) {
	link, router := m.link(), m.fab.names[m.IntN(len(m.fab.names))]
	if len(m.names) > 0 && m.chance(0.3) {
		link, router = "group:links", "group:routers"
	}
	if before != "" && m.chance(0.6) {
		if _, ok := m.fab.link[before]; ok {
			link = before
		} else if _, ok := m.fab.router[before]; ok {
			router = before
		}
	}
	m.length(e, 0.7)
	switch m.IntN(16) {
	case 0, 1, 2, 3:
		e["kind"], e["on"] = "hard", link
		if m.chance(0.25) {
			e["light"] = true
		}
	case 4, 5, 6:
		e["kind"], e["on"] = "hard", router
		if m.chance(0.25) {
			e["light"], e["plane"] = true, "data"
		}
	case 7:
		e["kind"], e["on"], e["kept"] = "restart", router, false
		m.length(e, 1)
	case 8, 9:
		e["kind"], e["on"], e["loss"] = pick(m, "lossy", "silent"), m.direction(link), pick(m, 0.1, 0.025, 0.5, 1)
	case 10, 11:
		e["kind"], e["on"], e["share"] = "blackhole", m.direction(link), pick(m, 0.25, 0.1, 1)
	case 12:
		e["kind"], e["on"], e["above"] = "oversize", m.direction(link), pick(m, 400, 750, 1000, 1400, 1500)
	case 13:
		e["kind"], e["on"] = "flapping", link
		m.flaps(e)
	case 14:
		e["kind"], e["on"] = "drain", m.direction(link)
	case 15:
		e["kind"], e["on"] = "drain", router
	}
}

// controlFault draws one of the kinds that Generate leaves out.
func (m *maker) controlFault(e map[string]any) {
	e["on"] = m.fab.names[m.IntN(len(m.fab.names))]
	m.length(e, 0.8)
	switch m.IntN(4) {
	case 3:
		e["kind"], e["share"] = "unwritten", pick(m, 0.25, 0.5, 1)
	case 0:
		e["kind"], e["factor"] = "slow", pick(m, 2, 3, 10)
	case 1:
		e["kind"], e["kept"] = "restart", true
	default:
		e["kind"], e["light"], e["plane"] = "hard", true, "control"
	}
}

// direction turns a link into one of its directions, half of the time.
func (m *maker) direction(name string) string {
	l, ok := m.fab.link[name]
	if !ok || m.chance(0.5) {
		return name
	}
	k := m.fab.links[l]
	e := m.IntN(2)
	tail := name[len(m.fab.names[k.ends[0]])+1+len(m.fab.names[k.ends[1]]):]
	return m.fab.names[k.ends[e]] + ">" + m.fab.names[k.ends[1-e]] + tail
}

func (m *maker) length(e map[string]any, p float64) {
	if m.chance(p) {
		e["for"] = milli(pick(m, 3, 50, max(1, m.signal), max(1, m.settle), 120, 400, 1000, 2000, 3000, 5000))
	}
}

func (m *maker) flaps(e map[string]any) {
	if m.chance(0.5) {
		delete(e, "for")
		t := pick(m, 0, 0, 40)
		var changes []string
		for range 1 + m.IntN(5) {
			changes = append(changes, milli(t))
			t += pick(m, 2, 30, 100, 500, 1500)
		}
		e["changes"] = changes
		return
	}
	e["for"] = milli(pick(m, 500, 2000, 3100))
	e["period"] = milli(pick(m, 200, 700, 1000))
	e["off"] = milli(pick(m, 3, 50, 150))
}
