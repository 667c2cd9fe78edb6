package reliability

import (
	"fmt"
	"math"
	"math/big"
	"testing"
)

// Tijms, A First Course in Stochastic Models, Table 8.1.1, p. 312: the Weibull renewal function at mean 1 for squared
// coefficients of variation 0.25 and 2, all twenty values, one in the last printed digit.
func TestWeibullRenewalTijms(t *testing.T) {
	for _, c := range []struct {
		scv, shape float64 // shape at 12 digits, solved from the scv
		table      [][2]string
	}{
		{0.25, 2.10134909469, [][2]string{{"0.1", "0.0061"}, {"0.2", "0.0261"}, {"0.4", "0.1087"}, {"0.6", "0.2422"}, {"0.8", "0.4141"},
			{"1.0", "0.6091"}, {"1.2", "0.8143"}, {"1.5", "1.124"}, {"2.0", "1.627"}, {"2.5", "2.125"}}},
		{2, 0.720904742449, [][2]string{{"0.2", "0.3841"}, {"0.5", "0.7785"}, {"1.0", "1.357"}, {"1.5", "1.901"}, {"2.0", "2.428"},
			{"2.5", "2.947"}, {"3.0", "3.460"}, {"3.5", "3.969"}, {"5.0", "5.485"}, {"7.5", "7.995"}}},
	} {
		within(t, "scv", WeibullSCV(c.shape), c.scv, 1e-10)
		for _, row := range c.table {
			lastDigit(t, fmt.Sprintf("scv %g at %s", c.scv, row[0]), WeibullRenewal(c.shape, number(t, row[0])), row[1])
		}
	}
}

// The same values to nine digits, our own series at 300 and 450 digits.
func TestWeibullRenewalNineDigits(t *testing.T) {
	for _, c := range []struct {
		shape   float64
		x, want []float64
	}{
		{2.10134909469, []float64{0.1, 0.2, 0.4, 0.6, 0.8, 1, 1.2, 1.5, 2, 2.5}, []float64{0.00612257713, 0.0260875077, 0.108655267,
			0.242239966, 0.414048891, 0.609090988, 0.814335609, 1.1237391, 1.62667316, 2.12482216}},
		{0.720904742449, []float64{0.2, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 5, 7.5}, []float64{0.384128141, 0.778509099, 1.35745648,
			1.90091059, 2.42823482, 2.94662422, 3.45953764, 3.96887768, 5.48493667, 7.99488464}},
	} {
		for i, x := range c.x {
			printed(t, fmt.Sprintf("shape %g at %g", c.shape, x), WeibullRenewal(c.shape, x), c.want[i], 8, 1e-7)
		}
	}
}

func TestWeibullRenewalTable(t *testing.T) {
	for _, row := range table(t, "renewal.txt", 48) {
		v := numbers(t, row)
		printed(t, fmt.Sprintf("F, shape %g at %g", v[0], v[1]), FirstFailureNew(v[0], v[1]), v[2], 10, 1e-9)
		printed(t, fmt.Sprintf("M, shape %g at %g", v[0], v[1]), WeibullRenewal(v[0], v[1]), v[3], 10, 1e-6)
	}
}

// Second method: the series of Smith and Leadbetter (1963) in 600 bits, for shapes at which the gamma function of whole
// and half numbers is enough. Also holds the promised range at its ends.
func TestWeibullRenewalSeries(t *testing.T) {
	for _, c := range []struct {
		half  int // shape x 2
		terms int
		x     []float64
	}{
		{1, 260, []float64{1e-4, 0.01, 0.3, 2, 10}}, {2, 200, []float64{0.5, 10}}, {3, 260, []float64{1e-4, 0.3, 3}},
		{4, 260, []float64{1e-3, 0.7, 3}}, {6, 260, []float64{0.01, 1, 2.5}}, {10, 300, []float64{0.3, 1, 1.5}},
	} {
		coefficients := renewalSeries(c.half, c.terms)
		shape := float64(c.half) / 2
		for _, x := range c.x {
			want := evaluate(t, coefficients, math.Pow(x/WeibullScale(shape), shape))
			within(t, fmt.Sprintf("shape %g at %g", shape, x), WeibullRenewal(shape, x), want, 1e-6)
		}
	}
}

const seriesBits = 1200

// gammaRatio is Gamma(1 + k half/2) over sqrt(pi) where the argument is no whole number: (k half)!! over a power of two.
func gammaRatio(k, half int) (value *big.Float, roots int) {
	twice := k * half // Gamma(1 + twice/2)
	v := big.NewFloat(1).SetPrec(seriesBits)
	for i := twice; i > 0; i -= 2 {
		v.Mul(v, big.NewFloat(float64(i)/2))
	}
	return v, twice % 2
}

