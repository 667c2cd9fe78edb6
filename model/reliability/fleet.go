package reliability

import "math"

// Population is a number of like units that fail and are repaired independently.
type Population struct {
	Count int     // units, >= 0
	MTBF  float64 // mean up time of one unit, h, > 0
	MTTR  float64 // mean down time of one unit, h, >= 0
}

// Rate is the failures per hour of a population all of whose units are up.
func (p Population) Rate() float64 {
	require(p.Count >= 0 && p.MTBF > 0, "a population needs a count >= 0 and an MTBF above 0")
	return float64(p.Count) / p.MTBF
}

// Unavailability is the long-run share of time one unit of the population is down.
func (p Population) Unavailability() float64 { return Unavailability(p.MTBF, p.MTTR) }

// FleetRate is the failures per hour of several populations together.
func FleetRate(fleet ...Population) float64 {
	sum := 0.0
	for _, p := range fleet {
		sum += p.Rate()
	}
	return sum
}

// FleetGap is the mean time between any two failures of the populations together, h; +Inf without units. The units'
// failure clocks run as if none were down, which is exact for a renewal fleet with instant repair and off by the
// unavailability otherwise (common practice, no source).
func FleetGap(fleet ...Population) float64 { return 1 / FleetRate(fleet...) }

// NextFailureShares is, per population, the probability that the next failure of the fleet is one of its units.
func NextFailureShares(fleet ...Population) []float64 {
	all := FleetRate(fleet...)
	shares := make([]float64, len(fleet))
	for i, p := range fleet {
		shares[i] = p.Rate() / all
	}
	return shares
}

// fitHours are the device-hours in which FIT counts failures: FIT = 1e9 / MTBF and the same backwards.
const fitHours = 1e9

// FITFromMTBF turns a mean time between failures, h, into failures in 1e9 device-hours.
func FITFromMTBF(mtbf float64) float64 {
	require(mtbf > 0, "an MTBF must be above 0")
	return fitHours / mtbf
}

// MTBFFromFIT turns failures in 1e9 device-hours into a mean time between failures, h.
func MTBFFromFIT(fit float64) float64 {
	require(fit > 0, "a FIT must be above 0")
	return fitHours / fit
}

// SeriesFIT is the FIT of parts that must all work: their sum.
func SeriesFIT(fits ...float64) float64 {
	sum := 0.0
	for _, f := range fits {
		sum += f
	}
	return sum
}

// AFRProbability is the probability that a unit of constant hazard fails within a year.
func AFRProbability(mtbf float64) float64 {
	require(mtbf > 0, "an MTBF must be above 0")
	return -math.Expm1(-HoursPerYear / mtbf)
}

// AFRLinear is the expected failures of a unit in a year, the rate many data sheets call AFR. It exceeds
// AFRProbability, by 2 % at 25 years, and passes 1 below one year.
func AFRLinear(mtbf float64) float64 {
	require(mtbf > 0, "an MTBF must be above 0")
	return HoursPerYear / mtbf
}

// MTBFFromAFRProbability is the mean time between failures, h, of a unit of constant hazard that fails within a year
// with probability afr, 0 < afr < 1.
func MTBFFromAFRProbability(afr float64) float64 {
	require(afr > 0 && afr < 1, "an AFR as a probability lies between 0 and 1")
	return -HoursPerYear / math.Log1p(-afr)
}

// Availability is the long-run share of time a unit is up.
func Availability(mtbf, mttr float64) float64 {
	require(mtbf > 0 && mttr >= 0, "availability needs an MTBF above 0 and an MTTR of at least 0")
	return mtbf / (mtbf + mttr)
}

// Unavailability is the long-run share of time a unit is down: one less Availability, without cancellation.
func Unavailability(mtbf, mttr float64) float64 {
	require(mtbf > 0 && mttr >= 0, "availability needs an MTBF above 0 and an MTTR of at least 0")
	return mttr / (mtbf + mttr)
}

// DownSecondsPerYear is the seconds a year that a unit is down in the long run.
func DownSecondsPerYear(mtbf, mttr float64) float64 {
	return Unavailability(mtbf, mttr) * HoursPerYear * 3600
}
