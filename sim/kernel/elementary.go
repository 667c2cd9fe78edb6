package kernel

import "math"

// The functions of this file and of normal.go and quantile.go are made of
// + - * / and of operations that are exact or correctly rounded everywhere
// (Frexp, Ldexp, Modf, Sqrt). A compiler may fuse a product into the sum it
// feeds, which rounds once instead of twice, and some do on some processors;
// an explicit conversion forbids it. Every product here therefore stands in
// float64(...), and a test reads the source to see that it does.

// ln 2 in two parts; the upper one ends in zeros, so that a whole number of up
// to eleven bits times it is exact. From fdlibm, e_log.c and e_exp.c.
const (
	ln2High = 6.93147180369123816490e-01 // 3fe62e42 fee00000
	ln2Low  = 1.90821492927058770002e-10 // 3dea39ef 35793c76
)

// horner evaluates a polynomial, highest power first.
func horner(x float64, coefficients *[8]float64) float64 {
	sum := coefficients[0]
	for _, c := range coefficients[1:] {
		sum = float64(sum*x) + c
	}
	return sum
}

// Log returns the natural logarithm of x, within 1 ulp.
//
// Special cases: Log(+Inf) = +Inf, Log(0) = -Inf, Log(x < 0) = NaN, Log(NaN) = NaN.
//
// Method and coefficients: fdlibm, e_log.c (Copyright (C) 1993 by Sun
// Microsystems, Inc. All rights reserved. Developed at SunPro, a Sun
// Microsystems, Inc. business. Permission to use, copy, modify, and distribute
// this software is freely granted, provided that this notice is preserved).
// x = 2^k (1+f), and log(1+f) = f - s (f - R) with s = f/(2+f) and R an
// approximation in s^2.
func Log(x float64) float64 {
	switch {
	case x < 0 || math.IsNaN(x):
		return math.NaN()
	case x == 0:
		return math.Inf(-1)
	case math.IsInf(x, 1):
		return x
	}
	fraction, exponent := math.Frexp(x)
	if fraction < math.Sqrt2/2 {
		fraction = float64(2 * fraction)
		exponent--
	}
	f, k := fraction-1, float64(exponent)

	s := f / (2 + f)
	s2 := float64(s * s)
	s4 := float64(s2 * s2)
	odd := 1.818357216161805012e-01 + float64(s4*1.479819860511658591e-01)
	odd = 2.857142874366239149e-01 + float64(s4*odd)
	odd = float64(s2 * (6.666666666666735130e-01 + float64(s4*odd)))
	even := 2.222219843214978396e-01 + float64(s4*1.531383769920937332e-01)
	even = float64(s4 * (3.999999999940941908e-01 + float64(s4*even)))
	r := odd + even
	halfSquare := float64(float64(0.5*f) * f)
	return float64(k*ln2High) - ((halfSquare - (float64(s*(halfSquare+r)) + float64(k*ln2Low))) - f)
}

// log1p returns log(1+x) for x > -1, accurate for small x, within 3 ulp. The
// rounding of 1+x is undone by the quotient, as W. Kahan showed.
func log1p(x float64) float64 {
	sum := 1 + x
	if sum == 1 {
		return x
	}
	return float64(Log(sum)*x) / (sum - 1)
}

// Exp returns e to the power x, within 0.7 ulp.
//
// Special cases: Exp(+Inf) = +Inf, Exp(NaN) = NaN, overflow gives +Inf,
// underflow gives 0.
//
// Method and coefficients: fdlibm, e_exp.c (notice as at [Log]). x = k ln2 + r,
// and exp(r) = 1 + r + r c/(2-c) with c an approximation in r^2. Unlike there,
// what the sums round off is added at the end.
func Exp(x float64) float64 {
	const (
		overflow  = 7.09782712893383973096e+02
		underflow = -7.45133219101941108420e+02
		log2e     = 1.44269504088896338700e+00
	)
	switch {
	case math.IsNaN(x):
		return x
	case x > overflow:
		return math.Inf(1)
	case x < underflow:
		return 0
	}
	k := int(float64(log2e*x) + math.Copysign(0.5, x))
	high := x - float64(float64(k)*ln2High)
	low := float64(float64(k) * ln2Low)
	r := high - low

	t := float64(r * r)
	c := -1.65339022054652515390e-06 + float64(t*4.13813679705723846039e-08)
	c = 6.61375632143793436117e-05 + float64(t*c)
	c = -2.77777777770155933842e-03 + float64(t*c)
	c = 1.66666666666666019037e-01 + float64(t*c)
	c = r - float64(t*c)
	bend := float64(r*c)/(2-c) - low
	away := high + bend
	lost := bend - (away - high) // what the last sum rounded off
	sum := 1 + away
	return math.Ldexp(sum+((away-(sum-1))+lost), k)
}

// power returns x to the power y for x >= 0 and y > 0.
//
// The whole part of y is done by repeated squaring, so that the logarithm is
// multiplied by at most a half: its rounding error, times the exponent, is the
// error of the result.
func power(x, y float64) float64 {
	switch {
	case x == 0:
		return 0
	case y == 0.5:
		return math.Sqrt(x)
	}
	whole, rest := math.Modf(y)
	if rest > 0.5 {
		whole, rest = whole+1, rest-1
	}
	result, scale := 1.0, 0
	if rest != 0 {
		result = Exp(float64(rest * Log(x)))
	}
	base, exponent := math.Frexp(x)
	for n := int64(whole); n != 0; n >>= 1 {
		if n&1 == 1 {
			result = float64(result * base)
			scale += exponent
		}
		base, exponent = float64(base*base), exponent+exponent
		if base < 0.5 {
			base, exponent = float64(2*base), exponent-1
		}
	}
	return math.Ldexp(result, scale)
}