// renewalSeries gives the coefficients of z^1.. of M, z = (t/scale)^shape: (-1)^(k-1) A(k)/Gamma(1+k shape),
// A(k) = g(k) - sum g(j) A(k-j), g(k) = Gamma(1+k shape)/k!.
func renewalSeries(half, terms int) []*big.Float {
	root := new(big.Float).SetPrec(seriesBits).Sqrt(bigPi())
	gamma := make([]*big.Float, terms+1)
	g := make([]*big.Float, terms+1)
	a := make([]*big.Float, terms+1)
	factorial := big.NewFloat(1).SetPrec(seriesBits)
	coefficients := make([]*big.Float, 0, terms)
	for k := 1; k <= terms; k++ {
		factorial.Mul(factorial, big.NewFloat(float64(k)))
		v, roots := gammaRatio(k, half)
		if roots == 1 {
			v.Mul(v, root)
		}
		gamma[k] = v
		g[k] = new(big.Float).SetPrec(seriesBits).Quo(v, factorial)
		a[k] = new(big.Float).SetPrec(seriesBits).Set(g[k])
		for j := 1; j < k; j++ {
			a[k].Sub(a[k], new(big.Float).SetPrec(seriesBits).Mul(g[j], a[k-j]))
		}
		c := new(big.Float).SetPrec(seriesBits).Quo(a[k], gamma[k])
		if k%2 == 0 {
			c.Neg(c)
		}
		coefficients = append(coefficients, c)
	}
	return coefficients
}

func evaluate(t *testing.T, coefficients []*big.Float, z float64) float64 {
	t.Helper()
	sum, power := new(big.Float).SetPrec(seriesBits), big.NewFloat(1).SetPrec(seriesBits)
	var term *big.Float
	for _, c := range coefficients {
		power.Mul(power, big.NewFloat(z))
		term = new(big.Float).SetPrec(seriesBits).Mul(c, power)
		sum.Add(sum, term)
	}
	value, _ := sum.Float64()
	if last, _ := term.Float64(); math.Abs(last) > 1e-12*math.Abs(value) {
		t.Fatalf("the series has not settled at z = %g: last term %g of %g", z, last, value)
	}
	return value
}

// bigPi is pi by Machin's formula.
func bigPi() *big.Float {
	arctan := func(inverse int64) *big.Float {
		sum := new(big.Float).SetPrec(seriesBits)
		power := new(big.Float).SetPrec(seriesBits).Quo(big.NewFloat(1), new(big.Float).SetPrec(seriesBits).SetInt64(inverse))
		for n := int64(1); power.MantExp(nil) > -seriesBits; n += 2 {
			term := new(big.Float).SetPrec(seriesBits).Quo(power, new(big.Float).SetInt64(n))
			if n%4 == 3 {
				term.Neg(term)
			}
			sum.Add(sum, term)
			power.Quo(power, new(big.Float).SetInt64(inverse*inverse))
		}
		return sum
	}
	first := new(big.Float).SetPrec(seriesBits).Mul(big.NewFloat(16), arctan(5))
	return first.Sub(first, new(big.Float).SetPrec(seriesBits).Mul(big.NewFloat(4), arctan(239)))
}

func TestWeibullRenewalsAgreeWithOne(t *testing.T) {
	for _, shape := range []float64{0.4, 0.7, 1, 2.5, 20} {
		all := WeibullRenewals(shape, 10, 50)
		for _, i := range []int{0, 1, 7, 50} {
			within(t, fmt.Sprintf("shape %g, point %d", shape, i), all[i], WeibullRenewal(shape, 10*float64(i)/50), 1e-6)
		}
		late := WeibullRenewal(shape, 9)
		if shape >= 1 && shape < 5 {
			within(t, "late", late, WeibullRenewalLate(shape, 9), 1e-6)
		}
	}
}

// Expected failures of a new fleet in its first year, and in each month of it; series at 450 digits, no publication.
func TestFailuresNew(t *testing.T) {
	for _, c := range []struct {
		n                int
		years            float64
		k07, k1, k15, k3 float64
	}{
		{2500, 25, 316.0665758, 100, 17.13035236, 0.1139293344},
		{160000, 100, 7570.432481, 1600, 137.2117499, 0.1139316343},
		{94208, 100, 4457.470645, 942.08, 80.79027834, 0.06708294629},
		{94208, 20, 13970.62166, 4710.4, 901.6467173, 8.385035115},
	} {
		for i, shape := range []float64{0.7, 1, 1.5, 3} {
			want := []float64{c.k07, c.k1, c.k15, c.k3}[i]
			printed(t, "first year", FailuresNew(c.n, c.years*year, shape, year), want, 10, 1e-6)
		}
		within(t, "aged", FailuresAged(c.n, c.years*year, year), c.k1, 1e-12)
	}
}

