package reliability

import "math"

// The masses follow C. Loader, "Fast and accurate computation of binomial probabilities" (2000): the logarithm of a
// mass is put together from deviances that do not cancel, so that masses keep 12 digits at n of millions. Differences
// of log-gamma lose half of them there.

// binomialMass is P(X = x) of X ~ Binomial(n, p). It takes q = 1-p by itself: the caller may know the small one of the two better than 1-p tells.
func binomialMass(x, n int, p, q float64) float64 {
	switch {
	case x < 0 || x > n:
		return 0
	case p == 0:
		return indicator(x == 0)
	case q == 0:
		return indicator(x == n)
	case x == 0:
		return math.Exp(float64(n) * logOf(q, p))
	case x == n:
		return math.Exp(float64(n) * logOf(p, q))
	}
	fn, fx := float64(n), float64(x)
	lc := stirlingError(fn) - stirlingError(fx) - stirlingError(fn-fx) - deviance(fx, fn*p) - deviance(fn-fx, fn*q)
	lf := math.Log(2*math.Pi) + math.Log(fx) + math.Log1p(-fx/fn)
	return math.Exp(lc - float64(0.5*lf))
}

// PoissonMass returns P(X = x) of X ~ Poisson(mean), mean >= 0.
func PoissonMass(x int, mean float64) float64 {
	require(mean >= 0 && !math.IsInf(mean, 1), "a Poisson mean must be finite and not negative")
	switch {
	case x < 0:
		return 0
	case mean == 0:
		return indicator(x == 0)
	case x == 0:
		return math.Exp(-mean)
	}
	fx := float64(x)
	return math.Exp(-stirlingError(fx)-deviance(fx, mean)) / math.Sqrt(2*math.Pi*fx)
}

// logOf is log p, taken from its complement q = 1-p where q is the small one.
func logOf(p, q float64) float64 {
	if q < 0.5 {
		return math.Log1p(-q)
	}
	return math.Log(p)
}

func indicator(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// stirlingError is log n! less Stirling's formula, n >= 1.
func stirlingError(n float64) float64 {
	if n == 0 {
		return 0
	}
	if n < 16 {
		lg, _ := math.Lgamma(n + 1)
		return lg - float64((n+0.5)*math.Log(n)) + n - 0.5*math.Log(2*math.Pi)
	}
	nn := n * n
	return (1.0/12 - (1.0/360-(1.0/1260-(1.0/1680-(1.0/1188)/nn)/nn)/nn)/nn) / n
}

// deviance is x log(x/m) + m - x, without cancellation where x is near m.
func deviance(x, m float64) float64 {
	if math.Abs(x-m) >= 0.1*(x+m) {
		return float64(x*math.Log(x/m)) + m - x
	}
	v := (x - m) / (x + m)
	s, ej := (x-m)*v, 2*x*v
	for j := 1; ; j++ {
		ej *= v * v
		next := s + ej/float64(2*j+1)
		if next == s {
			return s
		}
		s = next
	}
}
