package linkstate

// HostChanged is a host behind leaf x, a router of the area, that went away or came
// back: an event that no topology follows. The leaf's LSP says so, and all routers
// compute; no next hop is another afterwards.
func (c *Control) HostChanged(x int32, now int64) {
	r := &c.routers[x]
	r.hosts++ // what it says when it is back from an outage, too
	if c.dead[x] {
		return
	}
	if c.gens[x].at == Never { // else the LSP is on its way because of something else
		r.fault = -1
	}
	if at := c.gens[x].ask(&c.t.LSPGeneration, now); at != Never {
		c.task(at, Originate, x, x, 0)
	}
}

// withHosts is how many LSPs an exchange carries from one end to the other: the
// hosts of a leaf come with it to a router that knows nothing of it.
func (c *Control) withHosts(newer []version, to int32) int {
	n := len(newer)
	if c.t.Hosts > 0 {
		for _, v := range newer {
			if int(v.origin) < c.f.Leaves && c.data.seq[v.origin][to] == 0 {
				n += c.t.Hosts
			}
		}
	}
	return n
}
