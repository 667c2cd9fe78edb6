package sim

import (
	"fmt"
	"testing"

	"halflight/sim/record"
)

// renewalM are expected failures per unit by x = time over mean life, all units
// new at 0, repair in no time: the Weibull renewal function. Own series, which
// gives the 20 printed values of Tijms, A First Course in Stochastic Models,
// table 8.1.1, to their digits, checked by an independent discretisation.
var renewalM = []struct{ shape, x, m float64 }{
	{0.7, 0.04, 0.1264266303},
	{0.7, 0.5, 0.8106292622},
	{0.7, 2, 2.4802076},
	{1, 0.04, 0.04},
	{1, 1, 1},
	{1.5, 0.04, 0.006852140943},
	{1.5, 0.5, 0.2858886556},
	{1.5, 2, 1.729721375},
	{3, 0.5, 0.08555102964},
	{3, 1, 0.5310462062},
	{3, 2, 1.559481739},
}

// fleet is 200 parallel links that fail without consequence: back within a minute.
// x is the horizon in mean lives of 25 years. start: new or aged.
func fleet(t *testing.T, shape, x float64, start string, seed uint64, n int) (all []record.Replication, units float64) {
	t.Helper()
	w := build(t, "fleet", fmt.Sprintf(sure, "fleet", "unlimited")+fmt.Sprintf(`
warm_up: 0s
horizon: %.0fh
fabric: {clos: {pods: 1, leaves: 2, spines: 2, tops: 0, parallel: 50}}
failures: [{name: cut, on: link, kind: hard, start: %s, life: {weibull: {mean: 25y, shape: %g}}, repair: {lead: 1min, hands_on: 0s}}]
`, x*25*8760, start, shape))
	return playAll(w, seed, n), float64(len(w.Fabric.Links))
}

// First-year failures of a new Weibull fleet of units of 25 years, and those of
// longer times: 2,500 units have 316.07 of shape 0.7 in their first year, 17.13
// of shape 1.5, where a fleet at rest has 100.
func TestNewFleetFailsAsTheRenewalFunctionSays(t *testing.T) {
	t.Parallel()
	for i, c := range renewalM {
		n := atLeast
		if c.m < 0.2 {
			n = 150
		}
		all, units := fleet(t, c.shape, c.x, "new", uint64(100+i), n)
		agrees(t, fmt.Sprintf("shape %g, %g lives", c.shape, c.x), each(all, func(r *record.Replication) float64 { return float64(r.Onsets[0]) / units }), c.m)
	}
}

// agedFirst is P(first failure within x mean lives) of a unit that has been in
// use for long: the integral of the survival function over the mean. Own
// numbers, by quadrature.
var agedFirst = []struct{ shape, x, p float64 }{
	{0.7, 0.1, 0.08724441351},
	{0.7, 0.5, 0.3324410148},
	{0.7, 2, 0.7402927876},
	{1.5, 0.1, 0.0989241907},
	{1.5, 0.5, 0.444698731},
	{1.5, 2, 0.9560550503},
	{3, 0.1, 0.0999822018},
	{3, 0.5, 0.4891510337},
	{3, 1, 0.852919319},
}

// agedSpread is variance over mean of the count of one unit in a window of x
// mean lives, from an aged start. Own numbers, by the renewal series.
var agedSpread = []struct{ shape, x, d float64 }{
	{0.7, 0.1, 1.184400207},
	{0.7, 0.5, 1.425055843},
	{0.7, 1, 1.572382989},
	{1.5, 0.1, 0.9216237496},
	{1.5, 0.5, 0.7337194502},
	{1.5, 1, 0.6221943227},
	{3, 0.1, 0.9003559713},
	{3, 0.5, 0.5435074668},
	{3, 1, 0.3006512498},
}

// An aged fleet fails at one over the mean life from the start, whatever the
// shape; how its first failures and its counts spread follows the shape.
func TestAgedFleetIsStationary(t *testing.T) {
	t.Parallel()
	for i, c := range agedSpread {
		all, units := fleet(t, c.shape, c.x, "aged", uint64(300+i), 60)
		name := fmt.Sprintf("shape %g, %g lives", c.shape, c.x)
		agrees(t, name+": failures", each(all, func(r *record.Replication) float64 { return float64(r.Onsets[0]) / units }), c.x)
		agrees(t, name+": spread", each(all, func(r *record.Replication) float64 {
			sum := c.x * c.x * units
			for _, n := range byPart(r) {
				sum += (n-c.x)*(n-c.x) - c.x*c.x // units that never fail are not listed
			}
			return sum / units / c.x
		}), c.d)
	}
	for i, c := range agedFirst {
		all, units := fleet(t, c.shape, c.x, "aged", uint64(400+i), 60)
		agrees(t, fmt.Sprintf("shape %g, %g lives: failed at all", c.shape, c.x),
			each(all, func(r *record.Replication) float64 { return float64(len(byPart(r))) / units }), c.p)
	}
}

// byPart counts the faults of each part that had any.
func byPart(r *record.Replication) map[string]float64 {
	out := map[string]float64{}
	for i := range r.Faults {
		out[r.Faults[i].On]++
	}
	return out
}
