package linkstate

import "math/bits"

// hops finds the least hops from a flood's start to every router, level by
// level. While few routers are at the front their ports are followed; when
// many are, the routers not yet reached look for one of the front instead.
//
// What a flood from the same router found over the same links is found again: links
// that flap do so many times.
func (c *Control) hops(fl *flood) {
	s := &c.flooding
	for i := range s.spreads {
		if w := &s.spreads[i]; w.from == fl.from && w.digest == s.digest && len(w.reach) > 0 {
			copy(fl.hop, w.hop)
			fl.reach, fl.level, fl.delay = append(fl.reach[:0], w.reach...), append(fl.level[:0], w.level...), fl.delay[:0]
			return
		}
	}
	c.search(fl)
	w := &s.spreads[s.oldest]
	w.from, w.digest = fl.from, s.digest
	w.hop, w.reach, w.level = append(w.hop[:0], fl.hop...), append(w.reach[:0], fl.reach...), append(w.level[:0], fl.level...)
	s.oldest = (s.oldest + 1) % len(s.spreads)
}

// spreading is how a flood from a router goes over links, told by their digest.
type spreading struct {
	from   int32
	digest uint64
	hop    []uint16
	reach  []int32
	level  []int32
}

// search is hops without looking at what was found before.
func (c *Control) search(fl *flood) {
	for i := range fl.hop {
		fl.hop[i] = far
	}
	fl.hop[fl.from] = 0
	fl.delay = fl.delay[:0]
	fl.reach = append(fl.reach[:0], fl.from)
	fl.level = append(fl.level[:0], 0, 1)
	for h := uint16(1); ; h++ {
		begin, end := int(fl.level[h-1]), int(fl.level[h])
		if rest := len(fl.hop) - end; rest == 0 || end == begin {
			break
		} else if 2*(end-begin) < rest {
			for _, x := range fl.reach[begin:end] {
				c.outward(fl, x, h)
			}
		} else {
			c.inward(fl, h)
		}
		if len(fl.reach) == end {
			break
		}
		fl.level = append(fl.level, int32(len(fl.reach)))
	}
	for h := 1; h < len(fl.level)-1; h++ {
		sortIDs(fl.reach[fl.level[h]:fl.level[h+1]], fl.hop, uint16(h))
	}
}

// outward reaches the neighbours of x.
func (c *Control) outward(fl *flood, x int32, h uint16) {
	ports := c.f.Ports[x]
	for w, word := range c.flooding.ports[x] {
		for ; word != 0; word &= word - 1 {
			y := ports[w*64+bits.TrailingZeros64(word)].Peer
			if fl.hop[y] == far {
				fl.hop[y] = h
				fl.reach = append(fl.reach, y)
			}
		}
	}
}

// inward reaches every router that has a neighbour at the front.
func (c *Control) inward(fl *flood, h uint16) {
	for y := range fl.hop {
		if fl.hop[y] != far {
			continue
		}
		ports := c.f.Ports[y]
	search:
		for w := len(c.flooding.ports[y]) - 1; w >= 0; w-- {
			for word := c.flooding.ports[y][w]; word != 0; {
				top := 63 - bits.LeadingZeros64(word)
				if fl.hop[ports[w*64+top].Peer] == h-1 {
					fl.hop[y] = h
					fl.reach = append(fl.reach, int32(y))
					break search
				}
				word &^= 1 << top
			}
		}
	}
}

// sortIDs puts one level in order of numbers. A long level is read off the hop
// array instead of being sorted.
func sortIDs(ids []int32, hop []uint16, h uint16) {
	sorted := true
	for i := 1; i < len(ids) && sorted; i++ {
		sorted = ids[i-1] < ids[i]
	}
	if sorted {
		return
	}
	n := 0
	for y, v := range hop {
		if v == h {
			ids[n] = int32(y)
			n++
		}
	}
}
