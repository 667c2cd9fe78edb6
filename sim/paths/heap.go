package paths

// Heap is a small binary heap of (cost, router), least first.
type Heap []item

type item struct {
	cost   uint32
	router int32
}

// Push adds a router at a cost.
func (h *Heap) Push(cost uint32, router int32) {
	s := append(*h, item{cost, router})
	i := len(s) - 1
	for i > 0 {
		up := (i - 1) / 2
		if s[up].cost <= s[i].cost {
			break
		}
		s[up], s[i] = s[i], s[up]
		i = up
	}
	*h = s
}

// Pop takes the item of least cost; there must be one.
func (h *Heap) Pop() (uint32, int32) {
	s := *h
	top := s[0]
	n := len(s) - 1
	s[0] = s[n]
	s = s[:n]
	i := 0
	for {
		c := 2*i + 1
		if c >= n {
			break
		}
		if c+1 < n && s[c+1].cost < s[c].cost {
			c++
		}
		if s[i].cost <= s[c].cost {
			break
		}
		s[i], s[c] = s[c], s[i]
		i = c
	}
	*h = s
	return top.cost, top.router
}
