package linkstate

// deliverAll brings one version to a group of routers at one instant. Most of
// them had the version before it, so what that step means is found once.
func (c *Control) deliverAll(group []int32, v version, now int64) {
	log := &c.data.logs[v.origin]
	column, hash := c.data.seq[v.origin], c.data.hash
	content := log.at(v.seq)
	usual := column[group[0]]
	usualNews := usual < v.seq && !content.equal(log.at(usual))
	step := digest(v.origin, usual) ^ digest(v.origin, v.seq)
	careful := !c.t.SecondLSPCounts || c.holding > 0
	w := c.beginSurge(content.fault, now)
	dead := c.dead
	for _, x := range group {
		if dead[x] {
			continue
		}
		if column[x] != usual || x == v.origin || careful {
			w.putBack(c)
			c.deliver(x, v, now)
			continue
		}
		if usual >= v.seq {
			continue
		}
		column[x] = v.seq
		hash[x] ^= step
		switch {
		case !usualNews:
		case w.quick:
			w.event(c, x)
		default:
			c.event(x, content.fault, now)
		}
	}
	w.end(c)
}

// deliver brings one version to one live router. It returns whether it was new
// there. An LSP with other adjacencies, metrics or overload bit is an IGP
// event; a router ignores its own.
func (c *Control) deliver(x int32, v version, now int64) bool {
	old := c.data.seq[v.origin][x]
	if x == v.origin || old >= v.seq {
		return false
	}
	log := &c.data.logs[v.origin]
	was, is := log.at(old), log.at(v.seq)
	counts := !is.equal(was) && (c.t.SecondLSPCounts || c.alters(x, v.origin, was, is))
	if c.routers[x].holding != 0 && c.alters(x, v.origin, was, is) {
		c.hurry(x, now)
	}
	c.data.put(x, v.origin, v.seq)
	if counts {
		c.event(x, is.fault, now)
	}
	return true
}

// alters says whether origin's new LSP changes what x makes of its database:
// the links that both ends list, their metrics, or the overload bit.
func (c *Control) alters(x, origin int32, was, is *lsp) bool {
	if (was != nil && was.overload) != is.overload || was != nil && was.hosts != is.hosts {
		return true
	}
	for p, port := range c.f.Ports[origin] {
		var m uint32
		if was != nil {
			m = was.metric[p]
		}
		if m != is.metric[p] && c.data.holds(x, port.Peer).lists(port.Back) {
			return true
		}
	}
	return false
}

// event is an IGP event at x.
func (c *Control) event(x, fault int32, now int64) {
	b := &c.backs[x]
	b.settle(c.spf(x), now, c.bookOf(x))
	c.heard.Note(fault, x, now, c.ranFrom[x], len(c.routers))
	if at := b.event(c.spf(x), now); at != Never {
		b.fault = fault
		c.join(at, Expire, x)
	}
}

// ask is a change at x of an adjacency, a metric or the overload bit.
func (c *Control) ask(x, fault int32, now int64) {
	c.routers[x].fault = fault
	c.routers[x].skew = true
	if at := c.gens[x].ask(&c.t.LSPGeneration, now); at != Never {
		c.task(at, Originate, x, x, 0)
	}
}

// originate ends the wait of x's LSP generation.
func (c *Control) originate(x int32, now int64) {
	if c.dead[x] || c.gens[x].at != now {
		return
	}
	r := &c.routers[x]
	c.gens[x].expire(&c.t.LSPGeneration)
	c.hurry(x, now)
	l := c.compose(x)
	r.skew = false
	if !r.first && l.equal(r.origin) {
		c.event(x, r.fault, now)
		c.close()
		return
	}
	r.first, r.origin = false, l
	l.order = c.order
	log := &c.data.logs[x]
	seq := log.add(l)
	c.data.put(x, x, seq)
	if len(log.content) > log.most {
		c.trim(x)
	}
	c.behind = append(c.behind, x)
	c.Originations++
	if c.Trace {
		c.OriginatedAt[x] = append(c.OriginatedAt[x], now)
	}
	c.event(x, r.fault, now)
	c.send(x, []version{{x, seq}}, false, now)
	c.close()
}
