package unit

import (
	"math"
	"testing"
)

func TestDigits(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", 1: "1.00", 0.31: "0.310", 31: "31.0", 310.4: "310", 12345: "12300", 999499: "999000", 999500: "1.00e6",
		2.314e-6: "2.31e-6", 0.001: "0.00100", 0.0009999: "0.00100", 0.0009994: "9.99e-4", 9.995: "9.99", 9.996: "10.0", -4.5: "-4.50",
		1.5e12: "1.50e12", math.Inf(1): "+Inf", math.Inf(-1): "-Inf", math.Copysign(0, -1): "0",
	} {
		if got := Digits(v); got != want {
			t.Errorf("%v is written %q, want %q", v, got, want)
		}
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct {
		v    float64
		in   string
		want string
	}{
		{0, Seconds, "0 s"}, {2.5e-8, Seconds, "25.0 ns"}, {0.0000031, Seconds, "3.10 us"}, {0.31, Seconds, "310 ms"},
		{0.0509, Seconds, "50.9 ms"}, {0.9994, Seconds, "999 ms"}, {0.9996, Seconds, "1.00 s"}, {83.14, Seconds, "83.1 s"},
		{119.4, Seconds, "119 s"}, {119.6, Seconds, "1.99 min"}, {7100, Seconds, "118 min"}, {7200, Seconds, "2.00 h"},
		{172800, Seconds, "2.00 d"}, {90 * 86400, Seconds, "90.0 d"},
		{83.14, SPerMonth, "83.1 s per month"}, {0.5, HPerMonth, "0.500 h per month"}, {14.23, PerMonth, "14.2 per month"},
		{2.5, PerRouterH, "2.50 per router and hour"}, {0.3104, Share, "31.0 %"}, {1.2e-5, Share, "1.20e-5"}, {0.001, Share, "0.100 %"},
		{1, Share, "100 %"}, {0, Share, "0 %"}, {2.31e-6, One, "2.31e-6"}, {0.42, One, "0.420"},
	} {
		if got := Words(c.v, c.in); got != c.want {
			t.Errorf("%v in %q is written %q, want %q", c.v, c.in, got, c.want)
		}
	}
}

func TestCount(t *testing.T) {
	for n, want := range []string{"0 more figures", "1 more figure", "2 more figures"} {
		if got := Count(n, "more figure"); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
}

func TestApart(t *testing.T) {
	for _, c := range []struct {
		v, other float64
		unit     string
		n        int
		a, b     string
	}{
		{1.352e-4, 1.347e-4, One, 4, "1.352e-4", "1.347e-4"},
		{1.35e-4, 1.35e-4, One, 3, "1.35e-4", "1.35e-4"},
		{0.05, 0.1, Seconds, 3, "50.0 ms", "100 ms"},
		{0.9999, 1, Seconds, 4, "999.9 ms", "1.000 s"},
		{0.995, 0.99504, Share, 5, "99.500 %", "99.504 %"},
		{1, math.Nextafter(1, 2), One, 17, "1.0000000000000000", "1.0000000000000002"},
	} {
		n := Apart(c.unit, c.v, c.other)
		if a, b := WordsTo(c.n, c.v, c.unit), WordsTo(c.n, c.other, c.unit); a != c.a || b != c.b {
			t.Errorf("%v, %v with %d digits: %s, %s; want %s, %s", c.v, c.other, c.n, a, b, c.a, c.b)
		}
		if n != c.n {
			t.Errorf("%v, %v: %d digits, want %d", c.v, c.other, n, c.n)
		}
	}
}
