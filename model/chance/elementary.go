package chance

import "math"

// The functions of this file give the same bits on every processor: they use
// + - * / with every product rounded by itself, and exact steps. Package math
// has fused multiply-adds on some, and parameters of laws must not depend on
// that. They are within a few ulp, and tested against package math. The
// simulation has its own for draws, which this side of the house cannot see.

// ln2 in two parts, the first with trailing zeros so that multiples are exact
// (from memory: the usual split of fdlibm).
const (
	ln2High = 6.93147180369123816490e-01
	ln2Low  = 1.90821492927058770002e-10
)

// exp returns e to the power of x, for x between -700 and 700.
func exp(x float64) float64 {
	n := math.Floor(float64(x/math.Ln2) + 0.5)
	r := (x - float64(n*ln2High)) - float64(n*ln2Low)
	sum := 1.0
	for k := 18.0; k >= 1; k-- {
		sum = 1 + float64(float64(r*sum)/k)
	}
	return math.Ldexp(sum, int(n))
}

// ln returns the natural logarithm of x > 0.
func ln(x float64) float64 {
	m, e := math.Frexp(x)
	if m < math.Sqrt2/2 {
		m, e = m*2, e-1
	}
	// ln m = 2 artanh t with |t| at most 0.172.
	t := (m - 1) / (m + 1)
	t2 := float64(t * t)
	sum := 0.0
	for k := 23.0; k >= 3; k -= 2 {
		sum = float64(t2 * (sum + 1/k))
	}
	n := float64(e)
	return float64(n*ln2High) + (float64(2*t) + (float64(2*float64(t*sum)) + float64(n*ln2Low)))
}

// gamma returns the gamma function for x between 1 and 40, by Stirling's
// series (from memory) above 20 and the recurrence below.
func gamma(x float64) float64 {
	product := 1.0
	for ; x < 20; x++ {
		product = float64(product * x)
	}
	i := 1 / x
	i2 := float64(i * i)
	series := 1.0 / 1188
	for _, c := range [...]float64{-1.0 / 1680, 1.0 / 1260, -1.0 / 360, 1.0 / 12} {
		series = c + float64(i2*series)
	}
	log := float64((x-0.5)*ln(x)) - x + 0.918938533204672742 + float64(i*series)
	return exp(log) / product
}
