package reliability

import (
	"math"
	"testing"
)

// 1 - 0.99^100 = 63 %: Dean and Barroso 2013; figures at 60 digits. Tolerance 1e-11 against the printed digits.
func TestTailAmplification(t *testing.T) {
	for _, c := range []struct {
		p    float64
		n    int
		want float64
	}{
		{0.01, 100, 0.63396765872677}, {0.001, 100, 0.095207852886291}, {0.001, 1000, 0.63230457522904}, {0.0001, 2000, 0.18127743473447},
		{0.01, 1, 0.01}, {0.01, 50, 0.39499393286246}, {1e-5, 100000, 0.63212239823343},
		{0.01, 2, 0.0199}, {0.01, 10, 0.0956179249912}, {0.001, 10, 0.00995511979025}, {0.05, 10, 0.401263060762},
	} {
		printed(t, "amplified", TailAmplification(c.p, c.n), c.want, 12, 1e-11)
	}
	// A call of 4 packets out and 8 back, one direction of 1 % loss on a hash of eight; both directions; a fan-out of 100.
	out := TailAmplification(0.01, 4) / 8
	back := TailAmplification(0.01, 8) / 8
	printed(t, "one direction", out, 0.00492549875, 9, 1e-11)
	printed(t, "both", Series(out, back), 0.0145348468326, 12, 1e-11)
	printed(t, "fan-out", TailAmplification(out, 100), 0.389676967095, 12, 1e-11)
	if TailAmplification(1, 0) != 0 || TailAmplification(1, 3) != 1 || TailAmplification(0, 3) != 0 {
		t.Error("ends of the range")
	}
	within(t, "small", TailAmplification(1e-20, 5), 5e-20, 1e-14)
}

// RFC 5348 section 3.1, evaluated at 60 digits.
func TestThroughputRFC5348(t *testing.T) {
	for _, c := range []struct{ size, rtt, p, b, tRTO, want float64 }{
		{1460, 0.1, 0.01, 1, 0.4, 164005.06217}, {1460, 0.1, 0.001, 1, 0.4, 560411.701831}, {1460, 0.1, 0.05, 1, 0.4, 53813.9255691},
		{1460, 0.0001, 0.01, 1, 0.0004, 164005062.17}, {1460, 0.0001, 0.01, 1, 0.2, 3875102.96513},
		{1460, 0.0001, 0.001, 1, 0.2, 102807411.687}, {1460, 0.0001, 0.0001, 1, 0.2, 1233191265.28},
		{1460, 0.0001, 0.01, 1, 0.005, 84004862.9255}, {8960, 0.0001, 0.01, 1, 0.2, 23781453.8134},
		{1460, 0.1, 0.01, 2, 0.4, 115969.091609}, {1460, 0.1, 0.1, 1, 1, 14243.2133135},
	} {
		printed(t, "rate", ThroughputRFC5348(c.size, c.rtt, c.p, c.b, c.tRTO), c.want, 12, 1e-11)
	}
	if !math.IsInf(ThroughputRFC5348(1460, 0.1, 0, 1, 0.4), 1) {
		t.Error("no loss has no bound")
	}
}

// Square-root model: constant sqrt(3/2) from memory, 1.2 of RFC 3649 section 5, sqrt(3/4) for every second packet.
func TestThroughputSquareRoot(t *testing.T) {
	for _, c := range []struct{ size, rtt, p, each, rfc3649, second float64 }{ // bytes/s, Mbit/s, Mbit/s
		{1460, 0.1, 0.01, 178812.751223, 1.4016, 1.011517672}, {1460, 0.0001, 0.01, 178812751.223, 1401.6, 1011.517672},
		{1460, 0.0001, 0.001, 565455568.546, 4432.248368, 3198.699736}, {8960, 0.0001, 0.01, 1097371404.77, 8601.6, 6207.670094},
		{1460, 0.00025, 0.0001, 715251004.893, 5606.4, 4046.070686}, {1500, 0.1, 2e-10, 1299038105.68, 10182.33765, 7348.469228},
	} {
		printed(t, "each", ThroughputSquareRoot(c.size, c.rtt, c.p, SquareRootEach), c.each, 12, 1e-11)
		printed(t, "RFC 3649", ThroughputSquareRoot(c.size, c.rtt, c.p, SquareRootRFC3649)*8e-6, c.rfc3649, 10, 1e-11)
		printed(t, "second", ThroughputSquareRoot(c.size, c.rtt, c.p, SquareRootSecond)*8e-6, c.second, 10, 1e-11)
	}
	// RFC 3649 section 5: a window of 12 packets at loss 1e-2, 120,000 at 1e-10.
	within(t, "window", ThroughputSquareRoot(1, 1, 1e-2, SquareRootRFC3649), 12, 1e-12)
	within(t, "window", ThroughputSquareRoot(1, 1, 1e-10, SquareRootRFC3649), 120000, 1e-12)
	// RFC 3649 Table 1: 10 Gbit/s, 1,500 bytes, 0.1 s need a window of 83,333.3 packets, so a loss of 1.5/W^2.
	window := 10e9 * 0.1 / (8 * 1500)
	within(t, "10 Gbit/s", ThroughputSquareRoot(1500, 0.1, 1.5/(window*window), SquareRootEach)*8, 10e9, 1e-12)
}
