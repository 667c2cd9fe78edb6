package chance

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// The laws that gonum's distuv has too.
type reference interface {
	Mean() float64
	Survival(float64) float64
}

func close(a, b, share float64) bool {
	return math.Abs(a-b) <= share*math.Max(math.Abs(a), math.Abs(b))
}

func TestAgainstDistuv(t *testing.T) {
	for _, c := range []struct {
		law Law
		ref reference
	}{
		{ExponentialOf(20), distuv.Exponential{Rate: 1.0 / 20}},
		{Law{Family: Weibull, Scale: 3, Shape: 0.7}, distuv.Weibull{K: 0.7, Lambda: 3}},
		{Law{Family: Weibull, Scale: 1e17, Shape: 4}, distuv.Weibull{K: 4, Lambda: 1e17}},
		{WeibullMean(5, 0.3), distuv.Weibull{K: 0.3, Lambda: 5 / math.Gamma(1+1/0.3)}},
		{LognormalOf(30, 0.75), distuv.LogNormal{Mu: math.Log(30), Sigma: 0.75}},
		{LognormalMean(7, 2), distuv.LogNormal{Mu: math.Log(7) - 2, Sigma: 2}},
		{Factor(1), distuv.LogNormal{Mu: -0.5, Sigma: 1}},
		{Between(2, 12, false), distuv.Uniform{Min: 2, Max: 12}},
	} {
		mean := c.ref.Mean()
		if !close(c.law.Mean(), mean, 1e-12) {
			t.Errorf("%+v: mean %v, want %v", c.law, c.law.Mean(), mean)
		}
		for _, f := range []float64{1e-6, 0.01, 0.3, 0.9, 1, 1.1, 3, 10} {
			x := f * mean
			if got, want := c.law.Survival(x), c.ref.Survival(x); math.Abs(got-want) > 1e-12 {
				t.Errorf("%+v: survival(%v) = %v, want %v", c.law, x, got, want)
			}
			if c.law.Family != Exponential {
				if got, want := c.law.tail(x, false), c.ref.Survival(x); math.Abs(got-want) > 1e-8 {
					t.Errorf("%+v: tail(%v) = %v, want %v", c.law, x, got, want)
				}
			}
		}
	}
}

// Laws that distuv has not: by hand, and the mean of a positive law is the
// integral of its survival.
func TestOtherLaws(t *testing.T) {
	table := Tabled([]Bin{{0.25, 4, 4}, {0.25, 0, 8}, {0.5, 1, math.E}})
	for _, c := range []struct {
		law     Law
		x, tail float64
		mean    float64
	}{
		{Constant(3), 3, 0, 3},
		{Constant(3), 2.999, 1, 3},
		{Law{}, 0, 0, 0},
		{Law{Family: Geometric, Scale: 5}, 1, 0.8, 5},
		{Law{Family: Geometric, Scale: 5}, 2.5, 0.64, 5},
		{Law{Family: Geometric, Scale: 1}, 1, 0, 1},
		{Between(1e-3, 1e-1, true), 1e-2, 0.5, (1e-1 - 1e-3) / math.Log(100)},
		{Between(2, 4, false), 3.5, 0.25, 3},
		{table, 4, 0.25 * 0.5, 0.25*4 + 0.25*4 + 0.5*(math.E-1)},
		{table, 2, 0.25 + 0.25*0.75 + 0.5*(1-math.Log(2)), 0.25*4 + 0.25*4 + 0.5*(math.E-1)},
	} {
		if got := c.law.Survival(c.x); math.Abs(got-c.tail) > 1e-15 {
			t.Errorf("%+v: survival(%v) = %v, want %v", c.law, c.x, got, c.tail)
		}
		if got := c.law.Mean(); !close(got, c.mean, 1e-15) {
			t.Errorf("%+v: mean %v, want %v", c.law, got, c.mean)
		}
	}
	if got := Tabled([]Bin{{0.5, 1, 1}, {0.4995, 2, 2}}).Mean(); !close(got, (0.5+2*0.4995)/0.9995, 1e-15) {
		t.Errorf("shares that do not sum to 1: mean %v", got)
	}
	if most := table.Most(); most != 8 {
		t.Errorf("most %v", most)
	}
	if !math.IsInf(ExponentialOf(1).Most(), 1) {
		t.Error("an exponential law has no largest value")
	}
}

func TestElementary(t *testing.T) {
	worst := [3]float64{}
	for i := range 20001 {
		x := -690 + 1380*float64(i)/20000
		worst[0] = math.Max(worst[0], math.Abs(exp(x)/math.Exp(x)-1))
		y := math.Exp(x)
		worst[1] = math.Max(worst[1], math.Abs(ln(y)-math.Log(y))/math.Max(math.Abs(math.Log(y)), 1e-3))
		z := 1 + 20*float64(i)/20000
		worst[2] = math.Max(worst[2], math.Abs(gamma(z)/math.Gamma(z)-1))
	}
	for i, most := range [3]float64{4e-16, 4e-16, 5e-14} {
		if worst[i] > most {
			t.Errorf("function %d is off by %g, at most %g allowed", i, worst[i], most)
		}
	}
	for z := -7.0; z <= 7; z += 0.01 {
		if got, want := upper(z), distuv.UnitNormal.Survival(z); math.Abs(got-want) > 1e-9 {
			t.Errorf("upper(%v) = %v, want %v", z, got, want)
		}
	}
}

