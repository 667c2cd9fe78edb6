// Package mixture is a distribution of waits made of weighted points and uniform
// stretches, as records describe them: exact means and quantiles, and quantiles
// of many replications with an interval.
//
// It knows records of waits and numbers, not what the waits were for. It is tested
// against numeric integration and against plain samples.
package mixture

import (
	"cmp"
	"math"
	"slices"

	"halflight/sim/record"
)

// Mixture is a distribution of waits in ns made of weighted points and uniform
// stretches. Weights are ns of router time.
type Mixture struct {
	knots  []knot // by rising place
	weight float64
}

// knot is a place with the weight that stands on it and the weight per ns that
// is spread from it to the next knot.
type knot struct {
	at, atom, density float64
}

// Of makes the distribution of recorded waits: From == To weighs Total at that
// value; From > To is Count timers that ran down, each spending one ns at every ns
// of wait between.
func Of(waits []record.Wait) *Mixture {
	steps := make([]knot, 0, 2*len(waits)) // density: the change of it at the place
	for _, w := range waits {
		if w.From == w.To {
			steps = append(steps, knot{at: float64(w.From), atom: w.Total})
			continue
		}
		steps = append(steps,
			knot{at: float64(w.To), density: float64(w.Count)},
			knot{at: float64(w.From), density: -float64(w.Count)})
	}
	slices.SortStableFunc(steps, func(a, b knot) int { return cmp.Compare(a.at, b.at) })
	m := &Mixture{}
	density := 0.0 // counts are whole numbers, so their sum is exact
	for _, s := range steps {
		density += s.density
		if n := len(m.knots); n > 0 && m.knots[n-1].at == s.at {
			m.knots[n-1].atom += s.atom
			m.knots[n-1].density = density
			continue
		}
		m.knots = append(m.knots, knot{s.at, s.atom, density})
	}
	m.weight = m.UpTo(math.Inf(1))
	return m
}

// stretch is the weight spread from knot i to the next.
func (m *Mixture) stretch(i int) float64 {
	if i+1 == len(m.knots) {
		return 0
	}
	return float64(m.knots[i].density * (m.knots[i+1].at - m.knots[i].at))
}

// UpTo is the weight of all waits at most x.
func (m *Mixture) UpTo(x float64) float64 {
	sum := 0.0
	for i, k := range m.knots {
		if k.at > x {
			break
		}
		sum += k.atom
		if i+1 < len(m.knots) && x < m.knots[i+1].at {
			return sum + float64(k.density*(x-k.at))
		}
		sum += m.stretch(i)
	}
	return sum
}

// Quantile returns the smallest wait that a share p in (0, 1) of the weight does
// not exceed. The weight is above 0.
func (m *Mixture) Quantile(p float64) float64 {
	const fuzz = 4 * 0x1p-52 // the rounding of the product must not pass an atom
	target := float64(p*m.weight) * (1 - fuzz)
	sum, last := 0.0, 0.0
	for i, k := range m.knots {
		if k.atom > 0 {
			last = k.at
			if sum+k.atom >= target {
				return k.at
			}
			sum += k.atom
		}
		spread := m.stretch(i)
		if spread > 0 {
			last = m.knots[i+1].at
			if sum+spread >= target {
				return min(k.at+(target-sum)/k.density, last)
			}
			sum += spread
		}
	}
	return last
}

// Greatest is the largest wait of any weight.
func (m *Mixture) Greatest() float64 {
	for i := len(m.knots) - 1; i >= 0; i-- {
		if m.knots[i].atom > 0 {
			return m.knots[i].at
		}
		if i > 0 && m.knots[i-1].density > 0 {
			return m.knots[i].at
		}
	}
	return 0
}

// Mean is the weighted mean; 0 without weight.
func (m *Mixture) Mean() float64 {
	sum := 0.0
	for i, k := range m.knots {
		sum += float64(k.atom * k.at)
		if spread := m.stretch(i); spread > 0 {
			sum += float64(spread * ((k.at + m.knots[i+1].at) / 2))
		}
	}
	if m.weight == 0 {
		return 0
	}
	return sum / m.weight
}

// Weight is the weight of all waits, ns of router time.
func (m *Mixture) Weight() float64 { return m.weight }

// LessRest takes rest off every wait; what would fall below 0 is 0.
func LessRest(waits []record.Wait, rest int64) []record.Wait {
	out := make([]record.Wait, 0, len(waits)+1)
	for _, w := range waits {
		if w.From == w.To {
			at := max(0, w.From-rest)
			out = append(out, record.Wait{From: at, To: at, Total: w.Total})
			continue
		}
		if under := min(w.From, rest) - w.To; under > 0 {
			out = append(out, record.Wait{Total: float64(w.Count * under)}) // a part of the router time, which fits
		}
		if w.From > rest {
			out = append(out, record.Wait{From: w.From - rest, To: max(0, w.To-rest), Count: w.Count})
		}
	}
	return out
}
