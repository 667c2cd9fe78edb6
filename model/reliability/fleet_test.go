package reliability

import (
	"math"
	"testing"
)

const year = HoursPerYear

// Facts of the trade (common practice, no source) and closed forms evaluated at 60 digits; tolerance 1e-11 against the
// printed digits.
func TestFleetGap(t *testing.T) {
	for _, c := range []struct {
		n          int
		years, gap float64
		perYear    float64
		low, high  int // central 95 % of the failures of one year, Poisson
	}{
		{2500, 25, 87.6, 100, 81, 120},
		{160000, 100, 5.475, 1600, 1522, 1679},
		{94208, 100, 9.298573369565217, 942.08, 882, 1003},
		{1, 25, 219000, 0.04, 0, 1},
		{1000, 10, 87.6, 100, 81, 120},
		{10000, 50, 43.8, 200, 173, 228},
		{500, 7.5, 131.4, 66.66666666666667, 51, 83},
	} {
		p := Population{Count: c.n, MTBF: c.years * year}
		within(t, "gap", FleetGap(p), c.gap, 1e-12)
		within(t, "a year", FailuresAged(c.n, p.MTBF, year), c.perYear, 1e-12)
		if low, high := PoissonRange(p.Rate()*year, 0.95); low != c.low || high != c.high {
			t.Errorf("%d units of %g y: range %d to %d, want %d to %d", c.n, c.years, low, high, c.low, c.high)
		}
	}
	// The convention of a year of 365.25 days.
	within(t, "gap at 8766 h", FleetGap(Population{Count: 2500, MTBF: 25 * 8766}), 87.66, 1e-12)
	within(t, "gap at 8766 h", FleetGap(Population{Count: 160000, MTBF: 100 * 8766}), 5.47875, 1e-12)
}

func TestFleetCombined(t *testing.T) {
	fleet := []Population{{Count: 2500, MTBF: 25 * year}, {Count: 160000, MTBF: 100 * year}}
	printed(t, "rate", FleetRate(fleet...), 0.194063926941, 12, 1e-11)
	printed(t, "gap", FleetGap(fleet...), 5.15294117647, 12, 1e-11)
	shares := NextFailureShares(fleet...)
	printed(t, "next is a router", shares[0], 0.05882352941, 10, 1e-11)
	within(t, "shares", shares[0]+shares[1], 1, 1e-15)
	if gap := FleetGap(); !math.IsInf(gap, 1) {
		t.Errorf("gap without units %g", gap)
	}
}

func TestFIT(t *testing.T) {
	for _, c := range []struct{ mtbf, fit, probability, linear, excess float64 }{
		{219000, 4566.210046, 0.0392105608477, 0.04, 0.0201333},
		{876000, 1141.552511, 0.00995016625083, 0.01, 0.00500833},
		{438000, 2283.105023, 0.0198013266932, 0.02, 0.0100333},
		{1000000, 1000, 0.00872174299196, 0.00876, 0.00438639},
		{5000000, 200, 0.0017504661439, 0.001752, 0.000876256},
		{50000, 20000, 0.160710853847, 0.1752, 0.0901566},
		{8760, 114155.2511, 0.632120558829, 1, 0.581977},
		{300000, 3333.333333, 0.0287777993993, 0.0292, 0.0146711},
	} {
		printed(t, "FIT", FITFromMTBF(c.mtbf), c.fit, 10, 1e-11)
		printed(t, "AFR", AFRProbability(c.mtbf), c.probability, 12, 1e-11)
		within(t, "linear AFR", AFRLinear(c.mtbf), c.linear, 1e-12)
		printed(t, "excess", AFRLinear(c.mtbf)/AFRProbability(c.mtbf)-1, c.excess, 6, 1e-11)
		within(t, "back", MTBFFromFIT(FITFromMTBF(c.mtbf)), c.mtbf, 1e-14)
		within(t, "back", MTBFFromAFRProbability(AFRProbability(c.mtbf)), c.mtbf, 1e-12)
	}
	for _, c := range []struct{ afr, mtbf, fit float64 }{
		{0.01, 871612.663267, 1147.298613}, {0.02, 433605.252124, 2306.245128}, {0.005, 1747616.34085, 572.2079707},
		{0.04, 214590.200772, 4660.045037}, {0.1, 83143.1010498, 12027.45613},
	} {
		printed(t, "MTBF of AFR", MTBFFromAFRProbability(c.afr), c.mtbf, 12, 1e-11)
		printed(t, "FIT of AFR", FITFromMTBF(MTBFFromAFRProbability(c.afr)), c.fit, 10, 1e-11)
	}
}

func TestSeriesFIT(t *testing.T) {
	// pythonclub.org "vlsi/basic/fail": 75 + 125 = 200 FIT, 5 million h, 0.175 % a year by the linear rate.
	sum := SeriesFIT(75, 125)
	within(t, "FIT", sum, 200, 0)
	within(t, "MTBF", MTBFFromFIT(sum), 5e6, 1e-15)
	within(t, "linear", AFRLinear(MTBFFromFIT(sum)), 0.001752, 1e-12)
	printed(t, "exact", AFRProbability(MTBFFromFIT(sum)), 0.001750466144, 10, 1e-11)
	optic, port := FITFromMTBF(100*year), FITFromMTBF(25*year)/64
	within(t, "link of two optics", MTBFFromFIT(SeriesFIT(optic, optic)), 438000, 1e-12)
	printed(t, "and two ports", SeriesFIT(optic, optic, port, port), 2425.79908676, 12, 1e-11)
}

func TestAvailability(t *testing.T) {
	for _, c := range []struct{ years, mttr, up, seconds float64 }{
		{100, 4, 0.999995433810805, 143.9993425}, {25, 4, 0.999981735493416, 575.9894796},
		{25, 24, 0.999890422967346, 3455.621302}, {100, 24, 0.999972603490315, 863.9763294},
	} {
		printed(t, "availability", Availability(c.years*year, c.mttr), c.up, 15, 1e-14)
		within(t, "one less", Unavailability(c.years*year, c.mttr), 1-Availability(c.years*year, c.mttr), 1e-10)
		printed(t, "seconds a year", DownSecondsPerYear(c.years*year, c.mttr), c.seconds, 10, 1e-11)
	}
}