// lives are laws of all families whose first failure is not that of a new part.
var lives = []Law{
	Constant(5),
	Between(2, 12, false),
	Between(0, 1, false),
	Between(1, 1000, true),
	WeibullMean(10, 0.5),
	WeibullMean(10, 1.0001),
	WeibullMean(1e17, 3.5),
	LognormalOf(3, 0.5),
	LognormalOf(3, 1.5),
	Tabled([]Bin{{0.3, 1, 1}, {0.3, 0, 4}, {0.4, 2, 20}}),
}

// The integral of survival up to the quantile is u of the mean (renewal theory),
// with an integral of our own over pieces between corners.
func TestResidualAgainstIntegration(t *testing.T) {
	for _, l := range lives {
		r := NewResidual(l)
		if !close(r.Mean(), l.Mean(), 1e-7) {
			t.Errorf("%+v: mean of the table %v, want %v", l, r.Mean(), l.Mean())
		}
		for _, u := range []float64{1e-9, 1e-4, 0.01, 0.1, 0.35, 0.5, 0.8, 0.95, 0.999} {
			x := r.Quantile(u)
			if got := integral(l, x) / l.Mean(); math.Abs(got-u) > 2e-6*math.Min(1, 20*u) {
				t.Errorf("%+v: quantile(%v) = %v, below which lies %v", l, u, x, got)
			}
		}
	}
}

// integral of survival from 0 to x, by Gauss-Legendre between the corners of
// the law and in the logarithm of time.
func integral(l Law, x float64) float64 {
	low := 1e-14 * l.Mean()
	sum := math.Min(low, x)
	corners := []float64{low}
	for _, c := range []float64{1e-10, 1e-6, 1e-3, 0.03, 0.1, 0.3, 0.7, 1, 1.5, 2, 3, 5, 9, 20, 100} {
		corners = append(corners, c*l.Mean())
	}
	corners = append(corners, l.Low, l.High, l.Scale)
	for _, b := range l.Bins {
		corners = append(corners, b.Low, b.High)
	}
	for from := low; from < x; {
		to := x
		for _, c := range corners {
			if c > from*(1+1e-12) && c < to {
				to = c
			}
		}
		f := func(s float64) float64 { return l.Survival(math.Exp(s)) * math.Exp(s) }
		sum += quad.Fixed(f, math.Log(from)+1e-14, math.Log(to)-1e-14, 200, nil, 0)
		from = to
	}
	return sum
}

// The mean of the equilibrium law is E[X^2] / 2 E[X].
func TestResidualMean(t *testing.T) {
	for _, c := range []struct {
		law    Law
		square float64
	}{
		{Constant(5), 25},
		{Between(2, 12, false), 49 + 100.0/12},
		{WeibullMean(10, 2), 400 / math.Pi}, // scale^2 Gamma(2), scale = 10/Gamma(1.5)
		{LognormalOf(3, 0.5), 9 * math.Exp(2*0.25)},
	} {
		const n = 200_000
		r, sum := NewResidual(c.law), 0.0
		for i := range n {
			sum += r.Quantile((float64(i) + 0.5) / n)
		}
		if got, want := sum/n, c.square/2/c.law.Mean(); !close(got, want, 1e-4) {
			t.Errorf("%+v: mean residual %v, want %v", c.law, got, want)
		}
	}
}

// A Weibull law of shape 1 is exponential, and that is its own residual.
func TestResidualOfExponential(t *testing.T) {
	if NewResidual(ExponentialOf(3)) != nil {
		t.Error("an exponential law needs no table")
	}
	r := NewResidual(Law{Family: Weibull, Scale: 3, Shape: 1})
	for u := 0.001; u < 1; u += 0.001 {
		if got, want := r.Quantile(u), -3*math.Log1p(-u); !close(got, want, 1e-5) {
			t.Errorf("quantile(%v) = %v, want %v", u, got, want)
		}
	}
}

func TestResidualRefuses(t *testing.T) {
	for _, l := range []Law{{}, {Family: Geometric, Scale: 3}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%+v was taken for a law of lives", l)
				}
			}()
			NewResidual(l)
		}()
	}
}

// The same bits everywhere: run it with GODEBUG=cpu.fma=off too.
func TestResidualBits(t *testing.T) {
	digest := uint64(14695981039346656037)
	for _, l := range lives {
		r := NewResidual(l)
		for i := range 1000 {
			digest = (digest ^ math.Float64bits(r.Quantile((float64(i)+0.5)/1000))) * 1099511628211
		}
	}
	if digest != residualBits {
		t.Errorf("digest %#x, want %#x", digest, uint64(residualBits))
	}
}

const residualBits = 0x175b476fa95cd036
