package kernel

import (
	"math"
	"math/big"
	"testing"
)

// worstOf keeps the largest of many values and where it was.
type worstOf struct {
	ulps, at float64
}

func (w *worstOf) see(ulps, at float64) {
	if !(ulps <= w.ulps) { // also takes NaN
		w.ulps, w.at = ulps, at
	}
}

func (w *worstOf) atMost(t *testing.T, limit float64, what string) {
	t.Helper()
	t.Logf("%s: worst %.3f ulp, at %v", what, w.ulps, w.at)
	if !(w.ulps <= limit) {
		t.Errorf("%s: worst %.3f ulp at %v, limit %v", what, w.ulps, w.at, limit)
	}
}

// spread gives n deterministic numbers of (0, 1).
func spread(n int, f func(u float64)) {
	stream := NewStream(11, 0)
	for i := range uint64(n) {
		f(stream.Uniform(1, 0, i))
	}
}

func TestLogAgainstBig(t *testing.T) {
	o := newOracle(256)
	var worst, library worstOf
	check := func(x float64) {
		truth := o.log(o.float(x))
		worst.see(ulpsFrom(Log(x), truth), x)
		if x >= 0x1p-1022 { // below, math.Log is wrong on amd64 in Go 1.26
			library.see(ulpsFrom(math.Log(x), truth), x)
		}
	}
	spread(4000, func(u float64) {
		check(math.Pow(10, -300+600*u)) // wide
		check(0.5 + u)                  // about one, where cancellation is worst
		check(u)
	})
	for e := 1; e <= 53; e++ {
		check(math.Ldexp(1, -e))
		check(1 - math.Ldexp(1, -e))
		check(1 + math.Ldexp(1, -e+1))
	}
	check(5e-324)
	check(math.MaxFloat64)
	worst.atMost(t, 1, "Log against math/big")
	library.atMost(t, 1, "math.Log against math/big")
}

func TestExpAgainstBig(t *testing.T) {
	o := newOracle(256)
	var worst, library worstOf
	check := func(x float64) {
		truth := o.exp(o.float(x))
		worst.see(ulpsFrom(Exp(x), truth), x)
		library.see(ulpsFrom(math.Exp(x), truth), x)
	}
	spread(4000, func(u float64) {
		check(-700 + 1400*u)
		check(-1 + 2*u)
		check(math.Pow(10, -20+20*u))
		check(-math.Pow(10, -20+20*u))
	})
	worst.atMost(t, 0.7, "Exp against math/big")
	t.Logf("math.Exp against math/big: worst %.3f ulp, at %v", library.ulps, library.at)
}

func TestLog1pAgainstBig(t *testing.T) {
	o := newOracle(256)
	var worst worstOf
	spread(4000, func(u float64) {
		for _, x := range []float64{-u, -math.Pow(10, -20+20*u), math.Pow(10, -20+20*u)} {
			truth := o.log(o.new().Add(o.float(1), o.float(x)))
			worst.see(ulpsFrom(log1p(x), truth), x)
		}
	})
	worst.atMost(t, 3, "log1p against math/big")
}

func TestPowerAgainstBig(t *testing.T) {
	o := newOracle(256)
	var worst worstOf
	spread(300, func(u float64) {
		x := -math.Log(u)
		for _, y := range []float64{0.05, 0.25, 0.5, 1, 1.25, 1 / 0.7, 2, 3.5, 10} {
			truth := o.exp(o.new().Mul(o.log(o.float(x)), o.float(y)))
			worst.see(ulpsFrom(power(x, y), truth), x)
		}
	})
	// The logarithm is at most 9 here and multiplied by at most a half: its
	// rounding is worth 4 ulp; ten squarings add the rest.
	worst.atMost(t, 8, "power against math/big")
}

func TestElementarySpecialCases(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"Log(0)", Log(0), -inf},
		{"Log(+Inf)", Log(inf), inf},
		{"Log(-1)", Log(-1), nan},
		{"Log(-Inf)", Log(-inf), nan},
		{"Log(NaN)", Log(nan), nan},
		{"Log(1)", Log(1), 0},
		{"Exp(0)", Exp(0), 1},
		{"Exp(-0)", Exp(math.Copysign(0, -1)), 1},
		{"Exp(+Inf)", Exp(inf), inf},
		{"Exp(-Inf)", Exp(-inf), 0},
		{"Exp(710)", Exp(710), inf},
		{"Exp(-746)", Exp(-746), 0},
		{"Exp(NaN)", Exp(nan), nan},
		{"log1p(-1)", log1p(-1), -inf},
		{"log1p(0)", log1p(0), 0},
		{"power(0, 0.3)", power(0, 0.3), 0},
		{"power(3, 1)", power(3, 1), 3},
		{"power(3, 4)", power(3, 4), 81},
		{"power(16, 0.5)", power(16, 0.5), 4},
		{"power(1e-16, 100)", power(1e-16, 100), 0},
		{"power(30, 1000)", power(30, 1000), inf},
		{"NormQuantile(0)", NormQuantile(0), -inf},
		{"NormQuantile(1)", NormQuantile(1), inf},
		{"NormQuantile(0.5)", NormQuantile(0.5), 0},
		{"NormQuantile(-1)", NormQuantile(-1), nan},
		{"NormQuantile(2)", NormQuantile(2), nan},
		{"NormQuantile(NaN)", NormQuantile(nan), nan},
	} {
		if c.got != c.want && !(math.IsNaN(c.got) && math.IsNaN(c.want)) {
			t.Errorf("%s = %v, want %v", c.name, c.got, c.want)
		}
	}
}

// TestOracle holds the oracle itself to published digits: ln 2, e and pi
// (OEIS A002162, A001113, A000796), and the 97.5 % point of the normal law,
// 1.959963984540054235524594430520551... (OEIS A220510).
func TestOracle(t *testing.T) {
	o := newOracle(256)
	pi := o.new().Mul(o.root, o.root)
	pi.Quo(pi, o.float(2))
	quantile := o.new()
	for _, c := range []struct {
		name   string
		got    *big.Float
		digits string
	}{
		{"ln 2", o.log(o.float(2)), "0.69314718055994530941723212145817656807550013436"},
		{"e", o.exp(o.float(1)), "2.71828182845904523536028747135266249775724709370"},
		{"pi", pi, "3.14159265358979323846264338327950288419716939938"},
	} {
		want, _, err := big.ParseFloat(c.digits, 10, 256, big.ToNearestEven)
		if err != nil {
			t.Fatal(err)
		}
		if d := quantile.Sub(c.got, want); d.Sign() != 0 && d.MantExp(nil) > -150 {
			t.Errorf("%s = %.50f, want %s", c.name, c.got, c.digits)
		}
	}
	// 0.975 is not a binary number; its distance from the nearest one moves the
	// quantile by less than 1e-15.
	z := o.normQuantile(0.975, 1.96)
	got, _ := z.Float64()
	if math.Abs(got-1.959963984540054235) > 1e-15 {
		t.Errorf("97.5 %% point %.18f", got)
	}
}
