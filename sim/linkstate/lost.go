package linkstate

// With flooding.lossy LSPs are lost on lossy directions as packets are.

// retransmit is minimumLSPTransmissionInterval (ISO/IEC 10589; RFC 9681, section
// 3): a lost LSP is sent again after it, at the earliest.
const retransmit = 5_000_000_000

// Loss says which share of LSPs is lost on a direction: each is sent again after
// retransmit, again and again. Nothing crosses a direction that loses all.
func (c *Control) Loss(direction int32, share float64, now int64) {
	if !c.t.Lossy {
		return
	}
	if c.loss == nil {
		c.loss = make([]float64, 2*len(c.f.Links))
	}
	was := c.loss[direction]
	if was == share {
		return
	}
	c.loss[direction] = share
	if was >= 1 {
		c.shutWays--
	}
	if share >= 1 {
		c.shutWays++
	}
	if was > 0 && was < 1 {
		c.lossyWays--
	}
	if share > 0 && share < 1 {
		c.lossyWays++
	}
	if link := direction >> 1; (was >= 1) != (share >= 1) {
		c.passable(link)
		if share < 1 && c.live[link] {
			c.payDebts(link, now)
		}
	}
}

// carries says whether LSPs cross a direction of a link whose adjacency is up.
func (c *Control) carries(direction int32) bool {
	return c.live[direction>>1] && (c.loss == nil || c.loss[direction] < 1)
}

// out is the direction in which x sends over a link.
func (c *Control) out(x, link int32) int32 {
	if c.f.Links[link].Lower == x {
		return 2 * link
	}
	return 2*link + 1
}

// resent is what the loss of a flood's LSPs adds to a hop.
func (c *Control) resent(fl *flood, direction int32) int64 {
	if c.lossyWays == 0 || c.lost == nil || c.loss[direction] <= 0 {
		return 0
	}
	return int64(c.lost(direction, fl.order, c.loss[direction])) * retransmit
}
