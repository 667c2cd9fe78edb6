package kernel

// Distinct keeps each distinct row of words once, under a number. When there are too
// many, those that no entry of a table of Numbers is are forgotten.
type Distinct struct {
	Wide  int      // words of a row; those that a shorter one does not have are 0
	Words []uint64 // of one row after the other, not to be written to; the first is of zeros
	free  []uint32 // numbers to be used again
	find  []uint32 // open addressing by hash: number plus one, 0 for none
	most  int      // rows before the next look at what can be forgotten
	users []*Numbers

	Forgotten int // how often numbers have been forgotten
}

// Numbers are the rows that the entries of a table are.
type Numbers struct {
	few  []uint16
	many []uint32 // instead of few, once there are more rows than it can count
}

// fewRows is how many rows two bytes count.
const fewRows = 1 << 16

// NewDistinct returns a store of rows of so many words.
func NewDistinct(wide int) *Distinct {
	p := &Distinct{Wide: wide, Words: make([]uint64, wide), find: make([]uint32, 256), most: fewRows}
	p.enlist(0)
	return p
}

// Numbers returns a table of n entries, all of them the row of zeros.
func (p *Distinct) Numbers(n int) *Numbers {
	e := &Numbers{}
	if p.most <= fewRows {
		e.few = Large[uint16](n)
	} else {
		e.many = Large[uint32](n)
	}
	p.users = append(p.users, e)
	return e
}

// Of returns the number of an entry.
func (e *Numbers) Of(i int) int {
	if e.many != nil {
		return int(e.many[i])
	}
	return int(e.few[i])
}

// Put makes an entry another row.
func (e *Numbers) Put(i int, number uint32) {
	if e.many != nil {
		e.many[i] = number
	} else {
		e.few[i] = uint16(number)
	}
}

// Copy makes all entries those of another table of as many, of the same store.
func (e *Numbers) Copy(from *Numbers) {
	copy(e.few, from.few)
	copy(e.many, from.many)
}

// Repeat makes n entries from a place on those from another on.
func (e *Numbers) Repeat(to, from, n int) {
	if e.many != nil {
		copy(e.many[to:to+n], e.many[from:from+n])
	} else {
		copy(e.few[to:to+n], e.few[from:from+n])
	}
}

// widen makes room for larger numbers.
func (e *Numbers) widen() {
	if e.many != nil {
		return
	}
	e.many = Large[uint32](len(e.few))
	for i, k := range e.few {
		e.many[i] = uint32(k)
	}
	e.few = nil
}

// Number returns the number of a row, which is forgotten unless an entry is given it
// before another is asked for.
func (p *Distinct) Number(set []uint64) uint32 {
	if p.Wide == 1 {
		return p.NumberOfOne(set[0])
	}
	for i := p.first(hashOf(set)); ; i = (i + 1) & (len(p.find) - 1) {
		k := int(p.find[i])
		if k == 0 {
			return p.fresh(set)
		}
		if alike(p.Words[(k-1)*p.Wide:k*p.Wide], set) {
			return uint32(k - 1)
		}
	}
}

// NumberOfOne is Number where rows are of one word.
func (p *Distinct) NumberOfOne(w uint64) uint32 {
	for i := p.first(scatter(w)); ; i = (i + 1) & (len(p.find) - 1) {
		switch k := p.find[i]; {
		case k == 0:
			return p.fresh([]uint64{w})
		case p.Words[k-1] == w:
			return k - 1
		}
	}
}

// first is where the search for a hash begins.
func (p *Distinct) first(hash uint64) int { return int(hash>>32) & (len(p.find) - 1) }

// scatter spreads a word over all bits, its upper half above all (multiplicative
// hashing by the golden section: Knuth, The Art of Computer Programming 3, 6.4).
func scatter(w uint64) uint64 {
	w ^= w >> 32
	return w * 0x9e3779b97f4a7c15
}

func hashOf(set []uint64) uint64 {
	h := uint64(0)
	for i := len(set) - 1; i >= 0; i-- { // words that are 0 at the end add nothing
		h = scatter(h ^ set[i])
	}
	return h
}

// alike says whether a row is the words kept of one, of which those beyond its own are 0.
func alike(kept, set []uint64) bool {
	for i, w := range kept {
		if i >= len(set) && w != 0 || i < len(set) && w != set[i] {
			return false
		}
	}
	return true
}

// fresh gives a row that there is not yet a number.
func (p *Distinct) fresh(set []uint64) uint32 {
	if len(p.free) == 0 && len(p.Words)/p.Wide >= p.most {
		p.forget()
	}
	var k uint32
	if n := len(p.free); n > 0 {
		k, p.free = p.free[n-1], p.free[:n-1]
	} else {
		k = uint32(len(p.Words) / p.Wide)
		for range p.Wide {
			p.Words = append(p.Words, 0)
		}
	}
	kept := p.Words[int(k)*p.Wide : (int(k)+1)*p.Wide]
	clear(kept)
	copy(kept, set)
	if n := len(p.Words) / p.Wide; 2*n > len(p.find) {
		p.find = make([]uint32, 2*len(p.find))
		p.enlistAll()
	} else {
		p.enlist(k)
	}
	return k
}

func (p *Distinct) enlist(k uint32) {
	hash := uint64(0)
	if set := p.Words[int(k)*p.Wide : (int(k)+1)*p.Wide]; p.Wide == 1 {
		hash = scatter(set[0])
	} else {
		hash = hashOf(set)
	}
	i := p.first(hash)
	for p.find[i] != 0 {
		i = (i + 1) & (len(p.find) - 1)
	}
	p.find[i] = k + 1
}

// enlistAll makes find anew, without the free numbers.
func (p *Distinct) enlistAll() {
	clear(p.find)
	isFree := make([]bool, len(p.Words)/p.Wide)
	for _, k := range p.free {
		isFree[k] = true
	}
	for k, free := range isFree {
		if !free {
			p.enlist(uint32(k))
		}
	}
}

// forget frees the numbers of rows that no entry is. If most of them are in use
// there may be more from now on. Words that somebody still looks at stay as they are.
func (p *Distinct) forget() {
	p.Forgotten++
	n := len(p.Words) / p.Wide
	used := make([]bool, n)
	used[0] = true
	for _, e := range p.users {
		for _, k := range e.few {
			used[k] = true
		}
		for _, k := range e.many {
			used[k] = true
		}
	}
	p.Words = append([]uint64(nil), p.Words...)
	for k := n - 1; k >= 0; k-- {
		if !used[k] {
			p.free = append(p.free, uint32(k))
		}
	}
	if len(p.free) < n/2 {
		p.most *= 2
	}
	if p.most > fewRows {
		for _, e := range p.users {
			e.widen()
		}
	}
	p.enlistAll()
}
