package chance

import (
	"math"
	"sort"
)

// Residual is the law of the time until a part that has been in use, and
// replaced, for long fails: the equilibrium law of renewal theory, whose
// density is Survival(x)/Mean (Cox, Renewal Theory, 1962, section 5.2; from
// memory). It is kept as a table that is the same on every processor, so that
// one uniform number gives one draw.
type Residual struct {
	cells []cell
	total float64 // the integral of survival: the law's mean
}

// cell is a stretch of times on which survival goes linearly from s0 to s1.
type cell struct {
	x, width float64
	before   float64 // integral of survival up to x
	s0, s1   float64 // scaled so that the cell's integral is right
}

// cellsPerE is how many cells cover a factor of e in time.
const cellsPerE = 128

// NewResidual returns the equilibrium law of a law of lives, or nil when that
// is the law itself (Exponential). It panics for laws that are none of lives:
// Geometric, and those of mean 0.
func NewResidual(l Law) *Residual {
	if l.Family == Exponential {
		return nil
	}
	if l.Family == Geometric || !(l.Mean() > 0) {
		panic("chance: no equilibrium law of a " + l.Family.String() + " law of mean 0 or of counts")
	}
	r := &Residual{}
	points := l.points()
	left, from := 1.0, 0.0
	for _, x := range points {
		if x == from {
			continue
		}
		right := l.tail(x, true)
		middle := l.tail(from+float64((x-from)/2), false) // a division by 2 is a product to the compiler
		r.add(from, x-from, left, middle, right)
		left, from = l.tail(x, false), x
	}
	return r
}

// add appends a cell. Its integral is Simpson's; the two ends are scaled to
// agree with it.
func (r *Residual) add(x, width, s0, middle, s1 float64) {
	area := float64(float64(width/6) * (s0 + float64(4*middle) + s1))
	if area <= 0 {
		return
	}
	scale := area / float64(width*(s0+s1)/2)
	r.cells = append(r.cells, cell{x, width, r.total, float64(s0 * scale), float64(s1 * scale)})
	r.total += area
}

// Mean returns the mean of the law of lives, as the table has it.
func (r *Residual) Mean() float64 { return r.total }

// Quantile returns the time to the first failure below which it lies with
// probability u, 0 < u < 1.
func (r *Residual) Quantile(u float64) float64 {
	want := float64(u * r.total)
	i := sort.Search(len(r.cells), func(i int) bool { return r.cells[i].before > want }) - 1
	c := &r.cells[i]
	// s0 d + (s1-s0) d^2 / (2 width) = want - before, solved without cancellation.
	a, rest := (c.s1-c.s0)/float64(2*c.width), want-c.before
	root := math.Sqrt(max(float64(c.s0*c.s0)+float64(float64(4*a)*rest), 0))
	return c.x + min(2*rest/(c.s0+root), c.width)
}

// points returns rising times that include every corner of the law and cover
// it but for less than 1e-16 of its integral.
func (l Law) points() []float64 {
	switch l.Family {
	case Fixed:
		return []float64{l.Scale}
	case Uniform:
		return []float64{l.Low, l.High}
	case Loguniform:
		return append([]float64{l.Low}, grid(l.Low, l.High)...)
	case Weibull:
		// Survival is 1 - 1e-12 at the first and e^-40 at the last point.
		return grid(float64(l.Scale*exp(ln(1e-12)/l.Shape)), float64(l.Scale*exp(ln(40)/l.Shape)))
	case Lognormal:
		// Its own integral is that of a lognormal shifted by sigma squared.
		far := float64(l.Shape * (l.Shape + 8.5))
		return grid(float64(l.Scale*exp(float64(-8*l.Shape))), float64(l.Scale*exp(far)))
	}
	var all []float64
	for _, b := range l.Bins {
		all = append(all, b.Low)
		all = append(all, b.law().points()...)
	}
	sort.Float64s(all)
	return all
}

// grid returns points from low to high, both included, evenly in the logarithm.
func grid(low, high float64) []float64 {
	span := ln(high / low)
	n := max(1, int(math.Ceil(float64(span*cellsPerE))))
	points := make([]float64, n+1)
	for i := range points {
		points[i] = float64(low * exp(float64(span*float64(i))/float64(n)))
	}
	points[0], points[n] = low, high
	return points
}

// tail is Survival with the same bits on every processor; with it included, x
// itself counts as survived.
func (l Law) tail(x float64, included bool) float64 {
	switch l.Family {
	case Fixed:
		return step(x < l.Scale || included && x == l.Scale)
	case Uniform:
		return min(max((l.High-x)/(l.High-l.Low), 0), 1)
	case Loguniform:
		return min(max(ln(l.High/x)/ln(l.High/l.Low), 0), 1)
	case Weibull:
		return exp(-exp(float64(l.Shape * ln(x/l.Scale))))
	case Lognormal:
		return upper(ln(x/l.Scale) / l.Shape)
	}
	s := 0.0
	for _, b := range l.Bins {
		s += float64(b.Share * b.law().tail(x, included))
	}
	return s
}

// upper returns the probability that a standard normal exceeds z, by Simpson's
// rule on the density from |z| on.
func upper(z float64) float64 {
	const steps, reach = 384, 6.0
	a := math.Abs(z)
	h, sum := reach/steps, 0.0
	for i := 0; i <= steps; i++ {
		w := 2.0 + 2*float64(i&1)
		if i == 0 || i == steps {
			w = 1
		}
		t := a + float64(h*float64(i))
		sum += float64(w * exp(-float64(t*t)/2))
	}
	// What lies beyond the reach is below 1e-8 at most;
	// the first term of the asymptotic series covers it.
	end := a + reach
	beyond := float64(exp(-float64(end*end)/2) / end * (1 - 1/float64(end*end)))
	p := float64((float64(h/3*sum) + beyond) * 0.398942280401432678)
	if z < 0 {
		return 1 - p
	}
	return p
}