func TestFailuresByMonth(t *testing.T) {
	for _, c := range []struct {
		n, years, shape float64
		months          []float64
	}{
		{160000, 100, 0.7, []float64{1321.124, 826.864, 707.0308, 639.1881, 593.1943, 559.0377, 532.2143, 510.3348, 491.99, 476.2837, 462.6138, 450.5574}},
		{160000, 100, 1.5, []float64{3.301369, 6.036241, 7.816503, 9.256058, 10.49867, 11.60837, 12.62047, 13.55694, 14.43254, 15.25777, 16.04041, 16.78643}},
		{160000, 100, 3, []float64{6.593268e-5, 0.0004615288, 0.001252721, 0.002439509, 0.004021893, 0.005999873, 0.008373449, 0.01114262, 0.01430739, 0.01786775, 0.02182371, 0.02617526}},
		{2500, 25, 0.7, []float64{54.59698, 34.29345, 29.39758, 26.63519, 24.76798, 23.38511, 22.30191, 21.4205, 20.6832, 20.05336, 19.50637, 19.02496}},
		{2500, 25, 1.5, []float64{0.4126589, 0.7544444, 0.9768303, 1.156554, 1.311587, 1.449932, 1.576005, 1.692551, 1.801415, 1.90391, 2.001008, 2.093456}},
		{2500, 25, 3, []float64{6.593268e-5, 0.0004615287, 0.00125272, 0.002439507, 0.004021884, 0.00599985, 0.008373395, 0.01114251, 0.01430718, 0.01786739, 0.02182311, 0.02617432}},
	} {
		m := WeibullRenewals(c.shape, 1/c.years, 12)
		for i, want := range c.months {
			printed(t, fmt.Sprintf("shape %g, month %d", c.shape, i+1), c.n*(m[i+1]-m[i]), want, 7, 1e-6)
		}
	}
}

// Later years of 2,500 units of 25 years; a difference of two values near 2 carries their error fiftyfold.
func TestFailuresByYear(t *testing.T) {
	years := []int{1, 2, 5, 10, 20, 25, 30, 50}
	for _, c := range []struct {
		shape float64
		want  []float64
	}{
		{0.7, []float64{316.06658, 203.72621, 154.05299, 131.48126, 116.48523, 112.94249, 110.45543, 105.23426}},
		{1.5, []float64{17.130352, 31.197459, 53.123121, 73.281116, 91.883197, 95.937105, 98.191781, 100.15783}},
		{3, []float64{0.11392933, 0.79737452, 6.9229567, 29.802918, 96.596788, 115.93368, 116.03372, 98.031452}},
	} {
		m := WeibullRenewals(c.shape, 2, 50)
		for i, y := range years {
			printed(t, fmt.Sprintf("shape %g, year %d", c.shape, y), 2500*(m[y]-m[y-1]), c.want[i], 8, 1e-6)
		}
	}
}

func TestFirstFailureAged(t *testing.T) {
	x := []float64{0.01, 0.04, 0.1, 0.5, 1, 2}
	for _, c := range []struct {
		shape float64
		want  []float64
	}{
		{0.7, []float64{0.009728344958, 0.03720844731, 0.08724441351, 0.3324410148, 0.5254374195, 0.7402927876}},
		{1.5, []float64{0.009996570021, 0.03989044629, 0.0989241907, 0.444698731, 0.7325662355, 0.9560550503}},
		{3, []float64{0.00999999822, 0.03999954428, 0.0999822018, 0.4891510337, 0.852919319, 0.9996435922}},
	} {
		for i := range x {
			printed(t, "first failure, aged", FirstFailureAged(c.shape, x[i]), c.want[i], 10, 1e-9)
		}
	}
	for _, c := range []struct{ shape, scale, scv float64 }{
		{0.7, 0.78999954987, 2.13868563185}, {1, 1, 1}, {1.5, 1.10773216743, 0.460998486206}, {3, 1.11984652172, 0.132093360726},
	} {
		printed(t, "scale", WeibullScale(c.shape), c.scale, 11, 1e-11)
		printed(t, "scv", WeibullSCV(c.shape), c.scv, 12, 1e-9)
	}
}
