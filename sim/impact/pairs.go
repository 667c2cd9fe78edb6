package impact

// pairLists holds a short list of entries for each ordered leaf pair that
// loses traffic.
type pairLists struct {
	leaves    int
	at        []int32 // by destination and source: list number plus one
	lists     [][]entry
	free      []int32
	rests     []bool  // by list: what is charged depends on the truth
	unsettled []int32 // by destination: pairs for which that is so
}

func (p *pairLists) init(leaves int) {
	p.leaves = leaves
	p.at = make([]int32, leaves*leaves)
	p.unsettled = make([]int32, leaves)
}

// of returns the entries of a pair.
func (p *pairLists) of(d, s int32) []entry {
	if i := p.at[int(d)*p.leaves+int(s)]; i > 0 {
		return p.lists[i-1]
	}
	return nil
}

// depends says whether what is charged for a pair can change with the truth
// alone: whom, to which phase, or whether there would be a path.
func depends(list []entry, whole bool) bool {
	for _, e := range list {
		if e.kind != cellGray && e.kind != cellFull {
			return true
		}
	}
	return whole && len(list) > 0
}

// begin returns an empty list for a pair's new entries; end stores it.
func (p *pairLists) begin(d, s int32) []entry {
	if i := p.at[int(d)*p.leaves+int(s)]; i > 0 {
		if p.rests[i-1] {
			p.rests[i-1] = false
			p.unsettled[d]--
		}
		return p.lists[i-1][:0]
	}
	if n := len(p.free); n > 0 {
		return p.lists[p.free[n-1]][:0]
	}
	return nil
}

func (p *pairLists) end(d, s int32, list []entry, whole bool) {
	at := &p.at[int(d)*p.leaves+int(s)]
	if len(list) == 0 {
		if *at > 0 {
			p.free = append(p.free, *at-1)
			*at = 0
		}
		return
	}
	if *at == 0 {
		if n := len(p.free); n > 0 {
			*at = p.free[n-1] + 1
			p.free = p.free[:n-1]
		} else {
			p.lists, p.rests = append(p.lists, nil), append(p.rests, false)
			*at = int32(len(p.lists))
		}
	}
	p.lists[*at-1] = list
	if depends(list, whole) {
		p.rests[*at-1] = true
		p.unsettled[d]++
	}
}
