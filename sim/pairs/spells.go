package pairs

// Spells adds up, for each of many keys, the longest of the times in which something was so: those
// of one key that overlap count as one, the longest of them. They come in the order of their ends.
type Spells struct {
	keys []uint64 // open addressing: key plus one, 0 for none
	all  []spell  // by place in keys
	used int
}

// spell is the last of a key: times that overlap.
type spell struct {
	to      int64 // the latest end
	longest int64
	before  int64 // sum of those before it
}

// Add adds a time to those of a key, and returns the sum, which is never less than that time. Keys
// must be less than the largest number.
func (p *Spells) Add(key uint64, from, to int64) int64 {
	if 2*p.used >= len(p.keys) {
		p.keys, p.all = grown(p.keys, p.all)
	}
	key++
	i := place(p.keys, key)
	s := &p.all[i]
	switch {
	case p.keys[i] == 0:
		p.keys[i], *s = key, spell{to, to - from, 0}
		p.used++
	case from >= s.to:
		*s = spell{to, to - from, s.before + s.longest}
	default:
		s.to, s.longest = max(s.to, to), max(s.longest, to-from)
	}
	return max(s.before+s.longest, to-from)
}
