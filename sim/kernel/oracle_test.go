package kernel

import (
	"math"
	"math/big"
)

// The oracle: elementary functions and the normal law in math/big, slow and
// plain, to some 250 bits unless more are asked for.
type oracle struct {
	prec uint
	ln2  *big.Float
	root *big.Float // square root of 2 pi
}

func newOracle(prec uint) *oracle {
	o := &oracle{prec: prec}
	// ln 2 = sum of 1/(n 2^n).
	o.ln2 = o.float(0)
	for n := int64(1); n < int64(prec)+8; n++ {
		term := o.new().Quo(o.float(1), o.new().SetInt64(n))
		o.ln2.Add(o.ln2, term.SetMantExp(term, -int(n)))
	}
	// Machin: pi = 16 atan(1/5) - 4 atan(1/239).
	pi := o.new().Mul(o.float(16), o.arctanInverse(5))
	pi.Sub(pi, o.new().Mul(o.float(4), o.arctanInverse(239)))
	o.root = o.new().Sqrt(pi.Mul(pi, o.float(2)))
	return o
}

func (o *oracle) new() *big.Float            { return new(big.Float).SetPrec(o.prec) }
func (o *oracle) float(x float64) *big.Float { return o.new().SetFloat64(x) }

// negligible reports whether a term no longer changes a sum.
func (o *oracle) negligible(term, sum *big.Float) bool {
	return term.Sign() == 0 || term.MantExp(nil) < sum.MantExp(nil)-int(o.prec)-4
}

func (o *oracle) arctanInverse(n float64) *big.Float {
	square := o.float(n * n)
	power := o.new().Quo(o.float(1), o.float(n))
	sum := o.new().Set(power)
	for k, sign := 3.0, -1.0; !o.negligible(power, sum); k, sign = k+2, -sign {
		power.Quo(power, square)
		sum.Add(sum, o.new().Quo(power, o.float(sign*k)))
	}
	return sum
}

// exp reduces by ln 2 and by 2^32 and sums the series.
func (o *oracle) exp(x *big.Float) *big.Float {
	const halvings = 32
	quotient, _ := o.new().Quo(x, o.ln2).Int64()
	r := o.new().Sub(x, o.new().Mul(o.ln2, o.new().SetInt64(quotient)))
	r.SetMantExp(r, -halvings)
	sum, term := o.float(1), o.float(1)
	for n := int64(1); !o.negligible(term, sum); n++ {
		term.Mul(term, r)
		term.Quo(term, o.new().SetInt64(n))
		sum.Add(sum, term)
	}
	for range halvings {
		sum.Mul(sum, sum)
	}
	return sum.SetMantExp(sum, int(quotient))
}

// log improves the library's value by y += 2 (x-e^y)/(x+e^y), which triples
// the number of right digits each time.
func (o *oracle) log(x *big.Float) *big.Float {
	mantissa := o.new()
	exponent := x.MantExp(mantissa)
	near, _ := mantissa.Float64()
	y := o.float(math.Log(near))
	for range 5 {
		e := o.exp(y)
		step := o.new().Quo(o.new().Sub(mantissa, e), o.new().Add(mantissa, e))
		y.Add(y, step.Mul(step, o.float(2)))
	}
	return y.Add(y, o.new().Mul(o.ln2, o.new().SetInt64(int64(exponent))))
}

// density is the standard normal density at z.
func (o *oracle) density(z *big.Float) *big.Float {
	half := o.new().Mul(z, z)
	half.Quo(half, o.float(-2))
	return o.new().Quo(o.exp(half), o.root)
}

// below is the standard normal probability below z:
// 1/2 + density (z + z^3/3 + z^5/(3 5) + ...).
func (o *oracle) below(z *big.Float) *big.Float {
	square := o.new().Mul(z, z)
	sum, term := o.new().Set(z), o.new().Set(z)
	for k := 3.0; sum.Sign() != 0 && !o.negligible(term, sum); k += 2 {
		term.Mul(term, square)
		term.Quo(term, o.float(k))
		sum.Add(sum, term)
	}
	sum.Mul(sum, o.density(z))
	return sum.Add(sum, o.float(0.5))
}

// normQuantile improves a near value by Halley's method.
func (o *oracle) normQuantile(p, near float64) *big.Float {
	z := o.float(near)
	for range 4 {
		step := o.new().Sub(o.below(z), o.float(p))
		step.Quo(step, o.density(z))
		bend := o.new().Mul(step, z)
		bend.Add(o.float(1), bend.Quo(bend, o.float(2)))
		z.Sub(z, step.Quo(step, bend))
	}
	return z
}

// ulpsFrom is the distance of x from the truth in units of the last place of
// the truth.
func ulpsFrom(x float64, truth *big.Float) float64 {
	nearest, _ := truth.Float64()
	_, exponent := math.Frexp(nearest)
	distance := new(big.Float).SetPrec(truth.Prec()).SetFloat64(x)
	distance.Sub(distance, truth)
	distance.SetMantExp(distance, 53-exponent)
	ulps, _ := distance.Float64()
	return math.Abs(ulps)
}

// ulpsApart counts the floating-point numbers from a to b.
func ulpsApart(a, b float64) float64 {
	if a == b {
		return 0
	}
	place := func(x float64) int64 {
		if bits := int64(math.Float64bits(x)); bits >= 0 {
			return bits
		} else {
			return math.MinInt64 - bits
		}
	}
	return math.Abs(float64(place(a) - place(b)))
}
