package twin

import "math/big"

// meter integrates what is lost and notes when shares change.
type meter struct {
	dirty  bool
	clocks []clocks

	since   int64
	total   *big.Rat   // lost share now
	shares  []*big.Rat // charged now, by fault; the last slot: to none
	dark    [][]bool   // pair loses a flow entirely that a path could carry (S25)
	steps   []lossStep
	lost    *big.Rat   // share x ns
	lostBy  []*big.Rat // by fault
	darkFor [][]int64

	lastIn    []int // last change of the share between onset and end; -1: none
	lastAfter []int // last change after the end
}

type lossStep struct {
	t     int64
	share *big.Rat
}

func (m *meter) init(s *sim) {
	m.clocks = make([]clocks, len(s.names))
	m.total, m.lost = new(big.Rat), new(big.Rat)
	m.dark, m.darkFor = make([][]bool, s.leaves), make([][]int64, s.leaves)
	for i := range m.dark {
		m.dark[i], m.darkFor[i] = make([]bool, s.leaves), make([]int64, s.leaves)
	}
	m.shares = zeroRats(len(s.faults) + 1)
	m.lostBy = zeroRats(len(s.faults) + 1)
	m.lastIn, m.lastAfter = unchanged(len(s.faults)), unchanged(len(s.faults))
}

func zeroRats(n int) []*big.Rat {
	out := make([]*big.Rat, n)
	for i := range out {
		out[i] = new(big.Rat)
	}
	return out
}

// instantEnds takes the measure after the last round of an instant.
func (s *sim) instantEnds() {
	changed := s.truthNow()
	if !changed && !s.meter.dirty {
		return
	}
	scripted := changed
	for _, c := range s.changes {
		scripted = scripted || c.t == s.now
	}
	s.meter.measure(s, scripted)
}

// measure closes the stretch up to now and opens the next. A change at an instant
// that is scripted, or at which the truth changes, is nobody's convergence (S24).
func (m *meter) measure(s *sim, scripted bool) {
	m.close(s)
	m.dirty = false
	shares := zeroRats(len(s.faults) + 1)
	total := new(big.Rat)
	weight := big.NewRat(1, int64(s.leaves*(s.leaves-1)))
	for a := range s.leaves {
		for b := range s.leaves {
			if a == b {
				continue
			}
			lost, entire := s.walkPair(a, b)
			m.dark[a][b] = entire && s.pathExists(a, b)
			for by := -1; by < len(s.faults); by++ {
				if x := lost[by]; x != nil {
					share := new(big.Rat).Mul(x, weight)
					slot := (by + len(shares)) % len(shares)
					shares[slot].Add(shares[slot], share)
					total.Add(total, share)
				}
			}
		}
	}
	for i, x := range s.faults {
		if !scripted && shares[i].Cmp(m.shares[i]) != 0 {
			if x.end >= 0 && s.now > x.end {
				m.lastAfter[i] = int(s.now)
			} else {
				m.lastIn[i] = int(s.now)
			}
		}
	}
	m.shares = shares
	m.step(s.now, total)
}

func (m *meter) step(t int64, total *big.Rat) {
	m.total = total
	n := len(m.steps)
	switch {
	case n > 0 && m.steps[n-1].t == t:
		m.steps[n-1].share = total
	case n == 0 || m.steps[n-1].share.Cmp(total) != 0:
		m.steps = append(m.steps, lossStep{t, total})
	}
}

// close adds what the stretch up to now lost.
func (m *meter) close(s *sim) {
	ns := s.now - m.since
	m.since = s.now
	long := new(big.Rat).SetInt64(ns)
	m.lost.Add(m.lost, new(big.Rat).Mul(m.total, long))
	for i, x := range m.shares {
		m.lostBy[i].Add(m.lostBy[i], new(big.Rat).Mul(x, long))
	}
	for a := range m.dark {
		for b := range m.dark[a] {
			if m.dark[a][b] {
				m.darkFor[a][b] += ns
			}
		}
	}
}
